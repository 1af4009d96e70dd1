package web

// One fact: what it is now, how it came to be so, and a form to enter it.

import (
	"errors"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// factPage is a fact with what is typed in its form.
type factPage struct {
	Frame
	Path    string
	Field   *job.Field
	Label   string
	Of      string // the sheet it belongs to
	Onward  string // where the form leads, if not to the sheet
	Now     job.Entry
	Differ  []job.Entry
	Before  []job.Entry
	Follows string
	Wanted  string // how it is to be written
	Keypad  bool
	Units   []string

	Value, Unit, KnownBy, Reason string
	Assumed                      bool     // nobody has seen it yet
	Choices                      []string // names that are in the job, of a field that names something
	Instruments                  []string
	Problems                     []string
	Ready                        []ready
}

func (s *Server) fact(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p, err := s.factPage(r, o, r.URL.Query().Get("path"))
	if err != nil {
		return err
	}
	p.Onward = r.URL.Query().Get("next")
	return render(w, http.StatusOK, "fact.html", p)
}

func (s *Server) factPage(r *http.Request, o *opened, path string) (*factPage, error) {
	f := job.FieldAt(path)
	if f == nil || !f.Single() || !o.Record.Has(above(path)) && above(path) != "" {
		return nil, notInJob
	}
	p := &factPage{Frame: o.frame(s, r, capital(spoken(path)), "drawing"), Path: path, Field: f, Label: spoken(path), Of: sheetOfPath(path),
		Now: o.Record.Now(path), Differ: o.Record.Differ(path), Follows: o.Record.Shown(path), Keypad: f.Kind == job.Quantity || f.Kind == job.Number}
	p.Before = slices.Clone(o.Record.Made(path))
	slices.Reverse(p.Before)
	p.Value, p.KnownBy, p.Reason = f.Apart(p.Now.Value)
	p.Assumed = p.KnownBy == string(trade.Assumed)
	if f.Kind == job.Quantity {
		p.Wanted, p.Units = f.Wanted, f.Units
		p.Value, p.Unit = withoutUnit(p.Value, p.Units)
	}
	for _, i := range o.Job.Instruments {
		p.Instruments = append(p.Instruments, i.Name)
	}
	p.Choices = o.namesFor(path)
	p.Ready = o.ready(path, f, s.Now())
	return p, nil
}

// namesFor returns the names that a field may hold, of those that name another
// part of the job.
func (o *opened) namesFor(path string) []string {
	lists, besides := o.listsFor(path)
	for _, l := range lists {
		besides = append(besides, o.Record.Items(l)...)
	}
	return besides
}

// listsFor returns the lists whose items a field may name, and what it may say
// besides.
func (o *opened) listsFor(path string) (lists, besides []string) {
	all := works.NamesOf(path)
	switch all[0] + "/" + all[len(all)-1] {
	case "circuits/from", "loads/board", "sources/board":
		return []string{"boards"}, nil
	case "circuits/to":
		return []string{"points", "boards", "loads", "sources"}, nil
	case "sources/on circuit":
		return []string{"circuits"}, nil
	case "sources/charged as":
		return []string{"loads"}, []string{"none"}
	case "boards/fed from":
		return nil, []string{"supply"}
	case "circuits/shared RCD":
		for _, b := range o.Record.Items("boards") {
			lists = append(lists, works.Under("boards", b)+"/RCDs")
		}
		return lists, []string{"none"}
	case "runs/point", "sources/through point":
		return []string{"points"}, nil
	case "points/limiter":
		return []string{"limiters"}, []string{"none"}
	case "limiters/at":
		return []string{"boards"}, []string{"supply"}
	case "points/electrode", "supply/electrode", "sources/electrode":
		return []string{"electrodes"}, nil
	case "certificate/name", "judgements/who", "inspections/who", "departures/who":
		return []string{"people"}, nil
	case "readings/at", "limitations/at":
		return []string{"boards", "circuits", "points", "electrodes"}, []string{"supply"}
	case "readings/instrument":
		return []string{"instruments"}, nil
	case "photos/of":
		for _, e := range o.elements() {
			besides = append(besides, noteAbout(e.Of))
		}
	}
	return nil, besides
}

// sheetOfPath returns the sheet that a fact stands on.
func sheetOfPath(path string) string {
	all := works.NamesOf(path)
	if all[0] == "supply" && len(all) > 1 {
		for _, p := range supplyParts {
			if slices.Contains(p.fields, all[1]) {
				if f := job.PartAt("supply").Named(all[1]); f.List() {
					return above(path)
				}
				return p.of
			}
		}
	}
	// The nearest item it lies in.
	at, item := "", ""
	s := job.PartAt("")
	for i := 0; i < len(all) && s != nil; i++ {
		f := s.Named(all[i])
		if f == nil {
			break
		}
		at = works.Under(at, all[i])
		if f.List() && i+1 < len(all) {
			i++
			at = works.Under(at, all[i])
			item = at
		}
		s = f.Of
	}
	return item
}

var leadingNumber = regexp.MustCompile(`^[<>≤≥ ]*[-+−]?[0-9]*[.,]?[0-9]+ *`)

// withoutUnit takes one of the units off a value.
func withoutUnit(value string, units []string) (number, unit string) {
	for _, u := range units {
		if rest, ok := strings.CutSuffix(value, u); ok && leadingNumber.FindString(rest) == rest {
			return strings.TrimSpace(rest), u
		}
	}
	if len(units) > 0 {
		unit = units[0]
	}
	return value, unit
}

// withUnit puts a unit after a bare number.
func withUnit(value, unit string) string {
	value = strings.TrimSpace(value)
	if number := leadingNumber.FindString(value); strings.Contains(number, ",") { // a comma is a decimal point in a number, and nowhere else
		value = strings.Replace(number, ",", ".", 1) + value[len(number):]
	}
	if value != "" && unit != "" && leadingNumber.FindString(value) == value {
		return value + " " + unit
	}
	return value
}

// together writes a value with how it is known.
func together(text, known, reason string) string {
	if text == "" || known == "" && reason == "" {
		return text
	}
	if reason != "" {
		known += ", " + reason
	}
	return text + " (" + known + ")"
}

func (s *Server) enterFact(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	path := r.PostFormValue("path")
	p, err := s.factPage(r, o, path)
	if err != nil {
		return err
	}
	p.Value, p.Unit = strings.TrimSpace(r.PostFormValue("value")), r.PostFormValue("unit")
	p.KnownBy, p.Reason = r.PostFormValue("known"), strings.TrimSpace(r.PostFormValue("reason"))
	if pick := r.PostFormValue("pick"); pick != "" && (p.Value == "" || p.Value == p.Now.Value) {
		p.Value = pick // a name of the job was tapped, and no script wrote it down
	}
	value := p.Value
	if f := p.Field; f.Kind == job.Quantity {
		value = withUnit(value, p.Unit)
	}
	if p.Field.Stated() {
		value = together(value, p.KnownBy, p.Reason)
	}
	if r.PostFormValue("clear") != "" {
		value = ""
	}
	next := sheetURL(o.ID, p.Of)
	if p.Onward = r.PostFormValue("next"); p.Onward != "" {
		next = o.onward(p.Onward)
	}
	if value == p.Now.Value && p.Differ == nil {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return nil
	}
	what := p.Label + ": " + value
	if value == "" {
		what = p.Label + " is not known"
	}
	err = s.enter(w, r, o, s.act(r, o.ID, what, o.entry(r, path, value)), next)
	var ps job.Problems
	if errors.As(err, &ps) { // the form again, with what was typed
		p.Follows, p.Form = r.PostFormValue("follows"), r.PostFormValue("act")
		for _, one := range ps {
			p.Problems = append(p.Problems, one.Error())
		}
		return render(w, http.StatusUnprocessableEntity, "fact.html", p)
	}
	return err
}

func whole(n int) string { return strconv.Itoa(n) }
