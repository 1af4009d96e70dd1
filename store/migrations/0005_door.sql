-- A password that somebody else set is changed by its owner before anything else.
ALTER TABLE person ADD COLUMN first INTEGER NOT NULL DEFAULT 0 CHECK (first IN (0, 1));

-- The list of what happened at the door is bounded: its oldest lines go, and
-- nothing in it is changed.
DROP TRIGGER audit_is_kept;
CREATE TRIGGER audit_is_kept BEFORE DELETE ON audit WHEN old.place > (SELECT max(place) FROM audit) - 20000
BEGIN SELECT RAISE(ABORT, 'the audit list is only added to'); END;
