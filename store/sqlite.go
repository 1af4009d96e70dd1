//go:build !js

package store

// The journal in one SQLite file.

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"sync"

	"chargewright/job"

	_ "modernc.org/sqlite" // the driver
)

// SQLite is a journal in a file.
type SQLite struct {
	db   *sql.DB
	mu   sync.Mutex
	only string // why it is only read; nothing where it is added to
}

// Open opens the journal in a file and makes it if it is not there. One that is
// damaged, or that cannot be written, is opened to be read only: see OnlyRead.
func Open(ctx context.Context, file string) (*SQLite, error) {
	only, err := prepare(ctx, file)
	if err != nil {
		return nil, fmt.Errorf("open the journal %s: %w", file, inOurWords(err))
	}
	return open(ctx, file, only)
}

func open(ctx context.Context, file, only string) (*SQLite, error) {
	var err error
	s := &SQLite{only: only}
	if s.db, err = sql.Open("sqlite", address(file, only != "")); err != nil {
		return nil, fmt.Errorf("open the journal %s: %w", file, err)
	}
	s.db.SetMaxOpenConns(mostConnections)
	if only == "" {
		err = s.begin(ctx)
	}
	if err != nil {
		s.db.Close()
		return nil, fmt.Errorf("open the journal %s: %w", file, inOurWords(err))
	}
	return s, nil
}

// mostConnections is how many read at once; more wait their turn.
const mostConnections = 16

// address is how the driver is told of a file, and how it is to treat it.
func address(file string, only bool) string {
	// Waiting first, so that the other settings wait too.
	settings := url.Values{"_pragma": {"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"}, "_txlock": {"immediate"}}
	if only {
		settings = url.Values{"mode": {"ro"}}
		if info, err := os.Stat(file + "-wal"); err != nil || info.Size() == 0 { // else the newest acts stand there
			settings.Set("immutable", "1") // nobody writes it: not even a file beside it is made
		}
	}
	return "file:" + (&url.URL{Path: file}).EscapedPath() + "?" + settings.Encode()
}

// begin looks a file over, and brings it up to the newest shape. One in which
// pages are damaged is turned to be read only.
func (s *SQLite) begin(ctx context.Context) error {
	if err := s.Look(ctx); err != nil || s.OnlyRead() != "" {
		return err
	}
	return migrate(ctx, s.db, migrations)
}

// Look asks the database whether it finds itself whole (SQLite's quick_check).
// One that does not is read only from then on.
func (s *SQLite) Look(ctx context.Context) error {
	if s.OnlyRead() != "" {
		return nil
	}
	var says string
	err := s.db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&says)
	if err = inOurWords(err); err != nil && !errors.Is(err, ErrDamaged) {
		return err
	}
	if err != nil || says != "ok" {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.only = "The journal's file is damaged. It is read only: nothing can be entered until a copy is put in its place (chargewright audit says what is whole)."
	}
	return nil
}

// OnlyRead says why the journal is only read; nothing where it is added to.
func (s *SQLite) OnlyRead() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.only
}

// Close closes the file.
func (s *SQLite) Close() error { return s.db.Close() }

// Jobs returns the jobs, the one added to last first.
func (s *SQLite) Jobs(ctx context.Context) ([]Job, error) {
	rows, err := s.db.QueryContext(ctx, "SELECT job, last, acts FROM listed ORDER BY last DESC")
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
	rows, err := tx.QueryContext(ctx, `SELECT a.place, a.id, a.what, a.who, a.made_at, a.device, a.undoes,
		a.arrived, a.brought, a.key, a.sign, p.element, p.type, length(p.content)
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
		err := rows.Scan(&a.Place, &a.ID, &a.What, &a.Who, &a.When, &a.Device, &a.Undoes, &a.Arrived, &a.Brought, &a.Key, &a.Sign, &element, &typ, &bytes)
		if err != nil {
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
	if s.OnlyRead() != "" {
		return 0, ErrOnlyRead
	}
	kept := 0
	err := inTransaction(ctx, s.db, func(tx *sql.Tx) error {
		chain, err := lastChain(ctx, tx)
		for _, a := range acts {
			fresh := ""
			if err == nil {
				fresh, err = keep(ctx, tx, a, chain)
			}
			if err != nil {
				return err
			}
			if fresh != "" {
				chain = fresh
				kept++
			}
		}
		return err
	})
	if err = inOurWords(err); err != nil {
		if errors.Is(err, ErrDamaged) {
			s.Look(ctx)
		}
		return 0, fmt.Errorf("add to the journal: %w", err)
	}
	return kept, nil
}

// keep adds one act, and returns the chain with it; nothing where it was there.
func keep(ctx context.Context, tx *sql.Tx, a Act, before string) (chain string, err error) {
	chain = chained(before, a)
	done, err := tx.ExecContext(ctx, `INSERT INTO act
		(id, job, what, who, made_at, device, undoes, arrived, brought, key, sign, chain) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO NOTHING`, a.ID, a.Job, a.What, a.Who, a.When, a.Device, a.Undoes, a.Arrived, a.Brought, a.Key, a.Sign, chain)
	if err != nil {
		return "", err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return "", err
	}
	place, err := done.LastInsertId()
	if err != nil {
		return "", err
	}
	put, err := tx.PrepareContext(ctx, `INSERT INTO entry (act, nth, id, path, value, who, made_at, instrument, follows) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	if err != nil {
		return "", err
	}
	defer put.Close()
	for i, e := range a.Entries {
		if _, err := put.ExecContext(ctx, place, i+1, e.ID, e.Path, e.Value, e.Who, e.When, e.Instrument, e.Follows); err != nil {
			return "", err
		}
	}
	a.Place = place
	if err := keepListed(ctx, tx, a); err != nil || a.Photo == nil {
		return chain, err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO photo (act, element, type, content) VALUES (?, ?, ?, ?)`, place, a.Photo.Element, a.Photo.Type, a.Photo.Content)
	return chain, err
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
