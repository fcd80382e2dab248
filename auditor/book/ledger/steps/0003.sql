-- A digest beside each row, so that damage is noticed; it is written with the row, by whoever writes it (digests.py).
ALTER TABLE file ADD COLUMN row_digest INTEGER;
ALTER TABLE content ADD COLUMN row_digest INTEGER;
ALTER TABLE problem ADD COLUMN row_digest INTEGER;
ALTER TABLE layout ADD COLUMN row_digest INTEGER;
ALTER TABLE shipments ADD COLUMN row_digest INTEGER;
ALTER TABLE cartons ADD COLUMN row_digest INTEGER;
ALTER TABLE rates ADD COLUMN row_digest INTEGER;
ALTER TABLE fees ADD COLUMN row_digest INTEGER;
ALTER TABLE fuel ADD COLUMN row_digest INTEGER;
ALTER TABLE lines ADD COLUMN row_digest INTEGER;
ALTER TABLE printed_totals ADD COLUMN row_digest INTEGER;
ALTER TABLE notices ADD COLUMN row_digest INTEGER;
ALTER TABLE reissues ADD COLUMN row_digest INTEGER;
ALTER TABLE replaced ADD COLUMN row_digest INTEGER;
ALTER TABLE rules ADD COLUMN row_digest INTEGER;
ALTER TABLE statement ADD COLUMN row_digest INTEGER;
ALTER TABLE counted ADD COLUMN row_digest INTEGER;
ALTER TABLE finding ADD COLUMN row_digest INTEGER;
ALTER TABLE dispute ADD COLUMN row_digest INTEGER;
ALTER TABLE event ADD COLUMN row_digest INTEGER;
ALTER TABLE closed ADD COLUMN row_digest INTEGER;
ALTER TABLE closed_counted ADD COLUMN row_digest INTEGER;
ALTER TABLE closed_finding ADD COLUMN row_digest INTEGER;
ALTER TABLE step ADD COLUMN row_digest INTEGER;

-- What is never changed may get its digest.
DROP TRIGGER event_is_not_changed;

CREATE TRIGGER event_is_not_changed BEFORE UPDATE OF number, statement, about, happened_on, what, amount_cents, by_statement, reference, note ON event
BEGIN SELECT RAISE(ABORT, 'the history of disputes is never changed'); END;

DROP TRIGGER closed_is_not_changed;

CREATE TRIGGER closed_is_not_changed BEFORE UPDATE OF month, closed_at, rules ON closed
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;

DROP TRIGGER closed_counted_is_not_changed;

CREATE TRIGGER closed_counted_is_not_changed BEFORE UPDATE OF month, statement, file, lines, billed_cents ON closed_counted
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;

DROP TRIGGER closed_finding_is_not_changed;

CREATE TRIGGER closed_finding_is_not_changed BEFORE UPDATE OF month, statement, about, difference_cents, disputed_cents, cause ON closed_finding
BEGIN SELECT RAISE(ABORT, 'the figures of a closed month are never changed'); END;
