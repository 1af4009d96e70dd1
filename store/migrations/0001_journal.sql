-- What was done, in the order it reached this journal. Only ever added to.
CREATE TABLE act (
  place   INTEGER PRIMARY KEY,
  id      TEXT NOT NULL UNIQUE,
  job     TEXT NOT NULL,
  what    TEXT NOT NULL,
  who     TEXT NOT NULL,
  made_at TEXT NOT NULL,             -- RFC 3339, UTC
  device  TEXT NOT NULL,
  undoes  TEXT NOT NULL,             -- id of the act it takes back, or nothing
  CHECK (id <> '' AND job <> '' AND made_at <> '')
) STRICT;
CREATE INDEX act_of_job ON act (job, place);

-- One fact put into a job by an act.
CREATE TABLE entry (
  act        INTEGER NOT NULL REFERENCES act (place),
  nth        INTEGER NOT NULL,
  id         TEXT NOT NULL,
  path       TEXT NOT NULL,          -- "circuits/van point/legs/yard wall/length"
  value      TEXT NOT NULL,          -- as written, unit included; nothing when no longer known
  who        TEXT NOT NULL,
  made_at    TEXT NOT NULL,
  instrument TEXT NOT NULL,
  follows    TEXT NOT NULL,
  PRIMARY KEY (act, nth),
  CHECK (id <> '' AND path <> '')
) STRICT, WITHOUT ROWID;

-- A picture brought by an act.
CREATE TABLE photo (
  act     INTEGER PRIMARY KEY REFERENCES act (place),
  element TEXT NOT NULL,
  type    TEXT NOT NULL CHECK (type IN ('image/jpeg', 'image/png')),
  content BLOB NOT NULL
) STRICT;

CREATE TRIGGER act_stays BEFORE UPDATE ON act BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
CREATE TRIGGER act_is_kept BEFORE DELETE ON act BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
CREATE TRIGGER photo_stays BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
CREATE TRIGGER photo_is_kept BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'the journal is only added to'); END;
