-- Browsers that keep jobs for work without the server. One that is lost is
-- revoked: what was signed in on it is signed out, what it signs counts no more,
-- and it clears itself when it is next seen. The line stays when the account goes,
-- so that the device is told then too.
CREATE TABLE device (
  id      TEXT PRIMARY KEY,          -- made on the device, random
  person  TEXT NOT NULL,             -- who was last signed in on it
  whence  TEXT NOT NULL,
  first   TEXT NOT NULL,
  seen    TEXT NOT NULL,
  revoked TEXT NOT NULL DEFAULT ''   -- since when, or nothing
) STRICT, WITHOUT ROWID;
CREATE INDEX device_of_person ON device (person);
ALTER TABLE session ADD COLUMN device TEXT NOT NULL DEFAULT '';
ALTER TABLE device_key ADD COLUMN device TEXT NOT NULL DEFAULT '';
