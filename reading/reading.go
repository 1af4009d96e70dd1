// Package reading knows the readings of the test sequence: what each is called,
// in which unit, what a bare number and what a word such as "no trip" or "open"
// means, how it may be taken, and how it is held to its limits. What a person
// entered is read here, once, and judged here, once; every screen, command and
// paper asks this room.
//
// The parts: kind.go (the kinds and their names), value.go (what was shown),
// way.go (how it was taken), judge.go (against the limits), named.go (a reading
// told from its words and how it was taken in one), table.go (tables of them).
package reading

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/sheet"
)

//go:embed kinds.csv
var kindTable string

//go:embed headings.csv
var headingTable string

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
	timed   bool // what is seen may be written as the time it took
	least   float64
	real    float64 // least that the thing measured can have; 0 for any
	unreal  string  // what is said of less
}

// Seen reports that a reading is seen and has no number.
func (k *Kind) Seen() bool { return k.Right != "" }

// book is the tables, read once.
type book struct {
	kinds    []*Kind
	byName   map[string]*Kind
	ways     []*way
	headings map[string][]string // of tables, by the field
}

var tables = sync.OnceValue(func() *book {
	b := &book{byName: map[string]*Kind{}, headings: map[string][]string{}}
	measures := map[string]finding.Measure{"Ω": quantity.Ohms(0).Measure(), "A": quantity.Amperes(0).Measure(), "V": quantity.Volts(0).Measure(),
		"s": quantity.Seconds(0).Measure(), "%": quantity.Percent(0).Measure(), "": nil}
	for _, r := range rows("kinds.csv", kindTable, "name,also,class,stage,unit,bare,least,real,unreal,compare,can,right,wrong,place,source") {
		can := list(r.Get("can"))
		k := &Kind{Name: r.Get("name"), Also: list(r.Get("also")), Class: r.Get("class"), Dead: r.Get("stage") == "dead",
			Compare: r.Get("compare"), Right: r.Get("right"), Wrong: r.Get("wrong"),
			Measure: measures[r.Get("unit")], Bare: r.Get("bare"), Place: r.Get("place"),
			Through: slices.Contains(can, "through"), Trips: slices.Contains(can, "trips"), signed: slices.Contains(can, "signed"),
			timed: slices.Contains(can, "timed")}
		if r.Get("least") != "" {
			k.least, _ = k.number(r.Get("least")) // a test reads the table
		}
		if k.unreal = r.Get("unreal"); k.unreal != "" {
			k.real, _ = k.number(r.Get("real"))
		}
		b.kinds = append(b.kinds, k)
		for _, name := range append([]string{k.Name}, k.Also...) {
			b.byName[Plain(name)] = k
		}
	}
	for _, r := range rows("ways.csv", wayTable, "word,also,classes,note,source") {
		w := &way{word: r.Get("word"), classes: list(r.Get("classes")), note: r.Get("note") == "yes"}
		for _, text := range append([]string{w.word}, list(r.Get("also"))...) {
			w.spellings = append(w.spellings, tokens(text))
		}
		b.ways = append(b.ways, w)
	}
	for _, r := range rows("headings.csv", headingTable, "field,words,source") {
		b.headings[r.Get("field")] = list(r.Get("words"))
	}
	return b
})

func rows(file, text, head string) []sheet.Row {
	t, err := sheet.Own(file, text, strings.Split(head, ",")...)
	if err == nil {
		err = t.Faults.Err()
	}
	if err != nil {
		panic(err) // a test reads the tables
	}
	return t.Rows
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

// Called is the one name of a reading, whichever of its names is given.
func Called(name string) string {
	if k := Of(name); k != nil {
		return k.Name
	}
	return Plain(name)
}

// Same reports that two names are of one reading.
func Same(a, b string) bool { return Called(a) == Called(b) }

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
