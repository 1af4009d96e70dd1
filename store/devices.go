//go:build !js

package store

// The devices that keep jobs for work without the server.

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Keeping is a device that keeps jobs. Revoked is the zero time where it may.
type Keeping struct {
	ID, Person, Whence   string
	First, Seen, Revoked time.Time
}

// mostDevices is how many devices of one person are kept; a browser that clears
// what it keeps is another device then, so the one not seen for longest gives way.
const mostDevices = 50

// SeeDevice notes that a device was seen in a session, with the key that signs
// on it, and reports whether it was revoked: then nothing else is noted.
func (s *SQLite) SeeDevice(ctx context.Context, k Keeping, token, key string) (revoked bool, err error) {
	if revoked, err = s.IsRevoked(ctx, k.ID); err != nil || revoked {
		return revoked, err
	}
	return false, inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		for _, do := range []struct {
			query string
			args  []any
		}{
			{`INSERT INTO device (id, person, whence, first, seen) VALUES (?, ?, ?, ?, ?)
				ON CONFLICT (id) DO UPDATE SET person = excluded.person, whence = excluded.whence, seen = excluded.seen`,
				[]any{k.ID, k.Person, k.Whence, inWords(k.Seen), inWords(k.Seen)}},
			{"UPDATE session SET device = ? WHERE token = ?", []any{k.ID, token}},
			{"UPDATE device_key SET device = ? WHERE key = ? AND person = ?", []any{k.ID, key, k.Person}},
			{`DELETE FROM device WHERE revoked = '' AND id IN
				(SELECT id FROM device WHERE person = ? AND revoked = '' ORDER BY seen DESC, id LIMIT -1 OFFSET ?)`, []any{k.Person, mostDevices}},
		} {
			if _, err := tx.ExecContext(ctx, do.query, do.args...); err != nil {
				return err
			}
		}
		return nil
	})
}

// IsRevoked reports whether a device was revoked. One that was never seen was not.
func (s *SQLite) IsRevoked(ctx context.Context, id string) (bool, error) {
	var since string
	err := s.db.QueryRowContext(ctx, "SELECT revoked FROM device WHERE id = ?", id).Scan(&since)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return since != "", err
}

// Devices returns the devices that keep jobs, those in use first, and of them
// the one seen last.
func (s *SQLite) Devices(ctx context.Context) ([]Keeping, error) {
	return list(ctx, s.db, func(r *sql.Rows) (k Keeping, err error) {
		var first, seen, revoked string
		err = r.Scan(&k.ID, &k.Person, &k.Whence, &first, &seen, &revoked)
		k.First, k.Seen, k.Revoked = inTime(first), inTime(seen), inTime(revoked)
		return k, err
	}, "SELECT id, person, whence, first, seen, revoked FROM device ORDER BY revoked <> '', seen DESC, id")
}

// RevokeDevice ends every session on a device and forgets the keys that signed
// on it. It returns whose it was.
func (s *SQLite) RevokeDevice(ctx context.Context, id string, now time.Time) (person string, err error) {
	err = inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, "SELECT person FROM device WHERE id = ? AND revoked = ''", id).Scan(&person); err != nil {
			return err
		}
		return revoke(ctx, tx, id, now)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return "", ErrNotFound
	}
	return person, err
}

func revoke(ctx context.Context, tx *sql.Tx, id string, now time.Time) error {
	if _, err := tx.ExecContext(ctx, "UPDATE device SET revoked = ? WHERE id = ? AND revoked = ''", inWords(now), id); err != nil {
		return err
	}
	for _, table := range []string{"session", "device_key"} {
		if _, err := tx.ExecContext(ctx, "DELETE FROM "+table+" WHERE device = ?", id); err != nil {
			return err
		}
	}
	return nil
}
