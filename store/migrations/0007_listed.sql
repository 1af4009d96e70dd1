-- What the list of jobs shows of each, kept as acts arrive, so that a page of
-- the list costs the same however many jobs there are. It can be made anew from
-- the journal at any time.
CREATE TABLE listed (
  job     TEXT PRIMARY KEY,
  last    INTEGER NOT NULL,          -- place of its newest act
  acts    INTEGER NOT NULL,
  at      TEXT NOT NULL,             -- when that was made, by whom, and what it did
  who     TEXT NOT NULL,
  what    TEXT NOT NULL,
  name    TEXT NOT NULL,
  address TEXT NOT NULL,
  client  TEXT NOT NULL,
  stage   TEXT NOT NULL,
  invented INTEGER NOT NULL CHECK (invented IN (0, 1)),
  waits   TEXT NOT NULL,             -- for what it waits, in words; nothing while nobody has opened it
  rank    INTEGER NOT NULL,          -- the smaller the more urgent
  noted   INTEGER NOT NULL           -- place of the newest act when that was said
) STRICT, WITHOUT ROWID;
CREATE INDEX listed_last ON listed (last DESC);

INSERT INTO listed (job, last, acts, at, who, what, name, address, client, stage, invented, waits, rank, noted)
SELECT a.job, max(a.place), count(*), '', '', '', '', '', '', '', 0, '', 9, 0 FROM act a GROUP BY a.job;
UPDATE listed SET (at, who, what) = (SELECT made_at, who, what FROM act WHERE place = listed.last);
UPDATE listed SET
  name = coalesce((SELECT e.value FROM entry e JOIN act a ON a.place = e.act WHERE a.job = listed.job AND e.path = 'job' ORDER BY e.act DESC LIMIT 1), ''),
  address = coalesce((SELECT e.value FROM entry e JOIN act a ON a.place = e.act WHERE a.job = listed.job AND e.path = 'site/address' ORDER BY e.act DESC LIMIT 1), ''),
  client = coalesce((SELECT e.value FROM entry e JOIN act a ON a.place = e.act WHERE a.job = listed.job AND e.path = 'site/client' ORDER BY e.act DESC LIMIT 1), ''),
  stage = coalesce((SELECT e.value FROM entry e JOIN act a ON a.place = e.act WHERE a.job = listed.job AND e.path = 'stage' ORDER BY e.act DESC LIMIT 1), ''),
  invented = coalesce((SELECT e.value = 'yes' FROM entry e JOIN act a ON a.place = e.act WHERE a.job = listed.job AND e.path = 'invented' ORDER BY e.act DESC LIMIT 1), 0);
