package laws

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/works"
)

// TestTakingAFactAwayNeverMakesAVerdictBetter: what is not said is never
// harmless, or the job that says least would pass most.
func TestTakingAFactAwayNeverMakesAVerdictBetter(t *testing.T) {
	type found struct {
		at   breach
		path string
	}
	all := tried(t, 5000, invent.Options{Boards: 2, Points: 2, Readings: true})
	b := breaches{}
	for n, of := range each(all, func(_ int, s sample) (out []found) {
		before := verdictsOf(t, s.entries)
		for _, i := range some(s) {
			for at := range better(t, before, s.entries, s.entries[i].Path) {
				out = append(out, found{at, s.entries[i].Path})
			}
		}
		return out
	}) {
		for _, f := range of {
			b.add(f.at, invent.Pattern(f.path), all[n], func(less []job.Entry) bool {
				return value(less, f.path) != "" && better(t, verdictsOf(t, less), less, f.path)[f.at]
			})
		}
	}
	hold(t, "taken away", b)
}

func verdictsOf(t *testing.T, entries []job.Entry) map[asked]finding.Verdict {
	if m := laid(t, entries); m != nil {
		return judged(t, m)
	}
	return nil
}

// better takes one entry away and returns what becomes better by it, or is
// asked no more in silence: where nothing that is left open asks for the fact
// itself. A reading that is not there any more is not judged.
func better(t *testing.T, before map[asked]finding.Verdict, entries []job.Entry, path string) map[breach]bool {
	out := map[breach]bool{}
	m := laid(t, with(entries, path, ""))
	if m == nil || goesWhole(entries, path) {
		return out
	}
	found := checked(m)
	after := worst(found)
	at := job.FieldAt(path)
	item := at == nil || !at.Single()
	wanted := slices.ContainsFunc(found, func(f finding.Finding) bool { return f.Verdict == finding.NotKnown && leadsTo(f.Lacks, path) })
	for at, was := range before {
		is, still := after[at]
		switch reading := strings.HasPrefix(at.key, "reading") && strings.HasPrefix(path, "readings/"); {
		case strings.HasPrefix(at.key, "agree "): // a contradiction goes with either of its facts
		case item && strings.Contains(at.about, path): // with a thing goes what is asked of it
		case !still && !reading && !wanted:
			out[breach{at.key, "asked no more"}] = true
		case still && is == finding.Meets && was != finding.Meets && !(reading && after[asked{at.key, ""}] != finding.Meets):
			out[breach{at.key, "from " + was.String() + " to meets"}] = true
		}
	}
	if len(out) > 0 && contradicted(laid(t, entries), path) {
		return nil
	}
	return out
}

// leadsTo reports that one of the lacks is a fact, or what holds it; a list has a
// form for a new item, none for a fact of one that is there.
func leadsTo(lacks finding.Lacks, path string) bool {
	at := job.FieldAt(path)
	item := at != nil && !at.Single()
	return slices.ContainsFunc(lacks, func(l finding.Lack) bool {
		return slices.ContainsFunc(l.Paths(), func(p string) bool {
			at := job.FieldAt(p)
			return works.Within(path, p) && (item || at == nil || !at.List() || at.Of == nil)
		})
	})
}

// parts is what a thing need not have. The last fact that is said of one is the
// part itself: without it the record has no such part.
var parts = []string{"circuits/*/RCD", "circuits/*/legs/*/cable", "points/*/built-in RCD", "points/*/earthing", "points/*/earthing/earthing conductor", "boards/*/main switch",
	"boards/*/main switch/RCD", "boards/*/surge protection/*/device"}

// goesWhole reports that a part of a thing goes with a fact.
func goesWhole(entries []job.Entry, path string) bool {
	up := func(path string) string { return path[:max(0, strings.LastIndex(path, "/"))] }
	part, pattern := up(path), up(invent.Pattern(path))
	return slices.Contains(parts, pattern) &&
		!slices.ContainsFunc(entries, func(e job.Entry) bool { return e.Path != path && e.Path != part && works.Within(e.Path, part) }) ||
		invent.Pattern(path) == "circuits/*/design current" // a figure held against what the rest of the record comes to
}

// contradicted reports that another fact of the record contradicts one: without
// it the rest may be believed.
func contradicted(m *model.Model, path string) bool {
	reading := strings.HasPrefix(path, "readings/")
	return slices.ContainsFunc(m.Doubts, func(d model.Doubt) bool {
		return slices.ContainsFunc(d.Paths, func(p string) bool { return p == path || reading && strings.HasPrefix(p, "readings/") })
	})
}

// TestEveryFieldCounts: a field that changes nothing makes a person type what
// nobody reads, or hides a rule that was forgotten.
func TestEveryFieldCounts(t *testing.T) {
	if !*wholly {
		t.Skip("needs every job")
	}
	var counts sync.Map // fields known to count; whoever finds it first
	all := tried(t, 400, invent.Options{Boards: 2, Points: 2, Readings: true})
	fields := each(all, func(_ int, s sample) []string { return fieldsOf(t, s, &counts) })
	where := map[string]sample{}
	for n, of := range fields {
		for _, at := range of {
			if where[at].name == "" {
				where[at] = all[n]
			}
		}
	}
	b := breaches{}
	for at, s := range where {
		if _, ok := counts.Load(at); !ok {
			b.add(breach{at, "nothing reads it"}, at, sample{name: s.name}, never)
		}
	}
	hold(t, "every field counts", b)
}

