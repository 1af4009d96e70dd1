//go:build !js

package store

// Bringing a database up to the newest shape.

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrate runs the numbered files that a database has not had, each once and
// in a transaction of its own. The number of the last one is kept in the
// database. A released file is never edited.
func migrate(ctx context.Context, db *sql.DB, files fs.FS) error {
	var have int
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&have); err != nil {
		return fmt.Errorf("read the shape of the database: %w", err)
	}
	names, err := fs.Glob(files, "migrations/*.sql")
	if err != nil {
		return err
	}
	for i, name := range names { // Glob sorts them
		number, err := strconv.Atoi(strings.TrimPrefix(name, "migrations/")[:4])
		if err != nil || number != i+1 {
			return fmt.Errorf("%s: migrations are numbered from 0001 without a gap", name)
		}
	}
	if have > len(names) {
		return fmt.Errorf("the database was written by a newer version (shape %d, this one knows %d): use that version", have, len(names))
	}
	for i := have; i < len(names); i++ {
		text, err := fs.ReadFile(files, names[i])
		if err != nil {
			return err
		}
		err = inTransaction(ctx, db, func(tx *sql.Tx) error {
			if _, err := tx.ExecContext(ctx, string(text)); err != nil {
				return err
			}
			_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", i+1))
			return err
		})
		if err != nil {
			return fmt.Errorf("bring the database to shape %d: %w", i+1, err)
		}
	}
	return nil
}

// inTransaction does all of it or nothing.
func inTransaction(ctx context.Context, db *sql.DB, do func(*sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // does nothing once it is committed
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}
