package job

// What a judgement or a departure is about: a part of the job by a name that a
// person may write, found in the record when the job is read.

import (
	"reflect"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/reading"
	"chargewright/works"
)

// covers is what a statement of a person reaches. The zero value reaches nothing.
type covers struct {
	path  string
	whole bool // all that the clause touches
	part  bool // the part at the path, with what is in it
}

func (c covers) reaches(f finding.Finding) bool {
	within := func(path string) bool { return path == c.path || c.path != "" && works.Within(path, c.path) }
	return c.whole || c.part && (within(f.Path) || f.Against != "" && within(f.Against))
}

// reach finds what the name written under about reaches.
func (j *Job) reach(about string) covers {
	if strings.TrimSpace(about) == "" {
		return covers{whole: true}
	}
	if paths := j.PathsOf(about); len(paths) == 1 {
		return covers{path: paths[0], part: true}
	}
	return covers{}
}

// PathsOf returns the parts of the job that a name may mean: one where it is
// good for anything.
func (j *Job) PathsOf(name string) []string { return pathsOf(j.names(), name) }

func pathsOf(names []works.Thing, name string) []string {
	name = strings.Join(strings.Fields(name), " ")
	var paths []string
	for _, t := range names {
		if t.Name == name && !slices.Contains(paths, t.Path) {
			paths = append(paths, t.Path)
		}
	}
	return paths
}

// JudgementOn returns the judgement on a finding, if somebody answers for one
// and says what it rests on.
func (j *Job) JudgementOn(f finding.Finding) (works.Judgement, bool) {
	for _, d := range j.Judgements {
		if d.Clause == f.Clause.Name && d.Reason != "" && d.Who != "" && j.reach(d.About).reaches(f) {
			return d, true
		}
	}
	return works.Judgement{}, false
}

// Departed reports that a designer answers for a departure from what a finding
// is held to, with the reason.
func (j *Job) Departed(f finding.Finding) bool {
	return slices.ContainsFunc(j.Departures, func(d works.Departure) bool {
		return d.Clause == f.Clause.Name && d.Reason != "" && d.Who != "" && j.reach(d.About).reaches(f)
	})
}

// About returns what a judgement on a finding writes of the part it is about.
func (j *Job) About(f finding.Finding) string {
	if f.Against != "" {
		return j.Call(f.Against)
	}
	return j.Call(f.Path)
}

// Call returns a name that means the part at a path and no other: as a person
// says it, or the path itself where that could be another too.
func (j *Job) Call(path string) string {
	if path == "" {
		return works.TheInstallation.Name
	}
	names := j.names()
	for _, t := range names {
		if t.Path == path && len(pathsOf(names, t.Name)) == 1 {
			return t.Name
		}
	}
	return path
}

// parts lists the parts and items of a job from the outside in, each as a
// person says it: "circuit van point, leg yard wall, cable".
func (j *Job) parts() []works.Thing {
	return partsOf(reflect.ValueOf(j).Elem(), jobShape, works.Thing{})
}

func partsOf(v reflect.Value, s *Part, of works.Thing) []works.Thing {
	var out []works.Thing
	put := func(v reflect.Value, s *Part, path, name string) {
		if of.Name != "" {
			name = of.Name + ", " + name
		}
		t := works.Thing{Path: path, Name: name}
		out = append(append(out, t), partsOf(v, s, t)...)
	}
	for _, f := range s.Fields {
		at := works.Under(of.Path, f.Name)
		switch {
		case f.form == recordForm && !f.Of.isStated():
			put(f.value(v), f.Of, at, f.Name)
		case f.form == listForm && f.Of.Key != nil:
			list := f.value(v)
			for i := range list.Len() {
				if name := f.Of.Key.value(list.Index(i)).String(); name != "" {
					put(list.Index(i), f.Of, works.Under(at, name), f.One+" "+name)
				}
			}
		}
	}
	return out
}

// names lists what a part of a job may be called: as a person says it, as
// findings call it, an item by its name alone, and by its path.
func (j *Job) names() []works.Thing {
	out := append(j.parts(), works.TheSupply, works.TheOperator, works.TheCutOut, works.TheSite, works.TheInstallation, works.TheEarthingConductor)
	for _, t := range out {
		if all := works.NamesOf(t.Path); PartAt(t.Path) != nil && FieldAt(t.Path) == nil {
			out = append(out, works.Thing{Path: t.Path, Name: all[len(all)-1]})
		}
		out = append(out, works.Thing{Path: t.Path, Name: t.Path})
	}
	for i := range j.Supply.Bonding {
		out = append(out, j.Supply.Bonding[i].Thing())
	}
	for i := range j.Boards {
		b := &j.Boards[i]
		for k := range b.RCDs {
			out = append(out, b.RCDThing(&b.RCDs[k]))
		}
		for k := range b.Surge {
			out = append(out, b.SurgeThing(&b.Surge[k]))
		}
	}
	for i := range j.Circuits {
		c := &j.Circuits[i]
		out = append(out, c.RCDThing())
		for k := range c.Legs {
			out = append(out, c.LegThing(k))
		}
	}
	for i := range j.Points {
		out = append(out, j.Points[i].RCDThing())
	}
	return out
}

// abouts reports judgements and departures about what the job does not have,
// or has more than one of.
func (c *checker) abouts() {
	one := func(list string, i int, about string) {
		if strings.TrimSpace(about) == "" {
			return
		}
		s, names := c.whole().item(list, i).field("about"), c.job.names()
		switch paths := pathsOf(names, about); len(paths) {
		case 1:
		case 0:
			want := "write one like point CP1, or nothing, for all that the clause touches"
			if near := reading.Near(about, namesOf(names, func(t *works.Thing) string { return t.Name })); near != "" {
				want = "the nearest is " + near
			}
			s.fault(about, "the job has no part of that name; %s", want)
		default:
			for k, path := range paths {
				paths[k] = c.job.Call(path)
			}
			s.fault(about, "it may be %s; write which", oneOf(paths))
		}
	}
	for i, d := range c.job.Judgements {
		one("judgements", i, d.About)
	}
	for i, d := range c.job.Departures {
		one("departures", i, d.About)
	}
}
