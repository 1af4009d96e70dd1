//go:build !js

package store

// Whether a journal's file is ours, whole, and unchanged; and a copy of it.

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"modernc.org/sqlite"
	lite "modernc.org/sqlite/lib"
)

// beginsWith is how an SQLite database begins (SQLite's own description of its
// file, 1.3).
const beginsWith = "SQLite format 3\x00"

// prepare makes a file that is not there, for its owner's eyes alone, and says
// why one that is can only be read. One that is no database is refused, so that
// it is never written over.
func prepare(ctx context.Context, file string) (only string, err error) {
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f, err = os.OpenFile(file, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
		if err == nil {
			err = f.Close()
		}
		return "", err
	case err != nil:
		why := err
		if f, err = os.Open(file); err != nil {
			return "", err
		}
		only = fmt.Sprintf("The journal's file cannot be written (%v). It is read only: nothing can be entered.", errors.Unwrap(why))
	}
	defer f.Close()
	head := make([]byte, len(beginsWith))
	n, err := io.ReadFull(f, head)
	switch {
	case n == 0:
		return "", errors.New("the file is there and empty: it is no journal, or one that was lost. Put a copy in its place, or take it away to begin anew")
	case err != nil || !bytes.Equal(head, []byte(beginsWith)):
		return "", errors.New("this file is no journal of this program: name another, it is left as it is")
	}
	if err := ours(ctx, file); err != nil {
		return "", err
	}
	if only == "" {
		if info, err := f.Stat(); err == nil && info.Mode().Perm()&0o077 != 0 {
			f.Chmod(0o600) // where it cannot be, others may read it as before
		}
	}
	return only, nil
}

// ours refuses a database of another program, before anything is set in it.
func ours(ctx context.Context, file string) error {
	db, err := sql.Open("sqlite", address(file, true))
	if err != nil {
		return err
	}
	defer db.Close()
	var all, known int // none at all: it was made, and broken off before anything was put in
	err = db.QueryRowContext(ctx, `SELECT count(*), count(*) FILTER (WHERE name IN ('act', 'entry', 'photo'))
		FROM sqlite_master WHERE type = 'table'`).Scan(&all, &known)
	if err == nil && all > 0 && known != 3 {
		err = errors.New("this is a database of another program: name another file, it is left as it is")
	}
	return err
}

