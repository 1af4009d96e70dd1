//go:build !js

package store

// How people come in, and stay in: sessions and passkeys.

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Session is one device's stay, from signing in until it runs out or is ended.
type Session struct {
	Hash        string // of its token
	Person      string
	Begun, Seen time.Time // Seen is right to an hour
	Until       time.Time
	Whence, How string // "192.0.2.7, a phone", "by passkey my phone"
}

// seenAgain is how old the time a session was last seen may become.
const seenAgain = time.Hour

func inWords(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// inTime reads a time kept here; one that was never kept is the zero time.
func inTime(s string) time.Time {
	t, _ := time.Parse(time.RFC3339, s)
	return t
}

// BeginSession keeps a session, and forgets those that have run out.
func (s *SQLite) BeginSession(ctx context.Context, n Session) error {
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE until < ?", inWords(n.Begun)); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO session (token, person, until, begun, seen, whence, how) VALUES (?, ?, ?, ?, ?, ?, ?)",
			n.Hash, n.Person, inWords(n.Until), inWords(n.Begun), inWords(n.Begun), n.Whence, n.How)
		return err
	})
}

// SessionOf returns whose session it is, and notes that it was seen. One that
// was not seen for longer than idle has ended. Where nothing can be written it
// is not noted, and serves all the same.
func (s *SQLite) SessionOf(ctx context.Context, hash string, now time.Time, idle time.Duration) (Person, error) {
	var (
		p    Person
		seen string
	)
	err := s.db.QueryRowContext(ctx, `SELECT p.name, p.role, p.first, s.seen FROM session s JOIN person p ON p.name = s.person WHERE s.token = ? AND s.until >= ?`,
		hash, inWords(now)).Scan(&p.Name, &p.Role, &p.First, &seen)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return Person{}, ErrNotFound
	case err != nil:
		return Person{}, err
	case now.Sub(inTime(seen)) > idle:
		return Person{}, ErrNotFound
	case now.Sub(inTime(seen)) > seenAgain && s.OnlyRead() == "":
		_, err = s.db.ExecContext(ctx, "UPDATE session SET seen = ? WHERE token = ?", inWords(now), hash)
		if is := inOurWords(err); errors.Is(is, ErrNoRoom) || errors.Is(is, ErrOnlyRead) {
			err = nil
		}
	}
	return p, err
}

// Sessions returns a person's sessions that have not run out, the one seen last
// first.
func (s *SQLite) Sessions(ctx context.Context, person string, now time.Time) ([]Session, error) {
	return list(ctx, s.db, func(r *sql.Rows) (n Session, err error) {
		var begun, seen, until string
		err = r.Scan(&n.Hash, &n.Person, &begun, &seen, &until, &n.Whence, &n.How)
		n.Begun, n.Seen, n.Until = inTime(begun), inTime(seen), inTime(until)
		return n, err
	}, "SELECT token, person, begun, seen, until, whence, how FROM session WHERE person = ? AND until >= ? ORDER BY seen DESC, token", person, inWords(now))
}

// EndSession forgets a session of a person.
func (s *SQLite) EndSession(ctx context.Context, person, hash string) error {
	_, err := s.db.ExecContext(ctx, "DELETE FROM session WHERE person = ? AND token = ?", person, hash)
	return err
}

// EndOtherSessions forgets all sessions of a person but one.
func (s *SQLite) EndOtherSessions(ctx context.Context, person, but string) error {
	_, err := s.db.ExecContext(ctx, "DELETE FROM session WHERE person = ? AND token <> ?", person, but)
	return err
}

// Passkey is what lets a person in from a device of theirs without a password.
type Passkey struct {
	ID, Person, Name string
	Made, Used       time.Time
	Credential       string // public key and counter, as package web writes them
}

// Passkeys returns a person's passkeys, the oldest first.
func (s *SQLite) Passkeys(ctx context.Context, person string) ([]Passkey, error) {
	return list(ctx, s.db, func(r *sql.Rows) (k Passkey, err error) {
		var made, used string
		err = r.Scan(&k.ID, &k.Person, &k.Name, &made, &used, &k.Credential)
		k.Made, k.Used = inTime(made), inTime(used)
		return k, err
	}, "SELECT id, person, name, made_at, used_at, credential FROM passkey WHERE person = ? ORDER BY made_at, id", person)
}

// AddPasskey keeps a passkey that nobody has yet.
func (s *SQLite) AddPasskey(ctx context.Context, k Passkey) error {
	_, err := s.db.ExecContext(ctx, "INSERT INTO passkey (id, person, name, made_at, used_at, credential) VALUES (?, ?, ?, ?, '', ?)",
		k.ID, k.Person, k.Name, inWords(k.Made), k.Credential)
	return err
}

// UsePasskey keeps what has changed by its use.
func (s *SQLite) UsePasskey(ctx context.Context, k Passkey) error {
	_, err := s.db.ExecContext(ctx, "UPDATE passkey SET used_at = ?, credential = ? WHERE id = ?", inWords(k.Used), k.Credential, k.ID)
	return err
}

// RemovePasskey takes a passkey of a person away.
func (s *SQLite) RemovePasskey(ctx context.Context, person, id string) error {
	_, err := s.db.ExecContext(ctx, "DELETE FROM passkey WHERE person = ? AND id = ?", person, id)
	return err
}

// AddDeviceKey keeps the public half of the key by which a device of a person
// signs. One that is there already stays with whom it belongs to.
func (s *SQLite) AddDeviceKey(ctx context.Context, key, person, whence string, now time.Time) error {
	_, err := s.db.ExecContext(ctx, "INSERT INTO device_key (key, person, made_at, whence) VALUES (?, ?, ?, ?) ON CONFLICT (key) DO NOTHING",
		key, person, inWords(now), whence)
	return err
}

// SignerOf returns whose device signs with a key; nobody's is not found.
func (s *SQLite) SignerOf(ctx context.Context, key string) (person string, err error) {
	err = s.db.QueryRowContext(ctx, "SELECT person FROM device_key WHERE key = ?", key).Scan(&person)
	if errors.Is(err, sql.ErrNoRows) {
		return "", ErrNotFound
	}
	return person, err
}
