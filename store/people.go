//go:build !js

package store

// People who may work on a journal that serves a network, their sessions, and
// the list of what happened at the door.

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Person is someone with an account. Password is as package web writes it
// down, never the password itself.
type Person struct{ Name, Role, Password string }

// Happening is one line of the audit list.
type Happening struct{ At, Who, What, Whence string }

// People returns everyone with an account, by name.
func (s *SQLite) People(ctx context.Context) ([]Person, error) {
	return list(ctx, s.db, func(r *sql.Rows) (p Person, err error) { return p, r.Scan(&p.Name, &p.Role, &p.Password) },
		"SELECT name, role, password FROM person ORDER BY name")
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

// PutPerson adds a person, or changes role and password. Sessions under the
// old password end.
func (s *SQLite) PutPerson(ctx context.Context, p Person) error {
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE person = ?", p.Name); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO person (name, role, password) VALUES (?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET role = excluded.role, password = excluded.password`, p.Name, p.Role, p.Password)
		return err
	})
}

// RemovePerson takes an account away, and its sessions with it. What the
// person entered stays.
func (s *SQLite) RemovePerson(ctx context.Context, name string) error {
	_, err := s.db.ExecContext(ctx, "DELETE FROM person WHERE name = ?", name)
	return err
}

// BeginSession keeps a session by the hash of its token, and forgets those
// that have run out.
func (s *SQLite) BeginSession(ctx context.Context, hash, person string, now, until time.Time) error {
	return inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE until < ?", now.UTC().Format(time.RFC3339)); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO session (token, person, until) VALUES (?, ?, ?)", hash, person, until.UTC().Format(time.RFC3339))
		return err
	})
}

// SessionOf returns whose session it is.
func (s *SQLite) SessionOf(ctx context.Context, hash string, now time.Time) (Person, error) {
	var p Person
	err := s.db.QueryRowContext(ctx, `SELECT p.name, p.role FROM session s JOIN person p ON p.name = s.person WHERE s.token = ? AND s.until >= ?`,
		hash, now.UTC().Format(time.RFC3339)).Scan(&p.Name, &p.Role)
	if errors.Is(err, sql.ErrNoRows) {
		return Person{}, ErrNotFound
	}
	return p, err
}

// EndSession forgets a session.
func (s *SQLite) EndSession(ctx context.Context, hash string) error {
	_, err := s.db.ExecContext(ctx, "DELETE FROM session WHERE token = ?", hash)
	return err
}

// Note adds a line to the audit list.
func (s *SQLite) Note(ctx context.Context, h Happening) error {
	_, err := s.db.ExecContext(ctx, "INSERT INTO audit (at, who, what, whence) VALUES (?, ?, ?, ?)", h.At, h.Who, h.What, h.Whence)
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