// inOurWords is what the database says, as an error of ours where it is one.
func inOurWords(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff { // the rest of a code says more than is asked here
	case lite.SQLITE_FULL:
		return ErrNoRoom
	case lite.SQLITE_READONLY, lite.SQLITE_IOERR, lite.SQLITE_CANTOPEN, lite.SQLITE_PERM:
		return fmt.Errorf("%w: %w", ErrOnlyRead, err)
	case lite.SQLITE_CORRUPT, lite.SQLITE_NOTADB:
		return fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return err
}

// chained is the chain with one more act: what came before, what the act says,
// when it arrived, who brought it and its signature.
func chained(before string, a Act) string {
	h := sha256.New()
	for _, part := range []string{before, string(a.said()), a.Arrived, a.Brought, a.Sign} {
		fmt.Fprintf(h, "%d:%s", len(part), part)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// lastChain is the chain at the newest act. A journal that was begun before
// there was a chain is chained from its beginning.
func lastChain(ctx context.Context, tx *sql.Tx) (string, error) {
	var chain string
	err := tx.QueryRowContext(ctx, "SELECT chain FROM act ORDER BY place DESC LIMIT 1").Scan(&chain)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return "", nil
	case err != nil || chain != "":
		return chain, err
	}
	err = eachAct(ctx, tx, func(a Act, _ string) error {
		chain = chained(chain, a)
		return nil
	})
	return chain, err
}

// eachAct reads every act whole, in order, with the chain that is kept of it.
func eachAct(ctx context.Context, tx *sql.Tx, do func(a Act, chain string) error) error {
	acts := map[string][]Act{}
	for place := int64(0); ; {
		var id, job, chain string
		err := tx.QueryRowContext(ctx, "SELECT place, id, job, chain FROM act WHERE place > ? ORDER BY place LIMIT 1", place).Scan(&place, &id, &job, &chain)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		if acts[job] == nil { // one job at a time may lie among others: each is read once
			of, err := readActs(ctx, tx, job, 0)
			if err == nil {
				err = readEntries(ctx, tx, of, job, 0)
			}
			if err != nil {
				return err
			}
			acts[job] = of
		}
		if len(acts[job]) == 0 || acts[job][0].Place != place {
			return fmt.Errorf("act %s is not where it should be", id)
		}
		a := acts[job][0]
		acts[job] = acts[job][1:]
		if a.Photo != nil {
			if err := tx.QueryRowContext(ctx, "SELECT content FROM photo WHERE act = ?", place).Scan(&a.Photo.Content); err != nil {
				return err
			}
		}
		if err := do(a, chain); err != nil {
			return err
		}
	}
}

// Audited is what was found of a journal.
type Audited struct {
	Acts, Entries, Photos int
	Unchained             int    // acts kept before there was a chain; a later act vouches for them
	Chain                 string // at the newest act: two copies that say the same hold the same
	Wrong                 []string
}

// Audit reads the whole journal, and says where it is not as it was written.
func (s *SQLite) Audit(ctx context.Context) (Audited, error) {
	var found Audited
	checked, err := list(ctx, s.db, func(r *sql.Rows) (says string, err error) { return says, r.Scan(&says) }, "PRAGMA integrity_check")
	if err = inOurWords(err); errors.Is(err, ErrDamaged) {
		found.Wrong, err = append(found.Wrong, "the database says: "+err.Error()), nil
	}
	if err != nil {
		return found, err
	}
	for _, says := range checked {
		if says != "ok" {
			found.Wrong = append(found.Wrong, "the database says: "+says)
		}
	}
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return found, err
	}
	defer tx.Rollback()
	err = eachAct(ctx, tx, func(a Act, chain string) error {
		found.Acts++
		found.Entries += len(a.Entries)
		if a.Photo != nil {
			found.Photos++
		}
		found.Chain = chained(found.Chain, a)
		switch {
		case chain == "" && found.Unchained < found.Acts-1:
			found.Wrong = append(found.Wrong, fmt.Sprintf("act %s (number %d, %q by %q) has lost its place in the chain", a.ID, a.Place, a.What, a.Who))
		case chain == "":
			found.Unchained++
		case chain != found.Chain:
			found.Wrong = append(found.Wrong,
				fmt.Sprintf("act %s (number %d, %q by %q), or one before it since the chain was whole, is not as it was kept", a.ID, a.Place, a.What, a.Who))
		}
		if chain != "" {
			found.Chain = chain // so that another change further on is told too
		}
		return nil
	})
	switch err = inOurWords(err); {
	case errors.Is(err, ErrDamaged):
		found.Wrong, err = append(found.Wrong, "reading ends after "+fmt.Sprint(found.Acts)+" acts: "+err.Error()), nil
	case err != nil:
		found.Wrong, err = append(found.Wrong, err.Error()), nil
	}
	return found, err
}

// Copy writes the journal as it is now into a file that is not there, while
// others read and add, and holds the copy against what was copied.
func (s *SQLite) Copy(ctx context.Context, to string) (Audited, error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return Audited{}, fmt.Errorf("copy the journal: %s is there already: nothing is written over", to)
	}
	part := to + ".part"
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return Audited{}, fmt.Errorf("copy the journal: %w", err)
	}
	f.Close()
	defer os.Remove(part)
	if _, err := s.db.ExecContext(ctx, "VACUUM INTO ?", part); err != nil { // an empty file is written into, and keeps its mode
		return Audited{}, fmt.Errorf("copy the journal: %w", inOurWords(err))
	}
	copied, err := Open(ctx, part)
	if err != nil {
		return Audited{}, fmt.Errorf("read the copy back: %w", err)
	}
	found, err := copied.Audit(ctx)
	copied.Close()
	os.Remove(part + "-wal")
	os.Remove(part + "-shm")
	if err == nil && len(found.Wrong) > 0 {
		err = fmt.Errorf("the copy is not whole: %s", found.Wrong[0])
	}
	if err == nil {
		err = settle(part)
	}
	if err == nil {
		err = os.Link(part, to) // refuses what is there, as a rename does not
	}
	if err != nil {
		return found, fmt.Errorf("copy the journal: %w", err)
	}
	return found, nil
}

// settle sees a file onto its disk.
func settle(file string) error {
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
