//go:build !js

package store

// People who may work on a journal that serves a network, and the list of what
// happened at the door.

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// Person is someone with an account. Password is as package web writes it
// down, never the password itself. Handle is how a passkey names the person; it
// is made with the account.
type Person struct {
	Name, Role, Password, Handle string
	First                        bool // the password is one that somebody else set
}

// Happening is one line of the audit list.
type Happening struct{ At, Who, What, Whence string }

// People returns everyone with an account, by name.
func (s *SQLite) People(ctx context.Context) ([]Person, error) {
	return list(ctx, s.db, func(r *sql.Rows) (p Person, err error) {
		return p, r.Scan(&p.Name, &p.Role, &p.Password, &p.Handle, &p.First)
	},
		"SELECT name, role, password, handle, first FROM person ORDER BY name")
}

// list reads the rows of a query.
func list[T any](ctx context.Context, db *sql.DB, scan func(*sql.Rows) (T, error), query string, args ...any) ([]T, error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// PutPerson adds a person, or sets role and password anew: what let the person
// in before, sessions and passkeys, lets nobody in from then on, and what signed
// for the person signs no more.
func (s *SQLite) PutPerson(ctx context.Context, p Person) error {
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		for _, table := range []string{"session", "passkey", "device_key"} {
			if _, err := tx.ExecContext(ctx, "DELETE FROM "+table+" WHERE person = ?", p.Name); err != nil {
				return err
			}
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO person (name, role, password, handle, first) VALUES (?, ?, ?, lower(hex(randomblob(32))), ?)
			ON CONFLICT (name) DO UPDATE SET role = excluded.role, password = excluded.password, first = excluded.first`, p.Name, p.Role, p.Password, p.First)
		return err
	})
}

// PutPassword changes a person's password, and ends the person's sessions but
// the one it was changed in.
func (s *SQLite) PutPassword(ctx context.Context, person, password, but string) error {
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE person = ? AND token <> ?", person, but); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "UPDATE person SET password = ?, first = 0 WHERE name = ?", password, person)
		return err
	})
}

// RemovePerson takes an account away, and its sessions with it; the devices it
// was last signed in on are revoked. What the person entered stays.
func (s *SQLite) RemovePerson(ctx context.Context, name string, now time.Time) error {
	devices, err := list(ctx, s.db, func(r *sql.Rows) (id string, err error) { return id, r.Scan(&id) }, "SELECT id FROM device WHERE person = ?", name)
	if err != nil {
		return err
	}
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		for _, id := range devices {
			if err := revoke(ctx, tx, id, now); err != nil {
				return err
			}
		}
		_, err := tx.ExecContext(ctx, "DELETE FROM person WHERE name = ?", name)
		return err
	})
}

// How much of what happened at the door is kept: lines, and letters of a name.
const (
	mostHappenings = 20_000
	mostOfAName    = 120
)

// Note adds a line to the audit list. The oldest go when there are too many,
// and what a stranger typed is cut.
func (s *SQLite) Note(ctx context.Context, h Happening) error {
	cut := func(text string) string { return string([]rune(text)[:min(len([]rune(text)), mostOfAName)]) }
	done, err := s.db.ExecContext(ctx, "INSERT INTO audit (at, who, what, whence) VALUES (?, ?, ?, ?)", h.At, cut(h.Who), cut(h.What), cut(h.Whence))
	if err == nil {
		place, _ := done.LastInsertId()
		_, err = s.db.ExecContext(ctx, "DELETE FROM audit WHERE place <= ?", place-mostHappenings)
	}
	if err != nil {
		return fmt.Errorf("add to the audit list: %w", err)
	}
	return nil
}

// Happenings returns the newest lines of the audit list, newest first.
func (s *SQLite) Happenings(ctx context.Context, most int) ([]Happening, error) {
	return list(ctx, s.db, func(r *sql.Rows) (h Happening, err error) { return h, r.Scan(&h.At, &h.Who, &h.What, &h.Whence) },
		"SELECT at, who, what, whence FROM audit ORDER BY place DESC LIMIT ?", most)
}
