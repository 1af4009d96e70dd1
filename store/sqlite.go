//go:build !js

package store

// The journal in one SQLite file.

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"

	"chargewright/job"

	_ "modernc.org/sqlite" // the driver
)

// SQLite is a journal in a file.
type SQLite struct{ db *sql.DB }

// Open opens the journal in a file and makes it if it is not there.
func Open(ctx context.Context, file string) (*SQLite, error) {
	// Waiting first, so that the other settings wait too.
	settings := url.Values{"_pragma": {"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"}, "_txlock": {"immediate"}}
	db, err := sql.Open("sqlite", "file:"+(&url.URL{Path: file}).EscapedPath()+"?"+settings.Encode())
	if err != nil {
		return nil, fmt.Errorf("open the journal: %w", err)
	}
	if err := migrate(ctx, db, migrations); err != nil {
		db.Close()
		return nil, fmt.Errorf("open the journal %s: %w", file, err)
	}
	return &SQLite{db}, nil
}

// Close closes the file.
func (s *SQLite) Close() error { return s.db.Close() }

// Jobs returns the jobs, the one added to last first.
func (s *SQLite) Jobs(ctx context.Context) ([]Job, error) {
	rows, err := s.db.QueryContext(ctx, "SELECT job, max(place), count(*) FROM act GROUP BY job ORDER BY 2 DESC")
	if err != nil {
		return nil, fmt.Errorf("list the jobs: %w", err)
	}
	defer rows.Close()
	var out []Job
	for rows.Next() {
		var j Job
		if err := rows.Scan(&j.ID, &j.Last, &j.Acts); err != nil {
			return nil, fmt.Errorf("list the jobs: %w", err)
		}
		out = append(out, j)
	}
	return out, rows.Err()
}

// Acts returns the acts of a job after a place.
func (s *SQLite) Acts(ctx context.Context, job string, after int64) ([]Act, error) {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, fmt.Errorf("read the journal: %w", err)
	}
	defer tx.Rollback()
	acts, err := readActs(ctx, tx, job, after)
	if err == nil {
		err = readEntries(ctx, tx, acts, job, after)
	}
	if err != nil {
		return nil, fmt.Errorf("read the journal: %w", err)
	}
	return acts, nil
}

func readActs(ctx context.Context, tx *sql.Tx, job string, after int64) ([]Act, error) {
	rows, err := tx.QueryContext(ctx, `SELECT a.place, a.id, a.what, a.who, a.made_at, a.device, a.undoes, p.element, p.type, length(p.content)
		FROM act a LEFT JOIN photo p ON p.act = a.place WHERE a.job = ? AND a.place > ? ORDER BY a.place`, job, after)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var acts []Act
	for rows.Next() {
		a := Act{Job: job}
		var element, typ sql.NullString
		var bytes sql.NullInt64
		if err := rows.Scan(&a.Place, &a.ID, &a.What, &a.Who, &a.When, &a.Device, &a.Undoes, &element, &typ, &bytes); err != nil {
			return nil, err
		}
		if element.Valid {
			a.Photo = &Photo{Element: element.String, Type: typ.String, Bytes: int(bytes.Int64)}
		}
		acts = append(acts, a)
	}
	return acts, rows.Err()
}

// readEntries puts the entries of a job into its acts, which are in order.
func readEntries(ctx context.Context, tx *sql.Tx, acts []Act, id string, after int64) error {
	rows, err := tx.QueryContext(ctx, `SELECT e.act, e.id, e.path, e.value, e.who, e.made_at, e.instrument, e.follows
		FROM entry e JOIN act a ON a.place = e.act WHERE a.job = ? AND a.place > ? ORDER BY e.act, e.nth`, id, after)
	if err != nil {
		return err
	}
	defer rows.Close()
	i := 0
	for rows.Next() {
		var place int64
		var e job.Entry
		if err := rows.Scan(&place, &e.ID, &e.Path, &e.Value, &e.Who, &e.When, &e.Instrument, &e.Follows); err != nil {
			return err
		}
		for i < len(acts) && acts[i].Place != place {
			i++
		}
		if i == len(acts) {
			return fmt.Errorf("entry %s belongs to no act", e.ID)
		}
		acts[i].Entries = append(acts[i].Entries, e)
	}
	return rows.Err()
}

// Keep adds acts, all or none.
func (s *SQLite) Keep(ctx context.Context, acts ...Act) (int, error) {
	if err := Check(acts); err != nil {
		return 0, err
	}
	kept := 0
	err := inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		for _, a := range acts {
			fresh, err := keep(ctx, tx, a)
			if err != nil {
				return err
			}
			if fresh {
				kept++
			}
		}
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("add to the journal: %w", err)
	}
	return kept, nil
}

func keep(ctx context.Context, tx *sql.Tx, a Act) (bool, error) {
	done, err := tx.ExecContext(ctx, `INSERT INTO act (id, job, what, who, made_at, device, undoes) VALUES (?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO NOTHING`, a.ID, a.Job, a.What, a.Who, a.When, a.Device, a.Undoes)
	if err != nil {
		return false, err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return false, err
	}
	place, err := done.LastInsertId()
	if err != nil {
		return false, err
	}
	put, err := tx.PrepareContext(ctx, `INSERT INTO entry (act, nth, id, path, value, who, made_at, instrument, follows) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	if err != nil {
		return false, err
	}
	defer put.Close()
	for i, e := range a.Entries {
		if _, err := put.ExecContext(ctx, place, i+1, e.ID, e.Path, e.Value, e.Who, e.When, e.Instrument, e.Follows); err != nil {
			return false, err
		}
	}
	if a.Photo == nil {
		return true, nil
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO photo (act, element, type, content) VALUES (?, ?, ?, ?)`, place, a.Photo.Element, a.Photo.Type, a.Photo.Content)
	return true, err
}

// Photo returns the photo that an act brought.
func (s *SQLite) Photo(ctx context.Context, act string) (Photo, error) {
	var p Photo
	err := s.db.QueryRowContext(ctx, `SELECT p.element, p.type, p.content FROM photo p JOIN act a ON a.place = p.act WHERE a.id = ?`, act).Scan(&p.Element,
		&p.Type, &p.Content)
	if errors.Is(err, sql.ErrNoRows) {
		return Photo{}, ErrNotFound
	}
	if err != nil {
		return Photo{}, fmt.Errorf("read a photo: %w", err)
	}
	return p, nil
}
