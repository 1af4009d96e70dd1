//go:build !js

package store

// The list of jobs in the database.

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

const listedColumns = "job, last, at, who, what, name, address, client, stage, invented, waits, rank, noted"

// List returns a page of the list.
func (s *SQLite) List(ctx context.Context, w Wanted) ([]Listed, error) {
	var where []string
	var args []any
	and := func(says string, with ...any) { where, args = append(where, says), append(args, with...) }
	and("1 = 1")
	for word := range strings.FieldsSeq(strings.ToLower(w.Words)) {
		and("instr(lower(name || ' ' || address || ' ' || client || ' ' || waits), ?) > 0", word)
	}
	if w.Stage != "" {
		and("stage = ?", w.Stage)
	}
	if w.Who != "" {
		and("who = ?", w.Who)
	}
	if w.Rank >= 0 {
		and("rank = ?", w.Rank)
	}
	if w.Before > 0 {
		and("last < ?", w.Before)
	}
	rows, err := s.db.QueryContext(ctx, "SELECT "+listedColumns+" FROM listed WHERE "+strings.Join(where, " AND ")+" ORDER BY last DESC LIMIT ?",
		append(args, w.Most)...)
	if err != nil {
		return nil, fmt.Errorf("list the jobs: %w", err)
	}
	defer rows.Close()
	var out []Listed
	for rows.Next() {
		var l Listed
		if err := l.scan(rows.Scan); err != nil {
			return nil, fmt.Errorf("list the jobs: %w", err)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

func (l *Listed) scan(scan func(...any) error) error {
	return scan(&l.Job, &l.Last, &l.At, &l.Who, &l.What, &l.Name, &l.Address, &l.Client, &l.Stage, &l.Invented, &l.Waits, &l.Rank, &l.Noted)
}

// Opened keeps what is found of a job; nothing where it was added to in between.
func (s *SQLite) Opened(ctx context.Context, l Listed) error {
	_, err := s.db.ExecContext(ctx, `UPDATE listed SET name = ?, address = ?, client = ?, stage = ?, invented = ?, waits = ?, rank = ?, noted = ?
		WHERE job = ? AND last = ?`, l.Name, l.Address, l.Client, l.Stage, l.Invented, l.Waits, l.Rank, l.Noted, l.Job, l.Noted)
	return err
}

// Count says how many jobs wait for what.
func (s *SQLite) Count(ctx context.Context) (map[int]int, error) {
	rows, err := s.db.QueryContext(ctx, "SELECT rank, count(*) FROM listed GROUP BY rank")
	if err != nil {
		return nil, fmt.Errorf("count the jobs: %w", err)
	}
	defer rows.Close()
	out := map[int]int{}
	for rows.Next() {
		var rank, n int
		if err := rows.Scan(&rank, &n); err != nil {
			return nil, fmt.Errorf("count the jobs: %w", err)
		}
		out[rank] = n
	}
	return out, rows.Err()
}

// keepListed keeps what the list shows of the job of an act, in the same
// transaction as the act.
func keepListed(ctx context.Context, tx *sql.Tx, a Act) error {
	l := Listed{Job: a.Job, Rank: NotNoted}
	err := l.scan(tx.QueryRowContext(ctx, "SELECT "+listedColumns+" FROM listed WHERE job = ?", a.Job).Scan)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	l.said(a)
	_, err = tx.ExecContext(ctx, `INSERT INTO listed (`+listedColumns+`, acts) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 1)
		ON CONFLICT (job) DO UPDATE SET last = excluded.last, acts = acts + 1, at = excluded.at, who = excluded.who, what = excluded.what, name = excluded.name,
		address = excluded.address, client = excluded.client, stage = excluded.stage, invented = excluded.invented`,
		a.Job, a.Place, l.At, l.Who, l.What, l.Name, l.Address, l.Client, l.Stage, l.Invented, l.Waits, l.Rank, l.Noted)
	return err
}
