-- When this journal got an act, by its own clock; who brought it, where that is
-- not who made it; the key that signed it where
-- it was made, and the signature; and the chain: SHA-256 over the chain before
-- it and all that the act says, so that a changed byte is told.
ALTER TABLE act ADD COLUMN arrived TEXT NOT NULL DEFAULT '';
ALTER TABLE act ADD COLUMN brought TEXT NOT NULL DEFAULT '';
ALTER TABLE act ADD COLUMN key TEXT NOT NULL DEFAULT '';
ALTER TABLE act ADD COLUMN sign TEXT NOT NULL DEFAULT '';
ALTER TABLE act ADD COLUMN chain TEXT NOT NULL DEFAULT '';

-- By which a device signs what a person enters on it (Ed25519, RFC 8032). The
-- secret half stays on the device.
CREATE TABLE device_key (
  key     TEXT PRIMARY KEY,          -- the public half, in hexadecimal
  person  TEXT NOT NULL REFERENCES person (name) ON DELETE CASCADE,
  made_at TEXT NOT NULL,
  whence  TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX device_key_of_person ON device_key (person);
