-- Who may work on this computer's journal, where it serves a network.
CREATE TABLE person (
  name     TEXT PRIMARY KEY,
  role     TEXT NOT NULL CHECK (role IN ('electrician', 'supervisor', 'office')),
  password TEXT NOT NULL             -- argon2id, with its salt and cost
) STRICT, WITHOUT ROWID;

CREATE TABLE session (
  token   TEXT PRIMARY KEY,          -- SHA-256 of what the browser holds
  person  TEXT NOT NULL REFERENCES person (name) ON DELETE CASCADE,
  until   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Who came in, who was turned away, who changed what may be done by whom.
CREATE TABLE audit (
  place  INTEGER PRIMARY KEY,
  at     TEXT NOT NULL,
  who    TEXT NOT NULL,
  what   TEXT NOT NULL,
  whence TEXT NOT NULL
) STRICT;
CREATE TRIGGER audit_stays BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'the audit list is only added to'); END;
CREATE TRIGGER audit_is_kept BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit list is only added to'); END;
