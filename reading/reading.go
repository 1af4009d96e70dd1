// Package reading knows the readings of the test sequence: what each is called,
// in which unit, what a bare number and what a word such as "no trip" or "open"
// means, how it may be taken, and how it is held to its limits. What a person
// entered is read here, once, and judged here, once; every screen, command and
// paper asks this room.
//
// The parts: kind.go (the kinds and their names), value.go (what was shown),
// way.go (how it was taken), judge.go (against the limits).
package reading

import (
	_ "embed"
	"encoding/csv"
	"slices"
	"strings"
	"sync"

	"chargewright/finding"
	"chargewright/quantity"
)

//go:embed kinds.csv
var kindTable string

//go:embed ways.csv
var wayTable string

// Kind is one reading of the test sequence. Kinds are compared by their address.
type Kind struct {
	Name    string
	Also    []string // other ways people write it
	Class   string   // of instrument
	Dead    bool
	Compare string // as a number; by its decades, where it is known to a share; by its inverse, as the loop it was worked out from
	Right   string // of what is seen and not measured, what is written where it is as it must be
	Wrong   string // and where it is not; both empty for what has a number
	Measure finding.Measure
	Bare    string // unit meant where only a number is written
	Place   string // supply, circuit, point, rcd, electrode, conductor, any
	Through bool   // an open way fails
	Trips   bool   // no trip fails
	signed  bool
	least   float64
}

// Seen reports that a reading is seen and has no number.
func (k *Kind) Seen() bool { return k.Right != "" }

// book is both tables, read once.
type book struct {
	kinds  []*Kind
	byName map[string]*Kind
	ways   []*way
}

var tables = sync.OnceValue(func() *book {
	b := &book{byName: map[string]*Kind{}}
	measures := map[string]finding.Measure{"Ω": quantity.Ohms(0).Measure(), "A": quantity.Amperes(0).Measure(), "V": quantity.Volts(0).Measure(),
		"s": quantity.Seconds(0).Measure(), "%": quantity.Percent(0).Measure(), "": nil}
	for _, r := range rows(kindTable) {
		can := list(r["can"])
		k := &Kind{Name: r["name"], Also: list(r["also"]), Class: r["class"], Dead: r["stage"] == "dead", Compare: r["compare"], Right: r["right"], Wrong: r["wrong"],
			Measure: measures[r["unit"]], Bare: r["bare"], Place: r["place"],
			Through: slices.Contains(can, "through"), Trips: slices.Contains(can, "trips"), signed: slices.Contains(can, "signed")}
		if r["least"] != "" {
			k.least, _ = k.number(r["least"]) // a test reads the table
		}
		b.kinds = append(b.kinds, k)
		for _, name := range append([]string{k.Name}, k.Also...) {
			b.byName[Plain(name)] = k
		}
	}
	for _, r := range rows(wayTable) {
		w := &way{word: r["word"], classes: list(r["classes"]), note: r["note"] == "yes"}
		for _, text := range append([]string{w.word}, list(r["also"])...) {
			w.spellings = append(w.spellings, tokens(text))
		}
		b.ways = append(b.ways, w)
	}
	return b
})

// rows reads a table of our own by its heads.
func rows(text string) []map[string]string {
	in := csv.NewReader(strings.NewReader(text))
	in.Comment = '#'
	all, err := in.ReadAll()
	if err != nil {
		panic("reading: " + err.Error()) // a test reads both tables
	}
	var out []map[string]string
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, head := range all[0] {
			row[head] = cells[i]
		}
		out = append(out, row)
	}
	return out
}

func list(cell string) []string {
	if cell == "" {
		return nil
	}
	return strings.Split(cell, "; ")
}

// Kinds returns every kind of reading, in the order they are taken.
func Kinds() []*Kind { return slices.Clone(tables().kinds) }

// Of returns the kind of that name, however it is written; nil for none.
func Of(name string) *Kind { return tables().byName[Plain(name)] }

// Same reports that two names are of one reading.
func Same(a, b string) bool {
	if k := Of(a); k != nil || Of(b) != nil {
		return k == Of(b)
	}
	return Plain(a) == Plain(b)
}

// Names returns what readings are called, in the order they are taken.
func Names() []string {
	var out []string
	for _, k := range tables().kinds {
		out = append(out, k.Name)
	}
	return out
}

// Plain takes out of a name what does not tell it from another.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '.', '-', '_', '(', ')', '\u00a0', '\u2011':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// Nearest names the word most like s, or lists them.
func Nearest(s string, words []string) string {
	wanted := Plain(s)
	best, least := "", len(wanted)/2+1
	for _, w := range words {
		p := Plain(w)
		d := distance(wanted, p)
		if len(wanted) >= 2 && (strings.HasPrefix(p, wanted) || strings.HasSuffix(p, wanted)) {
			d = min(d, 1)
		}
		if d < least {
			best, least = w, d
		}
	}
	if best != "" {
		return "the nearest is " + best
	}
	return "there is " + strings.Join(words, ", ")
}

// distance counts the letters to add, drop or change to make a into b.
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	last := make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := range s {
		before := last[0]
		last[0] = i + 1
		for j := range t {
			change := before
			if s[i] != t[j] {
				change++
			}
			before = last[j+1]
			last[j+1] = min(change, last[j+1]+1, last[j]+1)
		}
	}
	return last[len(t)]
}