// fieldsOf returns the fields of a job, and notes those that change what is said
// of it. Papers take longer: finished jobs alone are printed.
func fieldsOf(t *testing.T, s sample, counts *sync.Map) (fields []string) {
	m := laid(t, s.entries)
	before := answers(t, m)
	finished := strings.HasSuffix(s.name, "complete.yaml") || strings.HasSuffix(s.name, "all-well.yaml")
	var papers []byte
	for _, i := range some(s) {
		path := s.entries[i].Path
		at := invent.Pattern(path)
		if strings.HasSuffix(at, "*") {
			continue
		}
		fields = append(fields, at)
		for k, v := range append([]string{""}, invent.Choices(path)...) {
			if _, ok := counts.Load(at); ok {
				break
			}
			changed := laid(t, with(s.entries, path, v))
			if changed == nil {
				continue
			}
			is := !bytes.Equal(before, answers(t, changed))
			if !is && finished && k < 2 {
				if papers == nil {
					papers = printed(t, m)
				}
				is = !bytes.Equal(papers, printed(t, changed))
			}
			if is {
				counts.Store(at, true)
			}
		}
	}
	return fields
}

// answers is all that is said of a job but its papers.
func answers(t *testing.T, m *model.Model) []byte {
	t.Helper()
	read, err := prove.Judge(m)
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal([]any{design.Check(m), read, prove.Expect(m), design.ReportDemand(m, nil, nil)})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// printed is the papers of a job.
func printed(t *testing.T, m *model.Model) []byte {
	t.Helper()
	found, expected, at := design.Check(m), prove.Expect(m), time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	files, err := paper.Pack(m, found, expected, nil, at)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	fmt.Fprintln(&out, paper.Missing(m, found, expected, at)) // what keeps a certificate back
	for _, f := range files {
		fmt.Fprintf(&out, "%s\n%s\n", f.Name, f.Content)
	}
	return out.Bytes()
}

// TestTablesHoldWithinTheirConditionsOnly: a figure read outside the row it
// stands in is a guess with a source beside it.
func TestTablesHoldWithinTheirConditionsOnly(t *testing.T) {
	all := tried(t, 1000, invent.Options{Boards: 2, Points: 2})
	b := breaches{}
	for _, of := range each(all, func(_ int, s sample) breaches { return beyondTables(t, s) }) {
		for at, seen := range of {
			if b[at] == nil {
				b[at] = seen
			}
		}
	}
	hold(t, "tables within their conditions", b)
}

// beyond is conditions that no row of a table has, and what must be so for a leg
// to be in them.
var beyond = []struct{ fact, value, when, whenIs, what string }{
	{"depth", "100 mm", "method", "D", "a depth above the first row"},
	{"depth", "9 m", "method", "D", "a depth below the last row"},
	{"ambient", "79 °C", "", "", "surroundings hotter than the table"},
	{"soil", "30 K·m/W", "method", "D", "soil poorer than the table"},
	{"circuits together", "90", "arrangement", "bunched", "more circuits than the table"},
	{"arrangement", "ducts touching", "method", "E", "an arrangement its method cannot have"},
	{"arrangement", "bunched", "method", "D buried", "an arrangement its method cannot have"},
}

// beyondTables puts each circuit of a job where no row holds, and returns which
// figures are given all the same.
func beyondTables(t *testing.T, s sample) breaches {
	b := breaches{}
	for _, is := range beyond {
		for _, path := range every(s.entries, "circuits/*/legs/*/"+is.fact) {
			leg, circuit := path[:strings.LastIndex(path, "/")], works.NamesOf(path)[1]
			changed := with(s.entries, path, is.value)
			again := func(e []job.Entry) bool {
				_, figured := figure(t, e, "cable rating", circuit)
				if is.fact == "ambient" && !strings.HasPrefix(value(e, works.Under("circuits", circuit)+"/terminals rated"), "70") {
					return false // the table of 90 °C cables goes further than the record
				}
				return figured && value(e, path) == is.value && (is.when == "" || strings.HasPrefix(value(e, leg+"/"+is.when), is.whenIs)) &&
					(is.fact != "arrangement" || number(value(e, leg+"/circuits together")) > 1)
			}
			if again(changed) {
				b.add(breach{"cable rating", is.what}, invent.Pattern(path), sample{name: s.name, entries: changed}, again)
			}
		}
	}
	for _, path := range every(s.entries, "circuits/*/cable/material") {
		for _, key := range []string{"cable rating", "volt drop"} {
			again := func(e []job.Entry) bool {
				of := func(material string) []job.Entry { // every leg of it, whichever cable it is run in
					out := with(e, path, material)
					for _, leg := range every(e, "circuits/*/legs/*/cable/material") {
						if works.NamesOf(leg)[1] == works.NamesOf(path)[1] {
							out = with(out, leg, material)
						}
					}
					return out
				}
				al, ok := figure(t, of("aluminium"), key, works.NamesOf(path)[1])
				cu, ok2 := figure(t, of("copper"), key, works.NamesOf(path)[1])
				return value(e, path) != "" && ok && ok2 && al == cu
			}
			if again(s.entries) {
				b.add(breach{key, "aluminium taken for copper"}, invent.Pattern(path), s, again)
			}
		}
	}
	return b
}

func number(text string) int { n, _ := strconv.Atoi(text); return n }

// figure returns value and limit of a requirement of a circuit, where there are any.
func figure(t *testing.T, entries []job.Entry, key, circuit string) (string, bool) {
	m := laid(t, entries)
	if m == nil {
		return "", false
	}
	for _, f := range design.Check(m) {
		if f.Key == key && works.Within(f.Path, works.Under("circuits", circuit)) && f.Verdict != finding.NotKnown {
			return fmt.Sprint(f.Value.Number, f.Limit.Number), true
		}
	}
	return "", false
}
