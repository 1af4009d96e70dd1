package laws

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/works"
)

// outcome is what becomes of one requirement, whatever its part is called.
type outcome struct {
	key      string
	verdict  finding.Verdict
	departed bool
	judged   bool
}

// TestANameIsNoText: a departure about CP1 once cleared CP10. Whatever things
// are called, the verdicts are the same, and what is said of one reaches that
// one and what is in it.
func TestANameIsNoText(t *testing.T) {
	all := tried(t, 500, invent.Options{Boards: 2, Points: 3})
	for _, says := range each(all, func(_ int, s sample) string {
		plain, err := outcomes(t, s.entries)
		if err != "" || plain == nil {
			return err
		}
		awkward, err := outcomes(t, invent.Renamed(s.entries, invent.Awkward()))
		if err == "" && !slices.Equal(plain, awkward) {
			for i := range min(len(plain), len(awkward)) {
				if plain[i] != awkward[i] {
					return fmt.Sprintf("%s: %v, and under other names %v", s.name, plain[i], awkward[i])
				}
			}
			err = fmt.Sprintf("%d requirements, and under other names %d", len(plain), len(awkward))
		}
		if err != "" {
			return s.name + ": " + err
		}
		return ""
	}) {
		if says != "" {
			t.Error(says)
		}
	}
}

// outcomes are the findings of a job with a departure from one in three of them,
// and a judgement on another; one finding may lie within the part that another is
// about.
func outcomes(t testing.TB, entries []job.Entry) ([]outcome, string) {
	m := laid(t, entries)
	if m == nil {
		return nil, ""
	}
	found := design.Check(m)
	m.Job.Departures, m.Job.Judgements = nil, nil
	for i := range found {
		if i%3 == 2 {
			continue
		}
		about := m.Job.About(found[i])
		if paths := m.Job.PathsOf(about); len(paths) != 1 || paths[0] != found[i].Path && paths[0] != found[i].Against {
			return nil, fmt.Sprintf("%q is what is written of %q, and may be %q", about, found[i].Path, paths)
		}
		if i%3 == 0 {
			m.Job.Departures = append(m.Job.Departures, works.Departure{Clause: found[i].Clause.Name, About: about, Reason: "invented", Who: "nobody"})
		} else {
			m.Job.Judgements = append(m.Job.Judgements, works.Judgement{Clause: found[i].Clause.Name, About: about, Reason: "invented", Who: "nobody"})
		}
	}
	out := make([]outcome, len(found))
	for i, f := range found {
		_, judged := m.Job.JudgementOn(f)
		out[i] = outcome{f.Key, f.Verdict, m.Job.Departed(f), judged}
	}
	return out, ""
}

// TestALackLeadsToTheFact takes every fact and every item of every example away,
// and of drawn jobs: what a rule then lacks is a place in the record, and where a
// rule is no longer settled, what that rule lacks leads to what was taken. A rule
// that waits for another lacks what that one does.
func TestALackLeadsToTheFact(t *testing.T) {
	kinds := map[string]string{}
	for _, says := range each(few(tried(t, 100, invent.Options{Boards: 2, Points: 2})), func(_ int, s sample) (out []string) {
		before := laid(t, s.entries)
		if before == nil {
			return nil
		}
		was := map[asked]finding.Verdict{}
		for _, f := range design.Check(before) {
			was[asked{f.Key, f.Path + f.Against}] = f.Verdict
		}
		for i, e := range s.entries {
			if at := job.FieldAt(e.Path); !invent.IsItem(s.entries, i) && (at == nil || !at.Single()) {
				continue
			}
			m := laid(t, invent.Without(s.entries, i))
			if m == nil {
				continue
			}
			after := design.Check(m)
			for _, f := range after {
				lacks := f.Lacks
				for _, g := range after {
					if f.WaitsOn != "" && g.Key == f.WaitsOn {
						lacks = finding.Gather(lacks, g.Lacks)
					}
				}
				leads := false
				for _, l := range lacks {
					for _, p := range l.Paths() {
						at := job.FieldAt(p) // a list has a form for a new item, none for a fact of one that is there
						leads = leads || works.Within(e.Path, p) && (invent.IsItem(s.entries, i) || at == nil || !at.List() || at.Of == nil)
						if job.FieldAt(p) == nil && job.PartAt(p) == nil {
							out = append(out, fmt.Sprintf("%s: %s leads to %q, which is nowhere", f.Key, l, p))
						}
					}
				}
				if v, asked := was[asked{f.Key, f.Path + f.Against}]; asked && v != finding.NotKnown && f.Verdict == finding.NotKnown && !leads {
					out = append(out, fmt.Sprintf("%s: without %s it lacks %v, at %s, in %s", f.Key, invent.Pattern(e.Path), lacks, f.Path, s.name))
				}
			}
		}
		return out
	}) {
		for _, one := range says {
			kind, _, _ := strings.Cut(one, " it lacks")
			kinds[kind] = one
		}
	}
	for _, one := range kinds {
		t.Error(one)
	}
}

// few keeps an example and two drawn jobs, where not every one is asked for: each
// of their facts is taken out, and each leads to a form.
func few(all []sample) []sample {
	if *wholly {
		return all
	}
	return slices.DeleteFunc(all, func(s sample) bool {
		return s.name != "terrace/job.yaml" && s.name != "invented 0" && s.name != "invented 1"
	})
}
