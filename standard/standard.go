// Package standard holds the tables and clauses of the wiring rules and of the
// product standards they lean on, as embedded CSV files that can be checked
// with a finger on the printed page.
//
// Every look-up returns the value and its Citation: document, edition, place,
// and what is doubtful about it. The edition of the rules is data and a fact
// of the job: a row gathered against one edition and used under another says
// so, and so does a row known from memory only. Values are never invented
// between rows: a cable's rating, its volt drop and its resistance exist for
// the tabulated sizes alone; a factor between two rows is the one of the less
// favourable row. Only a time-current curve is read between its points, on the
// logarithmic scales it is printed on.
//
// A country is a folder of tables. OpenFS opens any; Open opens the one that
// is built in. No Go code here knows what the rules are called.
//
// The figures serve a qualified person who has the current edition of the
// rules at hand. They make nothing safe: isolate, lock off, prove dead.
package standard

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"sync"
)

//go:embed tables
var embedded embed.FS

// home is the built-in country, parsed once.
var home = sync.OnceValues(func() (*tables, error) {
	fsys, err := fs.Sub(embedded, "tables/gb")
	if err != nil {
		return nil, err
	}
	return read(fsys)
})

// homeIssues is the built-in country's editions alone, which are asked for
// long before any table is.
var homeIssues = sync.OnceValues(func() (*editions, error) {
	fsys, err := fs.Sub(embedded, "tables/gb")
	if err != nil {
		return nil, err
	}
	l := &loader{fsys: fsys, known: map[string][]*issue{}}
	e := readEditions(l)
	return e, errors.Join(l.faults...)
})

// Edition is an edition of the wiring rules: "BS 7671:2018+A4:2026".
type Edition string

// editions is the editions of one country's rules, oldest first.
type editions struct {
	all     []*issue
	inForce *issue // for new work
}

// Editions returns the editions a job may be designed to, oldest first.
func Editions() []Edition {
	e, err := homeIssues()
	if err != nil {
		return nil
	}
	return e.offered()
}

// DefaultEdition returns the edition in force for new work.
func DefaultEdition() Edition {
	e, err := homeIssues()
	if err != nil || e.inForce == nil {
		return ""
	}
	return e.inForce.edition
}

// ParseEdition reads an edition as people write it: in full, without spaces,
// in any case, or by its amendment alone ("A4:2026", "A4").
func ParseEdition(s string) (Edition, error) {
	e, err := homeIssues()
	if err != nil {
		return "", err
	}
	i, err := e.find(s)
	if err != nil {
		return "", err
	}
	return i.edition, nil
}

func (e *editions) offered() []Edition {
	var out []Edition
	for _, i := range e.all {
		if i.offered {
			out = append(out, i.edition)
		}
	}
	return out
}

// find returns the edition that s names, among those a job may be designed to.
func (e *editions) find(s string) (*issue, error) {
	n := plain(s)
	if n != "" {
		for _, i := range e.all {
			if !i.offered {
				continue
			}
			amendment, _, _ := strings.Cut(i.short, ":")
			full, base := plain(string(i.edition)), plain(strings.TrimSuffix(string(i.edition), i.short))
			if n == full || n == plain(i.short) || n == plain(amendment) || n == base+plain(amendment) {
				return i, nil
			}
		}
	}
	return nil, fmt.Errorf("edition %q is not known: the editions known are %s", s, list(e.offered()))
}

// Rulebook is one country's rules for a job designed to one edition. It never
// changes, and may be used from several goroutines.
type Rulebook struct {
	*tables
	job *issue
}

// Open returns the built-in rulebook for edition e; an empty e is the edition
// in force for new work.
func Open(e Edition) (*Rulebook, error) {
	t, err := home()
	if err != nil {
		return nil, err
	}
	return t.open(e)
}

// OpenFS returns the rulebook whose tables are the CSV files at the root of
// fsys. Another country's rules are another folder; tables it does not have
// answer "not tabulated". An empty e is the edition in force for new work.
func OpenFS(fsys fs.FS, e Edition) (*Rulebook, error) {
	t, err := read(fsys)
	if err != nil {
		return nil, err
	}
	if err := t.readAll(); err != nil {
		return nil, err
	}
	return t.open(e)
}

func (t *tables) open(e Edition) (*Rulebook, error) {
	if e == "" {
		if t.editions.inForce == nil {
			return nil, errors.New("no edition of the rules is in force for new work: name one")
		}
		return &Rulebook{t, t.editions.inForce}, nil
	}
	i, err := t.editions.find(string(e))
	if err != nil {
		return nil, err
	}
	return &Rulebook{t, i}, nil
}

// Edition returns the edition the job is designed to.
func (b *Rulebook) Edition() Edition { return b.job.edition }

// Span returns the day or month from which work could be designed to the job's
// edition, and the day from which it no longer may; nothing while it may.
func (b *Rulebook) Span() (published, withdrawn string) { return b.job.published, b.job.withdrawn }

// cite returns the citation of a row for this job.
func (b *Rulebook) cite(r *row) Citation { return Citation{row: r, job: b.job} }

func readEditions(l *loader) *editions {
	e := &editions{}
	l.each("editions.csv", "name,short,published,for_new_work_from,withdrawn,offered,in_force", func(r *record) {
		i := &issue{edition: Edition(r.text("name")), short: r.text("short"), offered: r.yes("offered"),
			published: r.text("published"), withdrawn: r.text("withdrawn")}
		e.all = append(e.all, i)
		if r.yes("in_force") {
			e.inForce = i
		}
	})
	if len(e.all) == 0 && len(l.faults) == 0 {
		l.fault("editions.csv: a rulebook names its editions, and this one has none")
	}
	return e
}
