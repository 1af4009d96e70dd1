package job

// Facts that are assumed: what a template, an answer or a person took, and
// nobody has seen yet. The mark is part of the value, in brackets behind it, so
// it is written, merged and followed as the value is: "6 mm² (assumed, house
// with one point)".

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Assumption is a fact that nobody has seen yet.
type Assumption struct {
	Path   string `json:"path"`
	Value  string `json:"value"`
	Reason string `json:"reason,omitempty"` // why, or by what it was taken: "house with one point"
}

// String writes the value with its mark.
func (a Assumption) String() string { return statedText(a.Value, string(trade.Assumed), a.Reason) }

// Name is what the fact is called: "circuit van point, leg yard wall, length".
func (a Assumption) Name() string {
	var words []string
	s, names := jobShape, works.NamesOf(a.Path)
	for i := 0; i < len(names) && s != nil; i++ {
		f := s.Named(names[i])
		if f == nil {
			break
		}
		word := f.Name
		if f.List() && i+1 < len(names) {
			i++
			word = f.One + " " + names[i]
		}
		words, s = append(words, word), f.Of
	}
	return strings.Join(words, ", ")
}

// standing is the parts of a job whose facts may be assumed: what is there or is
// to be there, and what a paper is to say until a person says it. What was
// measured, inspected or judged cannot be.
var standing = []string{"edition", "site", "supply", "electrodes", "boards", "loads", "sources", "circuits", "points", "limiters", "certificate",
	"notification", "handover"}

// personal is what somebody says or signs in items that have no name of their
// own: it is said, or it is not there.
var personal = []string{"certificate/signing", "handover/lights"}

// Assumable reports that the fact may be assumed.
func (f *Field) Assumable() bool { return f.assumable }

func (f *Field) mayBeAssumed(key bool) bool {
	in := func(part string) bool { return works.Within(f.Path, part) }
	saysHow := f.codec != nil && f.codec.typ == reflect.TypeFor[quantity.Maybe[trade.HowKnown]]()
	return !key && f.Single() && slices.ContainsFunc(standing, in) && !slices.ContainsFunc(personal, in) && !saysHow
}

// Apart takes how the fact is known off a value of it: "25 m (assumed, not seen)".
func (f *Field) Apart(text string) (value, known, reason string) {
	if f.Stated() {
		if value, known, reason, split := splitStated(text); split {
			return value, known, reason
		}
	} else if value, reason, assumed := splitAssumed(text); assumed && f.assumable {
		return value, string(trade.Assumed), reason
	}
	return text, "", ""
}

// splitAssumed takes the mark of an assumption off a value.
func splitAssumed(text string) (value, reason string, assumed bool) {
	text = strings.TrimSpace(text)
	if !strings.HasSuffix(text, ")") {
		return text, "", false
	}
	for i := strings.Index(text, "("); i >= 0; {
		known, why, _ := strings.Cut(text[i+1:len(text)-1], ",")
		if strings.EqualFold(strings.TrimSpace(known), string(trade.Assumed)) {
			return strings.TrimSpace(text[:i]), strings.TrimSpace(why), true
		}
		next := strings.Index(text[i+1:], "(")
		if next < 0 {
			break
		}
		i += 1 + next
	}
	return text, "", false
}

// Assumed returns what is assumed in the job: facts marked so, facts that say of
// themselves how they are known, and those that a field beside them says it of.
func (j *Job) Assumed() []Assumption {
	s := &j.Supply
	out := assumedOf(nil, "supply/Ze", s.Ze)
	out = assumedOf(out, "supply/line-neutral loop", s.LineNeutralLoop)
	out = assumedOf(out, "supply/Ipf", s.Ipf)
	out = assumedOf(out, "supply/maximum demand", s.Demand)
	for _, e := range j.Electrodes {
		out = assumedOf(out, works.Under("electrodes", e.Name)+"/resistance", e.Resistance)
	}
	out = append(out, j.Marked...)
	beside := func(path string, how quantity.Maybe[trade.HowKnown], known bool, value string) {
		if how.Or("") == trade.Assumed && known && !marked(j.Marked, path) {
			out = append(out, Assumption{Path: path, Value: value})
		}
	}
	for _, l := range j.Loads {
		at := works.Under("loads", l.Name)
		beside(at+"/current", l.KnownBy, l.Current.IsKnown(), l.Current.String())
		beside(at+"/power", l.KnownBy, l.Power.IsKnown(), l.Power.String())
	}
	for _, c := range j.Circuits {
		for _, l := range c.Legs {
			beside(works.Under(works.Under("circuits", c.Name)+"/legs", l.Name)+"/length", l.LengthKnown, l.Length.IsKnown(), l.Length.String())
		}
	}
	return out
}

