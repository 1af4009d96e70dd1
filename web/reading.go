package web

// Readings: the test sequence, and the entry of one reading for a hand in a
// glove, with its band and what it says the moment it is keyed.

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/drawing"
	"chargewright/job"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/store"
)

// test is one reading to be taken, or taken.
type test struct {
	prove.Expectation
	URL  string
	Says string // the band in words
}

// tests lists the test sequence.
func (o *opened) tests() []test {
	out := make([]test, len(o.Expected))
	for i, e := range o.Expected {
		out[i] = test{e, readingURL(o.ID, e), drawing.BandPicture(e).Description}
	}
	return out
}

func readingURL(job string, e prove.Expectation) string {
	return "/jobs/" + job + "/reading?" + url.Values{"at": {e.At}, "reading": {e.Reading}}.Encode()
}

// placeOfTests is the tests of one stage at one place.
type placeOfTests struct {
	Stage, At string
	Tests     []test
	Left      int
}

func (s *Server) readings(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var places []*placeOfTests
	byKey := map[string]*placeOfTests{}
	var first *test
	taken := 0
	for _, t := range o.tests() {
		key := t.Stage + "\n" + t.At
		p := byKey[key]
		if p == nil {
			p = &placeOfTests{Stage: t.Stage, At: t.At}
			byKey[key] = p
			places = append(places, p)
		}
		p.Tests = append(p.Tests, t)
		if t.Taken != "" {
			taken++
			continue
		}
		p.Left++
		if first == nil {
			first = &t
		}
	}
	return render(w, http.StatusOK, "readings.html", struct {
		frame
		Places []*placeOfTests
		First  *test
		Taken  int
		All    int
	}{o.frame(s, r, "Readings", "readings"), places, first, taken, len(o.Expected)})
}

// readingPage is the entry of one reading.
type readingPage struct {
	frame
	Test     test
	Judged   judged
	Units    []string
	Value    string
	Unit     string
	Note     string
	Before   []job.Reading
	Previous *test
	Next     *test

	Instruments []string
	Instrument  string
	Problems    []string
}

func (s *Server) readingPage(r *http.Request, o *opened, at, reading string) (*readingPage, error) {
	tests := o.tests()
	for i := range tests {
		t := &tests[i]
		if t.At != at || t.Reading != reading {
			continue
		}
		p := &readingPage{frame: o.frame(s, r, capital(t.Reading)+" at "+t.At, "readings"), Test: *t}
		p.Units, p.Unit = unitsFor(t.Expectation)
		var err error
		if p.Judged, err = o.judge(t.Expectation, t.Taken, true); err != nil {
			return nil, err
		}
		if i > 0 {
			p.Previous = &tests[i-1]
		}
		if i+1 < len(tests) {
			p.Next = &tests[i+1]
		}
		for _, one := range o.Job.Readings {
			if one.At == at && one.Reading == reading {
				p.Before = append(p.Before, one)
			}
		}
		for _, i := range o.Job.Instruments {
			p.Instruments = append(p.Instruments, i.Name)
		}
		if n := len(o.Job.Readings); n > 0 { // most likely still in hand
			p.Instrument = o.Job.Readings[n-1].Instrument
		}
		return p, nil
	}
	return nil, notInJob
}

// unitsFor returns the units of a reading's keypad, the likeliest first.
func unitsFor(e prove.Expectation) (units []string, first string) {
	unit := e.Unit()
	if unit == "" {
		return nil, ""
	}
	units = unitsOf("1 " + unit)
	first = units[0]
	switch {
	case strings.HasPrefix(e.Reading, "insulation"):
		first = "MΩ"
	case unit == "s":
		first = "ms"
	case unit == "A" && strings.Contains(e.Reading, "d.c."):
		first = "mA"
	case unit == "A" && e.Reading == "Ipf":
		first = "kA"
	}
	return units, first
}

func (s *Server) reading(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p, err := s.readingPage(r, o, r.URL.Query().Get("at"), r.URL.Query().Get("reading"))
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "reading.html", p)
}

// judgeReading answers what a reading says before it is entered.
func (s *Server) judgeReading(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	for _, e := range o.Expected {
		if e.At == q.Get("at") && e.Reading == q.Get("reading") {
			value, wrong := readable(q.Get("value"), q.Get("unit"), e)
			if wrong != "" { // not a whole number yet: nothing is drawn of it
				value = ""
			}
			said, err := o.judge(e, value, q.Has("why"))
			if err != nil {
				return err
			}
			if said.Explain != nil {
				return renderPart(w, http.StatusOK, "judged.html", "explained", said.Explain)
			}
			return renderPart(w, http.StatusOK, "judged.html", "judged", said)
		}
	}
	return notInJob
}

// readable returns a reading as it is written down, or what is wrong with it.
func readable(value, unit string, e prove.Expectation) (text, wrong string) {
	text = withUnit(value, unit)
	number := strings.TrimLeft(text, "<>≤≥ ")
	if number == "" {
		return "", "Key in what the instrument shows."
	}
	var err error
	switch e.Unit() {
	case "Ω":
		_, err = quantity.ParseOhms(number)
	case "A":
		_, err = quantity.ParseAmperes(number)
	case "V":
		_, err = quantity.ParseVolts(number)
	case "s":
		_, err = quantity.ParseSeconds(number)
	case "%":
		_, err = quantity.ParsePercent(number)
	}
	if err != nil {
		return text, err.Error()
	}
	return text, ""
}

func (s *Server) enterReading(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	at, reading := r.PostFormValue("at"), r.PostFormValue("reading")
	p, err := s.readingPage(r, o, at, reading)
	if err != nil {
		return err
	}
	f := r.PostFormValue
	a, wrong := s.readingAct(r, o, at, reading, withUnit(f("value"), f("unit")), f("instrument"), f("function"), f("note"))
	if wrong != "" {
		p.Value, p.Unit, p.Note, p.Problems = r.PostFormValue("value"), r.PostFormValue("unit"), r.PostFormValue("note"), []string{wrong}
		p.Instrument = r.PostFormValue("instrument")
		return render(w, http.StatusUnprocessableEntity, "reading.html", p)
	}
	return s.enter(w, r, o, a, readingURL(o.ID, p.Test.Expectation))
}

// readingAct is a reading as an act, or what is wrong with it.
func (s *Server) readingAct(r *http.Request, o *opened, at, reading, value, instrument, function, note string) (store.Act, string) {
	i := slices.IndexFunc(o.Expected, func(e prove.Expectation) bool { return e.At == at && e.Reading == reading })
	if i < 0 {
		return store.Act{}, "No reading of that name is taken at that place."
	}
	value, wrong := readable(value, "", o.Expected[i])
	if wrong != "" {
		return store.Act{}, wrong
	}
	a := s.act(r, o.ID, reading+" at "+at+": "+value)
	item := job.Under("readings", a.ID)
	a.Entries = append(a.Entries, job.Entry{Path: item, Value: whole(len(o.facts().items("readings")) + 1), Instrument: instrument})
	for _, f := range []struct{ name, value string }{{"at", at}, {"reading", reading}, {"value", value},
		{"function", strings.TrimSpace(function)}, {"note", strings.TrimSpace(note)}} {
		if f.value != "" {
			a.Entries = append(a.Entries, job.Entry{Path: job.Under(item, f.name), Value: f.value, Instrument: instrument})
		}
	}
	return a.Stamped(), ""
}
