-- By which a passkey names its owner to us and to nobody else (WebAuthn's user handle).
ALTER TABLE person ADD COLUMN handle TEXT NOT NULL DEFAULT '';
UPDATE person SET handle = lower(hex(randomblob(32)));
CREATE UNIQUE INDEX person_by_handle ON person (handle);

-- What lets a person in without a password. The secret stays on their device.
CREATE TABLE passkey (
  id         TEXT PRIMARY KEY,       -- the credential's own, base64url
  person     TEXT NOT NULL REFERENCES person (name) ON DELETE CASCADE,
  name       TEXT NOT NULL,          -- what the person calls it: "my phone"
  made_at    TEXT NOT NULL,
  used_at    TEXT NOT NULL,          -- nothing until it is used
  credential TEXT NOT NULL           -- public key and counter, as JSON
) STRICT, WITHOUT ROWID;
CREATE INDEX passkey_of_person ON passkey (person);

-- By what a person knows a session of theirs again.
ALTER TABLE session ADD COLUMN begun TEXT NOT NULL DEFAULT '';
ALTER TABLE session ADD COLUMN seen TEXT NOT NULL DEFAULT '';
ALTER TABLE session ADD COLUMN whence TEXT NOT NULL DEFAULT '';
ALTER TABLE session ADD COLUMN how TEXT NOT NULL DEFAULT '';