func assumedOf[Q any](out []Assumption, path string, q works.Stated[Q]) []Assumption {
	if q.KnownBy.Or("") == trade.Assumed && q.Value.IsKnown() {
		out = append(out, Assumption{Path: path, Value: q.Value.String(), Reason: q.Reason})
	}
	return out
}

func marked(all []Assumption, path string) bool {
	return slices.ContainsFunc(all, func(a Assumption) bool { return a.Path == path })
}

// IsAssumed reports that the fact at a path is assumed.
func (j *Job) IsAssumed(path string) bool {
	around := Job{Supply: j.Supply, Electrodes: j.Electrodes, Marked: j.Marked} // it is asked of every leg: only its own circuit is looked at
	names := works.NamesOf(path)
	for _, l := range j.Loads {
		if len(names) > 1 && l.Name == names[1] {
			around.Loads = append(around.Loads, l)
		}
	}
	for _, c := range j.Circuits {
		if len(names) > 1 && c.Name == names[1] {
			around.Circuits = append(around.Circuits, c)
		}
	}
	return marked(around.Assumed(), path)
}

// knownBy is the field beside a fact that says how it is known; empty for none.
func knownBy(path string) string {
	up, name := split(path)
	s := PartAt(up)
	if s == nil {
		return ""
	}
	for _, beside := range []string{name + " known by", "known by"} {
		if s.Named(beside) != nil {
			return works.Under(up, beside)
		}
	}
	return ""
}

// Seen returns the entries of someone who looked, and found a fact to be as it
// is assumed to be. A fact that says how it is known cannot be seen: it is
// measured, declared or calculated, and has none.
func (r *Record) Seen(path string) []Entry {
	f := FieldAt(path)
	if f == nil || f.Stated() || !f.Assumable() {
		return nil
	}
	var out []Entry
	if value, _, assumed := splitAssumed(r.Now(path).Value); assumed {
		out = append(out, Entry{Path: path, Value: value, Follows: r.Shown(path)})
	}
	if at := knownBy(path); at != "" && r.Now(at).Value == string(trade.Assumed) {
		out = append(out, Entry{Path: at, Follows: r.Shown(at)})
	}
	return out
}

// Without returns the job as it would be if nothing were known at some paths.
func (j *Job) Without(paths ...string) *Job {
	out := *j
	for _, path := range paths {
		if path == "edition" { // the one in force stands in for it
			out.EditionStated = false
			continue
		}
		forget(jobShape, reflect.ValueOf(&out).Elem(), works.NamesOf(path))
	}
	out.Marked = slices.DeleteFunc(slices.Clone(j.Marked), func(a Assumption) bool { return slices.Contains(paths, a.Path) })
	return &out
}

// forget empties the field that names lead to, and leaves lists that others
// hold as they are.
func forget(s *Part, v reflect.Value, names []string) {
	f := s.Named(names[0])
	switch {
	case f == nil:
	case len(names) == 1:
		f.value(v).SetZero()
	case f.form == recordForm:
		forget(f.Of, f.value(v), names[1:])
	case f.form == listForm && f.Of.Key != nil && len(names) > 2:
		was := f.value(v)
		items := reflect.MakeSlice(was.Type(), was.Len(), was.Len())
		reflect.Copy(items, was)
		was.Set(items)
		for i := range items.Len() {
			if f.Of.Key.value(items.Index(i)).String() == names[1] {
				forget(f.Of, items.Index(i), names[2:])
			}
		}
	}
}

// markAssumed writes the marks into a tree made from a job's values.
func markAssumed(root *node, all []Assumption) {
	for _, a := range all {
		n, s := root, jobShape
		names := works.NamesOf(a.Path)
		for i := 0; i < len(names) && n != nil && s != nil; i++ {
			f := s.Named(names[i])
			p := n.get(f)
			if p == nil && i == len(names)-1 { // no, where nothing is written otherwise
				n.fields = append(n.fields, pair{key: f.Name, value: &node{kind: scalar, text: a.Value}})
				p = n.get(f)
			}
			if p == nil {
				break
			}
			n = p.value
			if f.form == listForm && i+1 < len(names) {
				i++
				k := itemAt(n, f, names[i])
				if k < 0 {
					break
				}
				n = n.items[k]
			}
			if i == len(names)-1 && n.kind == scalar {
				n.text = Assumption{Value: n.text, Reason: a.Reason}.String()
			}
			s = f.Of
		}
	}
}

// path is the place as a path of the record.
func (w *where) path() string {
	if w == nil {
		return ""
	}
	at := works.Under(w.up.path(), w.field.Name)
	if w.item == 0 {
		return at
	}
	name := w.name()
	if name == "" {
		name = fmt.Sprint(w.item)
	}
	return works.Under(at, name)
}
