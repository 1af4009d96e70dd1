// Package begin is how a job begins: from an empty file, from a template, or as
// the last job was.
//
// A template is facts in a table, which a firm can add to. What it says is
// assumed until somebody has seen it: it may carry a verdict, with those words,
// and never a certificate.
package begin

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"chargewright/job"
	"chargewright/sheet"
	"chargewright/standard"
	"chargewright/works"
)

//go:embed templates.csv
var builtIn string

// Template is what a job may begin from.
type Template struct {
	Name   string
	Says   string // what it is for, in a line
	Ask    string // path of what is asked first; HowMany where it is how many points
	Points int    // how many it has, where that can be said; 0 where it cannot
	facts  []fact
}

// HowMany is asked in place of a path: how many points there are.
const HowMany = "points"

// MostPoints is how many points a template takes.
const MostPoints = 60

// fact is one fact of a template.
type fact struct{ path, value, because string }

// BuiltIn returns the templates of the program, in the order of their table.
func BuiltIn() ([]Template, error) { return Read("templates.csv", builtIn, nil) }

// row is a row of a table of templates.
type row struct {
	Template string `col:"template,key"`
	Path     string `col:"path,key"`
	Value    string `col:"value"`
	Because  string `col:"because"`
}

// Read returns the templates of a table beside those there are already; one of
// the same name takes the other's place. An error is sheet.Faults.
func Read(file, text string, there []Template) ([]Template, error) {
	out := slices.Clone(there)
	own := map[string]bool{}
	find := func(name string) int {
		return slices.IndexFunc(out, func(t Template) bool { return strings.EqualFold(t.Name, name) })
	}
	_, err := sheet.Rows(file, text, func(r *row, at sheet.Row) {
		i := find(r.Template)
		switch {
		case i < 0:
			out, i = append(out, Template{Name: r.Template}), len(out)
		case !own[r.Template]:
			out[i] = Template{Name: r.Template}
		}
		own[r.Template] = true
		t := &out[i]
		switch r.Path {
		case "says":
			t.Says = r.Value
		case "ask":
			t.Ask = r.Value
		case "points":
			n, err := strconv.Atoi(r.Value)
			if err != nil || n < 1 || n > MostPoints {
				at.Fault("value", r.Value, fmt.Sprintf("a number of points from 1 to %d is wanted", MostPoints))
			}
			t.Points = n
		case "like":
			k := find(r.Value)
			if k < 0 || k == i {
				at.Fault("value", r.Value, "no template of that name stands above")
				return
			}
			from := out[k]
			t.facts = append(slices.Clone(from.facts), t.facts...)
			t.Says, t.Ask, t.Points = orElse(t.Says, from.Says), orElse(t.Ask, from.Ask), max(t.Points, from.Points)
		default:
			if wrong := t.take(fact{r.Path, r.Value, r.Because}); wrong != "" {
				at.Fault("path", r.Path, wrong)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var faults sheet.Faults
	for _, t := range out {
		if !own[t.Name] || t.Says == "" { // what says nothing is only there for others to go on from
			continue
		}
		_, err := job.NewRecord(t.Entries("a job", "", t.Points, nil, nil)...).Job(file)
		problems, _ := err.(job.Problems)
		for _, p := range problems {
			if !p.Unfinished() {
				faults = append(faults, sheet.Fault{File: file, Field: t.Name + ": " + p.Field, Found: p.Found, Want: p.Want})
			}
		}
	}
	return out, faults.Err()
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

// take puts a fact in the place of one at its path, or takes away what is there;
// it says what is wrong with one that can stand in no template.
func (t *Template) take(f fact) (wrong string) {
	if part, whole := strings.CutSuffix(f.path, "/"); whole {
		t.facts = slices.DeleteFunc(t.facts, func(have fact) bool { return works.Within(have.path, part) })
		return ""
	}
	field := job.FieldAt(strings.ReplaceAll(f.path, "*", "1"))
	if field == nil || !field.Assumable() {
		return "no fact of a job that may be assumed stands there"
	}
	i := slices.IndexFunc(t.facts, func(have fact) bool { return have.path == f.path })
	switch {
	case i >= 0 && f.value == "":
		t.facts = slices.Delete(t.facts, i, i+1)
	case i >= 0:
		t.facts[i] = f
	case f.value != "":
		t.facts = append(t.facts, f)
	}
	return ""
}

// Value is what the template takes at a path; of several like, the path of one.
func (t Template) Value(path string) string {
	for n := 1; n <= max(t.Points, 1); n++ {
		for _, f := range t.facts {
			if strings.ReplaceAll(f.path, "*", strconv.Itoa(n)) == path {
				return numbered(f.value, n)
			}
		}
	}
	return ""
}

// Offered returns the templates that a person chooses from.
func Offered(all []Template) []Template {
	return slices.DeleteFunc(slices.Clone(all), func(t Template) bool { return t.Says == "" })
}

// Named returns the template of that name, its words joined by spaces or hyphens.
func Named(all []Template, name string) (Template, bool) {
	plain := func(s string) string { return strings.ToLower(strings.ReplaceAll(strings.TrimSpace(s), "-", " ")) }
	for _, t := range Offered(all) {
		if plain(t.Name) == plain(name) {
			return t, true
		}
	}
	return Template{}, false
}

// named is the fields that say what a part hangs on: choosing a template says
// it, and nobody need look.
var named = []string{"fed from", "from", "to", "board", "at", "electrode", "existing"}

// Entries returns the job as a template has it on a day, like 2026-11-25, for so
// many points. What was said is entered as said; what is usual here takes the
// place of what the template takes, and is assumed as that is.
func (t Template) Entries(name, day string, points int, said map[string]string, usual []Usual) []job.Entry {
	out := []job.Entry{{Path: "job", Value: name}, {Path: "stage", Value: "survey"}}
	for _, f := range []job.Assumption{{Path: "site/visited", Value: day, Reason: "the day the job was begun"},
		{Path: "edition", Value: string(standard.DefaultEdition()), Reason: "in force for new work"}} {
		if f.Value != "" {
			out = append(out, job.Entry{Path: f.Path, Value: f.String()})
		}
	}
	places := map[string]int{}
	put := func(f fact) {
		at := ""
		s := job.PartAt("")
		for names := works.NamesOf(f.path); len(names) > 1 && s != nil; names = names[1:] {
			of := s.Named(names[0])
			at = works.Under(at, names[0])
			if of.List() {
				names = names[1:]
				item := works.Under(at, names[0])
				if places[item] == 0 {
					places[at]++
					places[item] = places[at]
					out = append(out, job.Entry{Path: item, Value: strconv.Itoa(places[at])})
				}
				at = item
			}
			s = of.Of
		}
		_, last, _ := cutLast(f.path)
		value := t.assumes(f)
		if text, is := said[f.path]; is && text != "" {
			value = text
		} else if u, is := usualAt(usual, f.path); is {
			value = job.Assumption{Value: u.Value, Reason: "as in " + u.In}.String()
		} else if slices.Contains(named, last) {
			value = f.value
		}
		out = append(out, job.Entry{Path: f.path, Value: value})
	}
	many := func(f fact) bool { return strings.Contains(f.path, "*") }
	for _, f := range t.facts {
		if !many(f) {
			put(f)
		}
	}
	for n := 1; n <= points; n++ {
		for _, f := range t.facts {
			if many(f) {
				put(fact{strings.ReplaceAll(f.path, "*", strconv.Itoa(n)), numbered(f.value, n), f.because})
			}
		}
	}
	return out
}

// assumes is a fact of the template as it is entered.
func (t Template) assumes(f fact) string {
	reason := t.Name
	if f.because != "" {
		reason += ": " + f.because
	}
	return job.Assumption{Value: f.value, Reason: reason}.String()
}

// numbered is a value of the nth of several.
func numbered(value string, n int) string {
	if value == "L*" {
		return "L" + strconv.Itoa((n-1)%3+1)
	}
	return strings.ReplaceAll(value, "*", strconv.Itoa(n))
}

func cutLast(path string) (up, last string, ok bool) {
	i := strings.LastIndexByte(path, '/')
	return path[:max(i, 0)], path[i+1:], i >= 0
}
