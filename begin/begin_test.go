package begin

import (
	"strings"
	"testing"

	"chargewright/job"
)

func builtins(t *testing.T) []Template {
	t.Helper()
	all, err := BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestTemplates: each template makes a job that holds together, of which every
// fact but names and what hangs on what is assumed, by the template's name.
func TestTemplates(t *testing.T) {
	all := builtins(t)
	if got := len(Offered(all)); got != 6 {
		t.Errorf("%d templates are offered, want 6", got)
	}
	for _, of := range Offered(all) {
		for _, points := range []int{of.Points, 2 * of.Points} {
			entries := of.Entries("x", "2026-11-25", points, nil, nil)
			j, err := job.NewRecord(entries...).Job("")
			if err != nil {
				t.Errorf("%s, %d points: %v", of.Name, points, err)
			}
			if want := max(points, 1); len(j.Points) != want || len(j.Circuits) < want {
				t.Errorf("%s: %d points on %d circuits, want %d points", of.Name, len(j.Points), len(j.Circuits), want)
			}
			for _, e := range entries {
				f := job.FieldAt(e.Path)
				if f == nil || !f.Assumable() {
					continue
				}
				_, known, reason := f.Apart(e.Value)
				if _, last, _ := cutLast(e.Path); known != "assumed" && !contains(named, last) {
					t.Errorf("%s: %s is %q, which nobody has seen", of.Name, e.Path, e.Value)
				} else if known != "" && !strings.HasPrefix(reason, of.Name) && e.Path != "site/visited" && e.Path != "edition" {
					t.Errorf("%s: %s is assumed by %q", of.Name, e.Path, reason)
				}
			}
			if of.Ask != HowMany && of.Value(of.Ask) == "" {
				t.Errorf("%s asks for %s, which it has not", of.Name, of.Ask)
			}
		}
	}
}

func contains(all []string, s string) bool {
	for _, a := range all {
		if a == s {
			return true
		}
	}
	return false
}

// TestFirmsOwn: a firm adds templates in the same form, and a slip in its table
// is told with its line.
func TestFirmsOwn(t *testing.T) {
	const head = "template,path,value,because\n"
	all, err := Read("own.csv", head+"ours,like,house with one point,\nours,says,with our own cable,\nours,circuits/charge point/cable/construction,armoured,\n"+
		"ours,circuits/charge point/cable/cores,3,\nours,circuits/charge point/cable/cpc,core,\nours,supply/looped,,\n", builtins(t))
	if err != nil {
		t.Fatal(err)
	}
	ours, ok := Named(all, "Ours")
	if !ok || ours.Value("circuits/charge point/cable/construction") != "armoured" || ours.Value("supply/looped") != "" || ours.Value("supply/earthing") != "TN-C-S" {
		t.Errorf("ours is %v: %+v", ok, ours)
	}
	said := map[string]string{ours.Ask: "21 m"}
	j, _ := job.NewRecord(ours.Entries("x", "", 0, said, nil)...).Job("")
	if l := j.Circuits[0].Legs[0].Length; l.Or(0) != 21 || j.IsAssumed(ours.Ask) {
		t.Errorf("what was said is %v, assumed %v", l, j.IsAssumed(ours.Ask))
	}
	for row, want := range map[string]string{
		"ours,says,x,\nours,supply/earthng,TN-S,\n":   "own.csv:3",
		"ours,says,x,\nours,readings/1/value,0.2,\n":  "own.csv:3",
		"ours,says,x,\nours,like,nobody,\n":           "own.csv:3",
		"ours,says,x,\nours,points,many,\n":           "own.csv:3",
		"ours,says,x,\nours,supply/earthing,earth,\n": "supply, earthing",
	} {
		if _, err := Read("own.csv", head+row, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", row, err, want)
		}
	}
}

// TestLast: the next job has the people and instruments of the last, what was
// fitted and seen there is usual, and what was measured there is not carried.
func TestLast(t *testing.T) {
	of, _ := Named(builtins(t), "house with one point")
	record := job.NewRecord(of.Entries("first", "2026-11-25", 0, nil, nil)...)
	var more []job.Entry
	more = append(more, record.Seen("circuits/charge point/cable/csa")...)
	more = append(more,
		job.Entry{Path: "circuits/charge point/device/rating", Value: "32 A", Follows: record.Shown("circuits/charge point/device/rating")},
		job.Entry{Path: "supply/Ze", Value: "0.21 Ω (measured)", Follows: record.Shown("supply/Ze")},
		job.Entry{Path: "points/CP1/serial", Value: "invented-1"},
		job.Entry{Path: "people/A. Spark", Value: "1"}, job.Entry{Path: "people/A. Spark/firm", Value: "Sparks and Daughter (invented)"},
		job.Entry{Path: "instruments/tester 1", Value: "1"}, job.Entry{Path: "instruments/tester 1/serial", Value: "invented-1"},
		job.Entry{Path: "site/client", Value: "the first"})
	past := []Past{{"first", job.Merge(record, job.NewRecord(more...))}}

	next, err := job.NewRecord(append(Firm(past), of.Entries("second", "", 0, nil, of.Remembered(past))...)...).Job("")
	if err != nil {
		t.Fatal(err)
	}
	if next.Circuits[0].Device.Rating.Or(0) != 32 || len(next.People) != 1 || len(next.Instruments) != 1 || next.People[0].Firm == "" || next.Site.Client != "" {
		t.Errorf("the next job has %v, %v, %v, %q", next.Circuits[0].Device.Rating, next.People, next.Instruments, next.Site.Client)
	}
	for _, a := range next.Assumed() {
		want := of.Name
		if a.Path == "circuits/charge point/device/rating" || a.Path == "circuits/charge point/cable/csa" {
			want = "as in first"
		}
		if a.Path != "edition" && !strings.HasPrefix(a.Reason, want) {
			t.Errorf("%s is assumed by %q, want %q", a.Path, a.Reason, want)
		}
	}
	if next.Supply.Ze.Value.Or(0) != 0.35 {
		t.Errorf("Ze of the last job is carried: %v", next.Supply.Ze.Value)
	}
	for _, other := range Offered(builtins(t)) {
		if other.Began(past[0]) != (other.Name == of.Name) {
			t.Errorf("a job begun from %q was begun from %q: %v", of.Name, other.Name, other.Began(past[0]))
		}
	}

	last := AsLast(past[0])
	again, err := job.NewRecord(last.Entries("third", "", 0, nil, nil)...).Job("")
	if err != nil {
		t.Fatal(err)
	}
	if again.Circuits[0].Device.Rating.Or(0) != 32 || again.Points[0].Serial != "" || again.Supply.Ze.Value.IsKnown() || again.Site.Client != "" ||
		!again.IsAssumed("circuits/charge point/device/rating") {
		t.Errorf("as the last job: %v, serial %q, Ze %v", again.Circuits[0].Device.Rating, again.Points[0].Serial, again.Supply.Ze.Value)
	}
}
