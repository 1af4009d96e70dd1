package ledger

// What a person hands over after the work, tables and a few words beside them,
// and what is wrong with it. The command line and the pages both come through
// here, so that either answers the same.

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	_ "time/tzdata" // so that every zone is known wherever this runs
)

// Table is one table as it is handed over; the zero value is none.
type Table struct {
	Name string
	Open func() (io.ReadCloser, error)
}

// wordFault is what is wrong with one of the words that go with the tables.
type wordFault struct {
	Field string // "zone"; each way in has its own name for it
	Err   error
}

func (f *wordFault) Error() string { return f.Field + ": " + f.Err.Error() }
func (f *wordFault) Unwrap() error { return f.Err }

func fault(field, format string, args ...any) error {
	return &wordFault{field, fmt.Errorf(format, args...)}
}

// Lines says an error one fault a line. called is what a field is called where
// it was entered.
func Lines(err error, called func(field string) string) []string {
	switch e := err.(type) {
	case *wordFault:
		return []string{called(e.Field) + ": " + e.Err.Error()}
	case interface{ Unwrap() []error }:
		var out []string
		for _, one := range e.Unwrap() {
			out = append(out, Lines(one, called)...)
		}
		return out
	}
	return strings.Split(err.Error(), "\n")
}

// Zone returns a time zone by its name.
func Zone(field, name string) (*time.Location, error) {
	z, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil, fault(field, "%q is no time zone: one like Europe/London or UTC is wanted", name)
	}
	return z, nil
}

// readHanded reads one table; none gives nothing.
func readHanded[T any](t Table, from func(file string, r io.Reader) (T, error)) (T, error) {
	var none T
	if t.Open == nil {
		return none, nil
	}
	f, err := t.Open()
	if err != nil {
		return none, fmt.Errorf("cannot read the table: %w", err)
	}
	out, err := from(t.Name, f)
	return out, errors.Join(err, f.Close())
}
