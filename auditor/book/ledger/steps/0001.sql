-- The book's first form. Money is whole cents, lengths whole nanometres, weights whole picograms, days are ISO texts.

-- What was taken in, by content. The original lies in the folder beside the book, under its digest (SHA-256).
CREATE TABLE file (
    file INTEGER PRIMARY KEY,
    digest TEXT NOT NULL UNIQUE CHECK (length(digest) = 64),
    name TEXT NOT NULL,
    ending TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    kind TEXT,
    picture INTEGER NOT NULL CHECK (picture IN (0, 1)),
    reading TEXT NOT NULL,
    taken_in_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    set_aside TEXT
) STRICT;

-- How many rows each file gave to each table, and what its money comes to: what must still be there.
CREATE TABLE content (
    file INTEGER NOT NULL REFERENCES file,
    name TEXT NOT NULL,
    rows INTEGER NOT NULL,
    cents INTEGER NOT NULL,
    PRIMARY KEY (file, name)
) STRICT, WITHOUT ROWID;

CREATE TABLE problem (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    place TEXT NOT NULL,
    message TEXT NOT NULL,
    unread INTEGER NOT NULL CHECK (unread IN (0, 1)),
    note INTEGER NOT NULL CHECK (note IN (0, 1)),
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

-- How the columns of each table in a file were read: heading and field, as JSON.
CREATE TABLE layout (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    kind TEXT NOT NULL,
    columns TEXT NOT NULL,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

-- The rows of each file, as the tables of those names in auditor/tables.py.
CREATE TABLE shipments (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    tracking TEXT,
    "order" TEXT,
    shipped_on TEXT,
    service TEXT,
    zone TEXT,
    postcode TEXT,
    residential INTEGER CHECK (residential IN (0, 1)),
    carton TEXT,
    length_nm INTEGER,
    width_nm INTEGER,
    height_nm INTEGER,
    weight_pg INTEGER,
    label_cost_cents INTEGER,
    buyer_paid_cents INTEGER,
    packed_length_nm INTEGER,
    packed_width_nm INTEGER,
    packed_height_nm INTEGER,
    packed_weight_pg INTEGER,
    photo TEXT,
    voided INTEGER CHECK (voided IN (0, 1)),
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE cartons (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    carton TEXT,
    length_nm INTEGER,
    width_nm INTEGER,
    height_nm INTEGER,
    unit_cost_cents INTEGER,
    empty_weight_pg INTEGER,
    usual_weight_pg INTEGER,
    usual_trim_nm INTEGER,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE rates (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    service TEXT,
    zone TEXT,
    up_to_pg INTEGER,
    price_cents INTEGER,
    effective_on TEXT,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE fees (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    charge TEXT,
    amount_cents INTEGER,
    zone TEXT,
    effective_on TEXT,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE fuel (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    effective_on TEXT,
    fuel_ppm INTEGER,
    service TEXT,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE lines (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    statement TEXT,
    statement_on TEXT,
    tracking TEXT,
    description TEXT,
    amount_cents INTEGER,
    shipped_on TEXT,
    service TEXT,
    zone TEXT,
    billed_weight_pg INTEGER,
    billed_length_nm INTEGER,
    billed_width_nm INTEGER,
    billed_height_nm INTEGER,
    read_weight_pg INTEGER,
    "order" TEXT,
    source_place TEXT,
    source_box TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE printed_totals (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    statement TEXT,
    statement_on TEXT,
    printed_total_cents INTEGER,
    source_place TEXT,
    source_box TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

CREATE TABLE notices (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    tracking TEXT,
    noticed_on TEXT,
    reason TEXT,
    declared_length_nm INTEGER,
    declared_width_nm INTEGER,
    declared_height_nm INTEGER,
    declared_weight_pg INTEGER,
    read_length_nm INTEGER,
    read_width_nm INTEGER,
    read_height_nm INTEGER,
    read_weight_pg INTEGER,
    amount_cents INTEGER,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

-- The tariffs that findings were reckoned by; a shop's own rule file is kept beside the book under its digest.
CREATE TABLE rules (
    name TEXT NOT NULL,
    version TEXT NOT NULL,
    digest TEXT NOT NULL,
    used_at TEXT NOT NULL,
    PRIMARY KEY (name, version, digest)
) STRICT, WITHOUT ROWID;

-- Each statement as it was last reckoned, and by which rules.
CREATE TABLE statement (
    statement TEXT PRIMARY KEY,
    statement_on TEXT,
    rules TEXT NOT NULL,
    lines INTEGER NOT NULL,
    billed_cents INTEGER NOT NULL,
    accepted_cents INTEGER NOT NULL,
    disputed_cents INTEGER NOT NULL,
    CHECK (billed_cents = accepted_cents + disputed_cents)
) STRICT, WITHOUT ROWID;

-- Which lines count: a statement given in two forms is counted as it stands in one file. By month of shipping.
CREATE TABLE counted (
    statement TEXT NOT NULL REFERENCES statement,
    file INTEGER NOT NULL REFERENCES file,
    month TEXT NOT NULL,
    lines INTEGER NOT NULL,
    billed_cents INTEGER NOT NULL,
    PRIMARY KEY (statement, file, month)
) STRICT, WITHOUT ROWID;

-- What there is to say, told apart by statement and what it is about: a parcel's number, or a charge about no parcel.
CREATE TABLE finding (
    statement TEXT NOT NULL,
    about TEXT NOT NULL,
    month TEXT NOT NULL,
    worth_cents INTEGER NOT NULL,
    shipment_tracking TEXT,
    tracking TEXT,
    match TEXT,
    confidence REAL,
    "order" TEXT,
    carton TEXT,
    charges TEXT,
    billed_cents INTEGER,
    expected_cents INTEGER,
    difference_cents INTEGER,
    cause TEXT,
    box_length_cents INTEGER,
    box_girth_cents INTEGER,
    declared_weight_cents INTEGER,
    rounding_cents INTEGER,
    other_cents INTEGER,
    price_basis TEXT,
    dispute TEXT,
    dispute_reason TEXT,
    dispute_by TEXT,
    source_file TEXT,
    source_place TEXT,
    explanation TEXT,
    PRIMARY KEY (statement, about)
) STRICT, WITHOUT ROWID;

CREATE TABLE dispute (
    statement TEXT NOT NULL,
    about TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('open', 'sent', 'answered', 'credited', 'refused', 'given up', 'withdrawn')),
    amount_cents INTEGER NOT NULL CHECK (amount_cents >= 0),
    open_cents INTEGER NOT NULL CHECK (open_cents >= 0),
    credited_cents INTEGER NOT NULL CHECK (credited_cents >= 0),
    refused_cents INTEGER NOT NULL CHECK (refused_cents >= 0),
    given_up_cents INTEGER NOT NULL CHECK (given_up_cents >= 0),
    PRIMARY KEY (statement, about),
    CHECK (amount_cents = open_cents + credited_cents + refused_cents + given_up_cents)
) STRICT, WITHOUT ROWID;

-- What happened to each dispute, in order. Never changed, never deleted.
CREATE TABLE event (
    number INTEGER PRIMARY KEY,
    statement TEXT NOT NULL,
    about TEXT NOT NULL,
    happened_on TEXT NOT NULL,
    what TEXT NOT NULL,
    amount_cents INTEGER,
    by_statement TEXT,
    reference TEXT,
    note TEXT,
    FOREIGN KEY (statement, about) REFERENCES dispute DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE TRIGGER event_is_not_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'the history of disputes is never changed'); END;

CREATE TRIGGER event_is_not_deleted BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'the history of disputes is never deleted'); END;

-- The figures of a month as they stood when it was closed. Never changed, never deleted.
CREATE TABLE closed (
    month TEXT PRIMARY KEY,
    closed_at TEXT NOT NULL,
    rules TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE closed_counted (
    month TEXT NOT NULL REFERENCES closed,
    statement TEXT NOT NULL,
    file INTEGER NOT NULL REFERENCES file,
    lines INTEGER NOT NULL,
    billed_cents INTEGER NOT NULL,
    PRIMARY KEY (month, statement, file)
) STRICT, WITHOUT ROWID;

CREATE TABLE closed_finding (
    month TEXT NOT NULL REFERENCES closed,
    statement TEXT NOT NULL,
    about TEXT NOT NULL,
    difference_cents INTEGER,
    disputed_cents INTEGER NOT NULL,
    cause TEXT,
    PRIMARY KEY (month, statement, about)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER closed_is_not_changed BEFORE UPDATE ON closed
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;

CREATE TRIGGER closed_is_not_deleted BEFORE DELETE ON closed
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never deleted'); END;

CREATE TRIGGER closed_counted_is_not_changed BEFORE UPDATE ON closed_counted
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;

CREATE TRIGGER closed_counted_is_not_deleted BEFORE DELETE ON closed_counted
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never deleted'); END;

CREATE TRIGGER closed_finding_is_not_changed BEFORE UPDATE ON closed_finding
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;

CREATE TRIGGER closed_finding_is_not_deleted BEFORE DELETE ON closed_finding
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never deleted'); END;
