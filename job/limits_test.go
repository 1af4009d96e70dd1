package job

import (
	"slices"
	"testing"

	"chargewright/quantity"
	"chargewright/standard"
)

// Every size and rating that the tables of package standard know can be
// written in a job: IEC 60228 for conductors; BS EN 60898, BS EN 61009, BS 88,
// BS 1361 and BS 3036 for devices. The rows there name their sources.
func TestTablesCanBeWritten(t *testing.T) {
	book, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range standard.Family("").Values() {
		for _, rating := range book.Ratings(standard.Family(family)) {
			if rating <= 125 && !slices.Contains(nominalRatings, float64(rating)) {
				t.Errorf("%s is made in %v, which a job file refuses", family, rating)
			}
		}
	}
	var none standard.Method
	for _, c := range standard.Construction("").Values() {
		for _, i := range standard.Insulation("").Values() {
			for _, m := range none.Values() {
				for _, loaded := range []int{2, 3} {
					for _, csa := range book.Sizes(standard.Copper, standard.Construction(c), standard.Insulation(i), standard.Method(m), loaded) {
						if !slices.Contains(nominalSizes, float64(csa)) {
							t.Errorf("%s %s is made in %v, which a job file refuses", i, c, csa)
						}
					}
				}
			}
		}
	}
}

// The preferred rated currents and the sizes are in order, as near expects.
func TestListsAscend(t *testing.T) {
	if !slices.IsSorted(nominalSizes) || !slices.IsSorted(nominalRatings) {
		t.Error("a list of sizes or ratings is out of order")
	}
}

func TestNear(t *testing.T) {
	for _, tt := range []struct {
		rating quantity.Amperes
		want   string
	}{
		{33, "near it are 32 A and 35 A"},
		{0.1, "the smallest is 0.5 A"},
		{200, "the largest is 125 A"},
	} {
		if got := near(tt.rating, nominalRatings); got != tt.want {
			t.Errorf("near(%v) = %q, want %q", tt.rating, got, tt.want)
		}
	}
}

func TestDatesAndCodes(t *testing.T) {
	for _, tt := range []struct {
		text, kind string
		ok         bool
	}{
		{"2026-11-25", "day", true},
		{"2026-11-25", "time", true},
		{"2026-11-25 14:05", "time", true},
		{"2026-11-25 14:05", "day", false},
		{"2026-11-25T14:05:00Z", "time", true},
		{"2026-11-25T14:05:00+01:00", "time", true},
		{"2026-11-31", "day", false},
		{"2028-02-29", "day", true},
		{"2026-02-29", "day", false},
		{"26-11-25", "day", false},
		{"14:05", "time", false},
	} {
		if got := checkDate(tt.text, tt.kind) == ""; got != tt.ok {
			t.Errorf("%q is a %s: %v, want %v", tt.text, tt.kind, got, tt.ok)
		}
	}
	for _, tt := range []struct { // IEC 60529:1989+A2 4.1; IEC 62262:2002 4.2 (from memory)
		text, kind string
		ok         bool
	}{
		{"IP54", "IP", true}, {"ip 65", "IP", true}, {"IPX4", "IP", true}, {"IP23CS", "IP", true}, {"IP2", "IP", false}, {"54", "IP", false},
		{"IK08", "IK", true}, {"IK10", "IK", true}, {"IK10+", "IK", true}, {"IK8", "IK", false}, {"IK12", "IK", false},
	} {
		if got := checkCode(tt.text, tt.kind) == ""; got != tt.ok {
			t.Errorf("%q is an %s code: %v, want %v", tt.text, tt.kind, got, tt.ok)
		}
	}
}

// Every tag of every field is one the reader knows, and every limit reads.
func TestShape(t *testing.T) {
	var walk func(s *Part)
	walk = func(s *Part) {
		seen := map[string]bool{}
		for _, f := range s.Fields {
			if f.Help == "" {
				t.Errorf("%s of %s has no help", f.Name, s.typ)
			}
			if seen[f.Name] {
				t.Errorf("%s of %s stands twice", f.Name, s.typ)
			}
			seen[f.Name] = true
			if f.Like != "" {
				c, l, ok := f.scalar()
				if !ok {
					t.Errorf("%s of %s is like %s but no value", f.Name, s.typ, f.Like)
					continue
				}
				n, err := c.read(c.fresh(), f.Like)
				if err != nil || l.check(f.Like, n) != "" {
					t.Errorf("%s of %s is like %q, which it refuses: %v %s", f.Name, s.typ, f.Like, err, l.check(f.Like, n))
				}
			}
			if f.Of != nil {
				walk(f.Of)
			}
		}
	}
	walk(jobShape)
}
