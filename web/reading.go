package web

// Readings: the test sequence, and the entry of one reading for a hand in a
// glove, with its band and what it says the moment it is keyed.

import (
	"cmp"
	"html/template"
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
	"chargewright/works"
)

// test is one reading to be taken, or taken.
type test struct {
	prove.Expectation
	URL  string
	Says string // the band in words
}

// tests lists the test sequence. What is read on an adaptor in place of a
// vehicle comes last: it is fetched once, and no certificate asks for it.
func (o *opened) tests() []test {
	out := make([]test, len(o.Expected))
	for i, e := range o.Expected {
		out[i] = o.test(e)
	}
	onAdaptor := func(t test) int {
		if class := t.Kind().Class; class == "pilot" || class == "duty" {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out, func(a, b test) int { return onAdaptor(a) - onAdaptor(b) })
	left := map[string]int{} // of a reading at points alike
	key := func(t test) string { return t.Reading + " " + strings.Join(o.alike()[t.At], ",") }
	for _, t := range out {
		if t.Taken == "" && o.alike()[t.At] != nil {
			left[key(t)]++
		}
	}
	for i, t := range out {
		if t.Taken == "" && left[key(t)] > 1 {
			out[i].URL = roundURL(o.ID, t)
		}
	}
	return out
}

// toRead is the first test that is not taken; nil where all are.
func (o *opened) toRead() *test {
	for _, t := range o.tests() {
		if t.Taken == "" {
			return &t
		}
	}
	return nil
}

// Small is its ruler; Figure and Unit are what was read.
func (t test) Small() template.HTML { return smallRuler(t.Expectation) }
func (t test) Fit() prove.Fit       { return t.Expectation.Fit(t.Taken) }
func (t test) Figure() string       { f, _ := figureAndUnit(t.Taken, ""); return f }
func (t test) Unit() string         { _, u := figureAndUnit(t.Taken, ""); return u }

func (o *opened) test(e prove.Expectation) test {
	return test{e, readingURL(o.ID, e), drawing.BandPicture(e).Description}
}

func readingURL(job string, e prove.Expectation) string {
	return "/jobs/" + job + "/reading?" + url.Values{"at": {e.At}, "reading": {e.Reading}}.Encode()
}

// stageOfTests is the tests of one stage, in the order they are made.
type stageOfTests struct {
	Stage, Caution string
	Tests          []test
}

// cautions is what must be so before the tests of a stage.
var cautions = map[string]string{
	"dead": "Isolate, lock off, prove the tester, prove dead, prove the tester again.",
	"live": "Only by a person trained for it, with shrouded probes.",
}

func (s *Server) readings(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var stages []*stageOfTests
	tests := o.tests()
	for _, t := range tests {
		if n := len(stages); n == 0 || stages[n-1].Stage != t.Stage {
			stages = append(stages, &stageOfTests{Stage: t.Stage, Caution: cautions[t.Stage]})
		}
		last := stages[len(stages)-1]
		last.Tests = append(last.Tests, t)
	}
	return render(w, http.StatusOK, "readings.html", struct {
		Frame
		Stages []*stageOfTests
		First  *test
		Names  []string // of every reading the program knows
		At     []string // where one may be taken
	}{o.frame(s, r, "Test", "test"), stages, o.toRead(), reading.Names(), prove.Places(o.Model)})
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
	Ways        []string // how its kind may be taken, the likeliest first
	AskWay      bool     // it says nothing without how it was taken: the test voltage
	Tester      tester   // the first one of the job, said with the reading
	Struck      []struckReading
	Before      []works.Reading
	Previous    *test
	Next        *test
	N           int    // its place in the sequence
	Entry       bool   // it is being keyed; not shown as it was taken
	Instead     string // the item that a reading taken again takes the place of
	Item        string // the item that holds it
	Tests       []test // the whole round, beside it on a desk
	How         string // address of the form of how it was taken
	Kept        string // why it is kept though it does not fit
	PhotoOf     string // the station that a photo of the tester's screen is of
	Caption     string // what is to be seen on it

	Instruments []string
	Instrument  string
	Calibrated  string
	Problems    []string
}

// tester is an instrument as it is said with the first reading it takes.
type tester struct{ Name, Kind, Serial, Until string }

// Kinds is what an instrument may be.
func (tester) Kinds() []string { return job.FieldAt("instruments/1/kind").Words }

// entries is the instrument in the list of a job; nothing where none is said.
func (t tester) entries() []job.Entry {
	if t.Name == "" {
		return nil
	}
	item := works.Under("instruments", t.Name)
	out := []job.Entry{{Path: item, Value: "1"}}
	for _, f := range []struct{ name, value string }{{"kind", t.Kind}, {"serial", t.Serial}, {"calibrated until", t.Until}} {
		if f.value != "" {
			out = append(out, job.Entry{Path: works.Under(item, f.name), Value: f.value})
		}
	}
	return out
}

// mostWays is how many ways of taking a reading have a key of their own.
const mostWays = 3

func (s *Server) readingPage(r *http.Request, o *opened, at, reading string) (*readingPage, error) {
	tests := o.tests()
	i := slices.IndexFunc(tests, func(t test) bool { return t.At == at && t.Reading == reading })
	e, err := o.expected(at, reading)
	if err != nil {
		return nil, err
	}
	p := &readingPage{Frame: o.frame(s, r, e.Reading+" at "+e.At, "test"), Test: o.test(e), N: i + 1}
	p.Body, p.Tests = "reading", tests
	p.Units, p.Unit = unitsFor(e)
	p.Nulls, p.AskWay = e.Kind().Class == "low ohm", e.Kind().Class == "insulation"
	p.Ways = e.Kind().WayWords()
	p.Ways = p.Ways[:min(len(p.Ways), mostWays)]
	if p.Judged, err = o.judge(e, e.Taken, e.Taken != ""); err != nil {
		return nil, err
	}
	if i > 0 {
		p.Previous = &tests[i-1]
	}
	p.Next = after(tests, i)
	for _, one := range o.Job.Readings {
		if one.At == at && one.Reading == reading {
			p.Before = append(p.Before, one)
		}
	}
	for _, r := range p.Rail {
		for _, st := range r.Stations {
			if slices.ContainsFunc(st.Tests, func(t test) bool { return t.At == at && t.Reading == reading }) {
				st.Here = true
				if p.PhotoOf = st.Of; st.Symbol == "cable" {
					p.PhotoOf = above(st.Of)
				}
			}
		}
	}
	if !o.pictured(p.PhotoOf) {
		p.PhotoOf = ""
	}
	p.Caption = strings.TrimSuffix(capital(reading)+" at "+at+": "+e.Taken, ": ")
	p.Struck, p.Item = o.struck(e), o.itemOf(e)
	p.Entry = e.Taken == "" || r.URL.Query().Has("again") || r.Method == http.MethodPost
	if p.Entry {
		p.Instead = p.Item
	}
	p.Kept = o.keptBecause(e)
	if !p.Entry && p.Item != "" {
		p.How = fillURL(o.ID, readingURL(o.ID, e), p.Item+"/function", p.Item+"/instrument", p.Item+"/leads nulled", p.Item+"/temperature")
	}
	if !p.Entry {
		p.Value = ""
	}
	for _, i := range o.Job.Instruments {
		p.Instruments = append(p.Instruments, i.Name)
	}
	p.round(o, e)
	return p, nil
}

// after is the next test that is not taken, after one and round from the start.
func after(tests []test, i int) *test {
	for k := 1; k < len(tests); k++ {
		if t := &tests[(i+k+len(tests))%len(tests)]; t.Taken == "" {
			return t
		}
	}
	return nil
}

// round fills in what is the same for a whole round of tests: what was said
// with the last reading of the day, or the only instrument there is.
func (p *readingPage) round(o *opened, e prove.Expectation) {
	if len(p.Instruments) == 1 {
		p.Instrument = p.Instruments[0]
	}
	for i := len(o.Job.Readings) - 1; i >= 0; i-- {
		one := &o.Job.Readings[i]
		k := one.Kind()
		if k == nil {
			continue
		}
		if p.Instrument == "" || len(p.Instruments) > 1 && i == len(o.Job.Readings)-1 {
			p.Instrument = cmp.Or(one.Instrument, p.Instrument)
		}
		if n, ok := one.LeadsNulled.Get(); ok && p.Nulls && p.Nulled == "" && k.Class == e.Kind().Class {
			p.Nulled = map[bool]string{true: "yes", false: "no"}[n]
		}
		if t, ok := one.Temperature.Get(); ok && p.Temperature == "" {
			p.Temperature, _ = figureAndUnit(t.String(), "")
		}
		if p.Function == "" && (k == e.Kind() || p.AskWay && k.Class == e.Kind().Class) {
			p.Function = one.Function
		}
	}
	for _, i := range o.Job.Instruments {
		if i.Name == p.Instrument {
			p.Calibrated = i.CalibratedUntil
		}
	}
}

// struckReading is a reading that was taken again, and counts no more.
type struckReading struct {
	Value, When string
}

// struck is the readings of a kind at a place that are in the record no more.
func (o *opened) struck(e prove.Expectation) []struckReading {
	said := map[string]map[string]string{}
	var order []string
	when := map[string]string{}
	for _, a := range o.Acts {
		for _, entry := range a.Entries {
			item := above(entry.Path)
			if above(item) != "readings" || entry.Value == "" {
				continue
			}
			if said[item] == nil {
				said[item] = map[string]string{}
				order = append(order, item)
			}
			said[item][last(entry.Path)], when[item] = entry.Value, a.When
		}
	}
	var out []struckReading
	for _, item := range order {
		if f := said[item]; f["at"] == e.At && f["reading"] == e.Reading && !o.Record.Has(item) {
			out = append(out, struckReading{f["value"], clock(when[item])})
		}
	}
	return out
}

// struckNumbers is the same as numbers of its kind.
func (o *opened) struckNumbers(e prove.Expectation) []float64 {
	var out []float64
	for _, was := range o.struck(e) {
		if v, err := e.Kind().Parse(was.Value); err == nil && v.HasAmount() {
			out = append(out, v.Amount)
		}
	}
	return out
}

// itemOf is the item of the record that holds the reading that counts.
func (o *opened) itemOf(e prove.Expectation) string {
	item := ""
	for _, name := range o.Record.Items("readings") {
		path := works.Under("readings", name)
		if o.Record.Now(path+"/at").Value == e.At && o.Record.Now(path+"/reading").Value == e.Reading {
			item = path
		}
	}
	return item
}

// keptBecause is why a reading is kept though it does not fit.
func (o *opened) keptBecause(e prove.Expectation) string {
	if item := o.itemOf(e); item != "" {
		return o.Record.Now(item + "/note").Value
	}
	return ""
}

// Expected says what is expected of a reading.
func (t test) Expected() string {
	switch low, high := numberOf(t.Low, t.High), t.High.String(); {
	case !t.Known():
		return "not known what to expect"
	case t.Low.IsZero() && t.High.IsZero():
		return ""
	case t.Low.IsZero():
		return "up to " + high
	case t.High.IsZero():
		return t.Low.String() + " and more"
	default:
		return low + " to " + high
	}
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
	p.Function = cmp.Or(q.Get("function"), p.Function)
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
	if q.Has("row") {
		return renderPart(w, http.StatusOK, "judged.html", "standing", said)
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
	in := p.said(r)
	in.at, in.reading, in.value = at, reading, withUnit(p.Value, p.Unit)
	instead := r.PostFormValue("instead")
	if instead != "" && instead != o.itemOf(p.Test.Expectation) {
		p.Problems = []string{"This reading was taken by somebody else in between. Look at it, then take it again."}
		return render(w, http.StatusConflict, "reading.html", p)
	}
	a, wrong := s.readingAct(r, o, in)
	if wrong != "" {
		p.Problems = []string{wrong}
		return render(w, http.StatusUnprocessableEntity, "reading.html", p)
	}
	if instead != "" {
		a.Entries = append(o.Record.TakenOut(instead), a.Entries...)
		a.What += ", read again"
		a = a.Stamped()
	}
	if with := p.Tester.entries(); with != nil {
		a.Entries = append(with, a.Entries...)
		a = a.Stamped()
	}
	if also := o.answered(p.Test.Expectation, a.Entries); also != nil {
		a.Entries = append(a.Entries, also...)
		a = a.Stamped()
	}
	if err := o.try(a.Entries); err != nil {
		_, p.Problems = explain(err)
		return render(w, http.StatusUnprocessableEntity, "reading.html", p)
	}
	value, _ := readable(withUnit(p.Value, p.Unit), "", p.Test.Expectation)
	said, err := o.judge(p.Test.Expectation, value, false)
	if err != nil {
		return err
	}
	next := "/jobs/" + o.ID
	switch {
	case said.Bad || p.N == 0:
		next = readingURL(o.ID, p.Test.Expectation)
	case p.Next != nil:
		next = p.Next.URL
	}
	return s.enter(w, r, o, a, next)
}

// said reads into the page what its form says beside the value, and returns it.
func (p *readingPage) said(r *http.Request) taken {
	f := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	p.Value, p.Unit, p.Function, p.Nulled, p.Temperature, p.Note, p.Instrument = r.PostFormValue("value"), f("unit"), f("function"), f("nulled"),
		f("temperature"), f("note"), f("instrument")
	if len(p.Instruments) == 0 {
		p.Tester = tester{strings.Join(strings.Fields(f("tester")), " "), f("tester kind"), f("tester serial"), f("tester until")}
		p.Instrument = p.Tester.Name
	}
	return taken{function: p.Function, instrument: p.Instrument, nulled: p.Nulled, temperature: withUnit(p.Temperature, "°C"), note: p.Note}
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
	a.Entries = in.entries(works.Under("readings", a.ID), len(o.Record.Items("readings"))+1)
	return a.Stamped(), ""
}

// entries is a reading as entries under the path of its item.
func (in taken) entries(item string, place int) []job.Entry {
	out := []job.Entry{{Path: item, Value: whole(place), Instrument: in.instrument}}
	for _, f := range []struct{ name, value string }{{"at", in.at}, {"reading", in.reading}, {"value", in.value}, {"function", in.function},
		{"leads nulled", in.nulled}, {"temperature", in.temperature}, {"note", in.note}, {"who", in.who}, {"when", in.when}} {
		if f.value != "" {
			out = append(out, job.Entry{Path: works.Under(item, f.name), Value: f.value, Instrument: in.instrument})
		}
	}
	return out
}
