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
	"chargewright/reading"
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
		out[i] = o.test(e)
	}
	return out
}

func (o *opened) test(e prove.Expectation) test {
	return test{e, readingURL(o.ID, e), drawing.BandPicture(e).Description}
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
		Frame
		Places []*placeOfTests
		First  *test
		Taken  int
		All    int
		Names  []string // of every reading the program knows
		At     []string // where one may be taken
	}{o.frame(s, r, "Readings", "readings"), places, first, taken, len(o.Expected), reading.Names(), prove.Places(o.Model)})
}

// readingPage is the entry of one reading.
type readingPage struct {
	Frame
	Test        test
	Judged      judged
	Units       []string
	Nulls       bool // its leads are to be nulled first
	Value       string
	Unit        string
	Function    string
	Nulled      string
	Temperature string
	Note        string
	Before      []job.Reading
	Previous    *test
	Next        *test

	Instruments []string
	Instrument  string
	Problems    []string
}

func (s *Server) readingPage(r *http.Request, o *opened, at, reading string) (*readingPage, error) {
	tests := o.tests()
	i := slices.IndexFunc(tests, func(t test) bool { return t.At == at && t.Reading == reading })
	e, err := o.expected(at, reading)
	if err != nil {
		return nil, err
	}
	p := &readingPage{Frame: o.frame(s, r, capital(e.Reading)+" at "+e.At, "readings"), Test: o.test(e)}
	p.Units, p.Unit = unitsFor(e)
	p.Nulls = e.Kind().Class == "low ohm"
	if p.Judged, err = o.judge(e, e.Taken, true); err != nil {
		return nil, err
	}
	if i > 0 {
		p.Previous = &tests[i-1]
	}
	if i >= 0 && i+1 < len(tests) {
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

// expected is what is expected of a reading: one of the test sequence, or
// another that is suggested or wanted.
func (o *opened) expected(at, reading string) (prove.Expectation, error) {
	for _, e := range o.Expected {
		if e.At == at && e.Reading == reading {
			return e, nil
		}
	}
	e, err := prove.ExpectOne(o.Model, reading, at)
	if err != nil {
		return e, Refuse(http.StatusNotFound, "%s.", capital(err.Error()))
	}
	return e, nil
}

// unitsFor returns the units of a reading's keypad, the likeliest first.
func unitsFor(e prove.Expectation) (units []string, first string) {
	k := e.Kind()
	if k.Seen() {
		return nil, ""
	}
	return quantity.Units("1 " + k.Measure.Unit()), k.Bare
}

func (s *Server) reading(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	p, err := s.readingPage(r, o, q.Get("at"), q.Get("reading"))
	if err != nil {
		return err
	}
	p.Function = q.Get("function")
	return render(w, http.StatusOK, "reading.html", p)
}

// judgeReading answers what a reading says before it is entered.
func (s *Server) judgeReading(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	e, err := o.expected(q.Get("at"), q.Get("reading"))
	if err != nil {
		return err
	}
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

// readable returns a reading as it is written down, or what is wrong with it.
func readable(value, unit string, e prove.Expectation) (text, wrong string) {
	text = withUnit(value, unit)
	if strings.TrimLeft(text, "<>≤≥ ") == "" {
		return "", "Key in what the instrument shows."
	}
	k := e.Kind()
	if _, err := k.Parse(text); err != nil {
		return text, err.Error()
	}
	return k.Written(text), ""
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
	f := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	p.Value, p.Unit, p.Function, p.Nulled, p.Temperature, p.Note, p.Instrument = r.PostFormValue("value"), f("unit"), f("function"), f("nulled"),
		f("temperature"), f("note"), f("instrument")
	a, wrong := s.readingAct(r, o, taken{at: at, reading: reading, value: withUnit(p.Value, p.Unit), function: p.Function, instrument: p.Instrument,
		nulled: p.Nulled, temperature: withUnit(p.Temperature, "°C"), note: p.Note})
	if wrong != "" {
		p.Problems = []string{wrong}
		return render(w, http.StatusUnprocessableEntity, "reading.html", p)
	}
	if err := o.try(a.Entries); err != nil {
		_, p.Problems = explain(err)
		return render(w, http.StatusUnprocessableEntity, "reading.html", p)
	}
	return s.enter(w, r, o, a, readingURL(o.ID, p.Test.Expectation))
}

// taken is a reading as it is entered, each field as it is written.
type taken struct{ at, reading, value, function, instrument, nulled, temperature, note, who, when string }

// readingAct is a reading as an act, or what is wrong with it.
func (s *Server) readingAct(r *http.Request, o *opened, in taken) (store.Act, string) {
	e, err := o.expected(in.at, in.reading)
	if err != nil {
		return store.Act{}, err.Error()
	}
	value, wrong := readable(in.value, "", e)
	if wrong != "" {
		return store.Act{}, wrong
	}
	in.at, in.reading, in.value = e.At, e.Reading, value
	a := s.act(r, o.ID, e.Reading+" at "+e.At+": "+value)
	a.Entries = in.entries(job.Under("readings", a.ID), len(o.Record.Items("readings"))+1)
	return a.Stamped(), ""
}

// entries is a reading as entries under the path of its item.
func (in taken) entries(item string, place int) []job.Entry {
	out := []job.Entry{{Path: item, Value: whole(place), Instrument: in.instrument}}
	for _, f := range []struct{ name, value string }{{"at", in.at}, {"reading", in.reading}, {"value", in.value}, {"function", in.function},
		{"leads nulled", in.nulled}, {"temperature", in.temperature}, {"note", in.note}, {"who", in.who}, {"when", in.when}} {
		if f.value != "" {
			out = append(out, job.Entry{Path: job.Under(item, f.name), Value: f.value, Instrument: in.instrument})
		}
	}
	return out
}
