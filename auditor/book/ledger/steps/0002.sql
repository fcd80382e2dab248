-- What statements say of one another: that one is in the place of another, or is a corrected one.
CREATE TABLE reissues (
    file INTEGER NOT NULL REFERENCES file,
    row INTEGER NOT NULL,
    statement TEXT,
    words TEXT,
    source_place TEXT,
    PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;

-- Which statements were not counted when all was last reckoned, since another one is in their place.
CREATE TABLE replaced (
    statement TEXT NOT NULL,
    file INTEGER NOT NULL REFERENCES file,
    by_statement TEXT NOT NULL,
    by_file INTEGER NOT NULL REFERENCES file,
    billed_cents INTEGER NOT NULL,
    now_cents INTEGER NOT NULL,
    reason TEXT NOT NULL,
    PRIMARY KEY (statement, file)
) STRICT, WITHOUT ROWID;
