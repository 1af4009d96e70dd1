package web

// A measurement of the control pilot held against IEC 61851-1 and the design,
// and kept in the record; and what a recorded OCPP log tells.

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/hear"
	"chargewright/job"
	"chargewright/meter"
	"chargewright/pilot"
	"chargewright/quantity"
	"chargewright/store"
	"chargewright/works"
)

// pilotStates are what a vehicle simulator can be set to.
var pilotStates = []string{"A", "B", "C", "D", "E", "F"}

// pilotForm is a measurement as it was typed.
type pilotForm struct {
	Point, State string
	Figures      []typed // high, low, duty, frequency, cable
	Levels       []typed // by state
	Steady       bool
	Slot         slot
}

var pilotFigures = []typed{{"high", "Positive level, V", ""}, {"low", "Negative peak, V, with its minus", ""}, {"duty", "Duty cycle, %", ""},
	{"frequency", "Frequency, Hz", ""}, {"cable", "Coding resistor of the plug, Ω; nothing for an attached cable", ""}}

// pilotFormOf takes a measurement from what was sent.
func pilotFormOf(o *opened, trace table, value func(string) string) pilotForm {
	f := pilotForm{Point: value("point"), State: value("state"), Steady: value("steady") != "", Figures: slices.Clone(pilotFigures),
		Slot: slot{Field: "trace", Label: "Oscilloscope trace (CSV)", Hint: "Time in s, voltage in V, 3 ms or more. Figures typed below stand over it."}}
	if f.Point == "" && len(o.Job.Points) > 0 {
		f.Point = o.Job.Points[0].Name
	}
	for i := range f.Figures {
		f.Figures[i].Value = strings.TrimSpace(value(f.Figures[i].Name))
	}
	for _, state := range pilotStates {
		f.Levels = append(f.Levels, typed{"level-" + state, "State " + state + ", V", strings.TrimSpace(value("level-" + state))})
	}
	if trace.Name != "" {
		f.Slot.Held = []table{trace}
	}
	return f
}

// judge holds what was measured against the standard and the design.
func (f pilotForm) judge(o *opened) ([]finding.Finding, error) {
	in, err := commission.IntentOf(o.Model, f.Point)
	if err != nil {
		return nil, Refuse(http.StatusUnprocessableEntity, "No charge point of the job is called %q.", f.Point)
	}
	figure := map[string]string{}
	for _, one := range f.Figures {
		figure[one.Name] = strings.ReplaceAll(one.Value, "−", "-")
	}
	t := pilot.Typed{State: f.State, High: withUnit(figure["high"], "V"), Low: withUnit(figure["low"], "V"), Duty: withUnit(figure["duty"], "%"),
		Cable: withUnit(figure["cable"], "Ω"), Steady: f.Steady, Levels: map[string]string{}}
	if f.State != "" && !slices.Contains(pilotStates, f.State) {
		return nil, Refuse(http.StatusUnprocessableEntity, "The simulator is set to %q: one of %s is wanted, or nothing.", f.State, strings.Join(pilotStates, ", "))
	}
	if text := figure["frequency"]; text != "" {
		hertz, err := figureOf("Frequency", strings.TrimSpace(strings.TrimSuffix(text, "Hz")), 0, 1e6)
		if err != nil {
			return nil, err
		}
		t.Frequency = quantity.Known(hertz)
	}
	for i, l := range f.Levels {
		if l.Value != "" {
			t.Levels[pilotStates[i]] = withUnit(strings.ReplaceAll(l.Value, "−", "-"), "V")
		}
	}
	var trace *pilot.Seen
	if file := f.Slot.one(); file.Name != "" {
		seen, err := pilot.ReadTrace(file.Name, file.text)
		if err != nil {
			return nil, wrong(err)
		}
		trace = &seen
	}
	found, err := commission.JudgePilot(in, t, trace, o.Model.Rules)
	var misread *pilot.TypedError
	switch {
	case errors.As(err, &misread):
		label := "Levels of the states"
		for _, one := range f.Figures {
			if one.Name == misread.Field {
				label, _, _ = strings.Cut(one.Label, ",")
			}
		}
		return nil, Refuse(http.StatusUnprocessableEntity, "%s: %v", label, misread.Err)
	case err != nil:
		return nil, wrong(err)
	}
	return found, nil
}

func (s *Server) pilot(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderPilot(w, r, o, pilotFormOf(o, table{}, r.FormValue), nil, nil)
}

// judgePilot answers a measurement with its verdicts. Nothing is stored.
func (s *Server) judgePilot(w http.ResponseWriter, r *http.Request) error {
	o, f, found, err := s.readPilot(r)
	if o == nil {
		return err
	}
	return s.renderPilot(w, r, o, f, found, err)
}

// readPilot reads and judges what was sent; there is no job where it could not
// be opened.
func (s *Server) readPilot(r *http.Request) (*opened, pilotForm, []finding.Finding, error) {
	o, err := s.open(r)
	if err != nil {
		return nil, pilotForm{}, nil, err
	}
	trace, err := tableOf(r, "trace") // first: it reads the form
	f := pilotFormOf(o, trace, r.PostFormValue)
	if err != nil {
		return o, f, nil, err
	}
	found, err := f.judge(o)
	return o, f, found, err
}

// keepPilot enters the outcome in the record, as one act.
func (s *Server) keepPilot(w http.ResponseWriter, r *http.Request) error {
	o, f, found, err := s.readPilot(r)
	if o == nil {
		return err
	}
	if err != nil {
		return s.renderPilot(w, r, o, f, nil, err)
	}
	a := s.act(r, o.ID, "control pilot of "+f.Point+": "+counted(len(found), "reading", "readings"))
	next := sheetURL(o.ID, works.Under("points", f.Point))
	if slices.ContainsFunc(o.Acts, func(known store.Act) bool { return known.ID == a.ID }) {
		return goOn(w, r, next, a.ID) // sent twice: it was done
	}
	a.Entries = job.Added("runs", a.ID, len(o.Record.Items("runs"))+1, commission.KeptPilot(f.Point, a.Who, s.Now(), found))
	return s.enter(w, r, o, a.Stamped(), next)
}

func (s *Server) renderPilot(w http.ResponseWriter, r *http.Request, o *opened, f pilotForm, found []finding.Finding, wrong error) error {
	status := http.StatusOK
	page := struct {
		Frame
		Entered          pilotForm
		Points           []string
		States           []string
		Problems         []string
		Rules            []finding.Finding
		Tests            []string
		Caution, OnOrder string
	}{Frame: o.frame(s, r, "Control pilot", "more"), Entered: f, States: pilotStates, Rules: found, Tests: pilot.SimulatorTests(o.Model.Rules),
		Caution: pilot.Caution, OnOrder: pilot.SimulatorCaution}
	for _, p := range o.Job.Points {
		page.Points = append(page.Points, p.Name)
	}
	if wrong != nil {
		if status, page.Problems = explain(wrong); status == http.StatusInternalServerError {
			return wrong
		}
	}
	return render(w, status, "pilot.html", page)
}

// whileRead reads for as long as somebody waits for what is made of it.
type whileRead struct {
	ctx  context.Context
	from io.Reader
}

func (w *whileRead) Read(into []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.from.Read(into)
}

// heardAnswer is what a log tells, or why it tells nothing.
func heardAnswer(ctx context.Context, log table) (hear.Report, error) {
	if log.Name == "" {
		return hear.Report{}, Refuse(http.StatusUnprocessableEntity, "Choose the log first.")
	}
	report, err := hear.Listen(&whileRead{ctx, bytes.NewReader(log.text)})
	if err != nil {
		return report, err
	}
	if report.Messages == 0 && len(report.Heard) == 0 {
		return report, Refuse(http.StatusUnprocessableEntity, "%s holds no OCPP message: a line of it looks like [2,\"id\",\"Action\",{…}].", log.Name)
	}
	return report, nil
}

func (s *Server) hear(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderHeard(w, r, o, table{}, nil, nil)
}

// tellLog answers a log with what it tells. Nothing is stored.
func (s *Server) tellLog(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	log, err := tableOf(r, "log")
	var report hear.Report
	if err == nil {
		report, err = heardAnswer(r.Context(), log)
	}
	if err != nil {
		return s.renderHeard(w, r, o, log, nil, err)
	}
	return s.renderHeard(w, r, o, log, &report, nil)
}

func (s *Server) renderHeard(w http.ResponseWriter, r *http.Request, o *opened, log table, report *hear.Report, wrong error) error {
	status := http.StatusOK
	page := struct {
		Frame
		Problems []string
		Log      string
		Report   *hear.Report
		Most     int
	}{Frame: o.frame(s, r, "What a log tells", "more"), Log: log.Name, Report: report, Most: mostTable >> 20}
	if wrong != nil {
		if status, page.Problems = explain(wrong); status == http.StatusInternalServerError {
			return wrong
		}
	}
	return render(w, status, "hear.html", page)
}

// Meters reads meters over Modbus; it never writes to one.
type Meters interface {
	Read(context.Context, MeterOrder) (meter.Reading, error)
	// Scan asks the addresses from one to another and returns who answers.
	Scan(ctx context.Context, o MeterOrder, from, to uint8) ([]string, error)
}

// MeterOrder is which meter is to be read, and how.
type MeterOrder struct {
	Address   string // tcp:// or rtuovertcp://
	Registers []meter.Register
	Unit      uint8
}

var noMeters = Refuse(http.StatusForbidden, "A meter is read by the server: a browser alone cannot open a link to it.")

// mostScanned is how many addresses are asked at once: each that does not
// answer takes two seconds.
const mostScanned = 8

// meterForm is what the form of the page holds.
type meterForm struct {
	Address, Map, Unit string
	From, To           string
	Load, On           string
	Before             []typed // current and power of each line, carried from the reading before
	Slot               slot
}

func meterFormOf(registers table, value func(string) string) meterForm {
	f := meterForm{Address: strings.TrimSpace(value("address")), Map: value("map"), Unit: strings.TrimSpace(value("unit")),
		From: strings.TrimSpace(value("from")), To: strings.TrimSpace(value("to")),
		Load: strings.TrimSpace(value("load")), On: value("on"),
		Slot: slot{Field: "registers", Label: "Register map of your own (CSV)",
			Hint: "what, line, function, register, type, word order, scale. It stands over the map above."}}
	for _, d := range []struct {
		to  *string
		say string
	}{{&f.Unit, "1"}, {&f.From, "1"}, {&f.To, whole(mostScanned)}, {&f.On, "L1"}} {
		if *d.to == "" {
			*d.to = d.say
		}
	}
	for _, what := range []string{"current", "power"} {
		for k := range 3 {
			name := "before-" + what + "-" + whole(k+1)
			f.Before = append(f.Before, typed{Name: name, Value: value(name)})
		}
	}
	if registers.Name != "" {
		f.Slot.Held = []table{registers}
	}
	return f
}

// order reads which meter is meant.
func (f meterForm) order() (MeterOrder, error) {
	o := MeterOrder{Address: f.Address}
	if !strings.HasPrefix(f.Address, "tcp://") && !strings.HasPrefix(f.Address, "rtuovertcp://") {
		return o, Refuse(http.StatusUnprocessableEntity, "The meter's address is %q: tcp://address:port, or rtuovertcp://address:port, is wanted.", f.Address)
	}
	unit, err := figureOf("Modbus address of the meter", f.Unit, 1, 247) // Modbus over serial line 2.2
	if err != nil {
		return o, err
	}
	o.Unit = uint8(unit)
	if own := f.Slot.one(); own.Name != "" {
		o.Registers, err = meter.ReadRegisterMap(own.Name, own.text)
	} else {
		o.Registers, err = meter.RegisterMap(f.Map)
	}
	if err != nil {
		return o, wrong(err)
	}
	return o, nil
}

// before is the reading that was carried along.
func (f meterForm) before() (meter.Reading, bool) {
	var m meter.Reading
	some := false
	for i, t := range f.Before {
		n, err := figureOf("", t.Value, -1e7, 1e7)
		if err != nil {
			continue
		}
		some = true
		if i < 3 {
			m.Current[i] = quantity.Known(quantity.Amperes(n))
		} else {
			m.Power[i-3] = quantity.Known(quantity.Watts(n))
		}
	}
	return m, some
}

// carry keeps a reading for the next time the form is sent.
func (f *meterForm) carry(m meter.Reading) {
	for k := range 3 {
		f.Before[k].Value, f.Before[3+k].Value = "", ""
		if i, known := m.Current[k].Get(); known {
			f.Before[k].Value = fmt.Sprint(float64(i))
		}
		if p, known := m.Power[k].Get(); known {
			f.Before[3+k].Value = fmt.Sprint(float64(p))
		}
	}
}

// meterRow is one kind of figure a meter shows, line by line.
type meterRow struct {
	What  string
	Lines [3]string
}

// meterAnswer is what a meter said.
type meterAnswer struct {
	rows          []meterRow
	total, energy string
	scanned       []string
	asked         string
	rule          *finding.Finding
}

func shownReading(m meter.Reading) meterAnswer {
	a := meterAnswer{rows: []meterRow{{What: "voltage"}, {What: "current"}, {What: "power"}}}
	for k := range 3 {
		a.rows[0].Lines[k], a.rows[1].Lines[k], a.rows[2].Lines[k] = orDash(m.Voltage[k].IsKnown(), m.Voltage[k]), orDash(m.Current[k].IsKnown(), m.Current[k]),
			orDash(m.Power[k].IsKnown(), m.Power[k])
	}
	a.total, a.energy = orDash(m.Total.IsKnown(), m.Total), orDash(m.Energy.IsKnown(), m.Energy)
	return a
}

func (s *Server) meter(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderMeter(w, r, o, meterFormOf(table{}, func(string) string { return "" }), meterAnswer{}, nil)
}

// readMeter reads a meter, asks who answers, or proves a clamp by a known load
// that was switched on since the reading before. Nothing is stored.
func (s *Server) readMeter(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	registers, err := tableOf(r, "registers") // first: it reads the form
	f := meterFormOf(registers, r.PostFormValue)
	var a meterAnswer
	if err == nil {
		a, err = s.askMeter(r.Context(), &f, r.PostFormValue("do"))
	}
	return s.renderMeter(w, r, o, f, a, err)
}

func (s *Server) askMeter(ctx context.Context, f *meterForm, do string) (meterAnswer, error) {
	if s.Meters == nil {
		return meterAnswer{}, noMeters
	}
	order, err := f.order()
	if err != nil {
		return meterAnswer{}, err
	}
	if do == "scan" {
		from, err := figureOf("From address", f.From, 1, 247)
		if err != nil {
			return meterAnswer{}, err
		}
		to, err := figureOf("To address", f.To, from, min(247, from+mostScanned-1))
		if err != nil {
			return meterAnswer{}, err
		}
		found, err := s.Meters.Scan(ctx, order, uint8(from), uint8(to))
		if err != nil {
			return meterAnswer{}, Refuse(http.StatusUnprocessableEntity, "%v", err)
		}
		a := meterAnswer{scanned: found, asked: fmt.Sprintf("addresses %.0f to %.0f", from, to)}
		f.From, f.To = whole(int(min(247, to+1))), whole(int(min(247, to+mostScanned)))
		return a, nil
	}
	before, carried := f.before()
	var load quantity.Amperes
	line := slices.Index([]string{"L1", "L2", "L3"}, f.On)
	if do == "prove" {
		switch load, err = quantity.ParseAmperes(withUnit(f.Load, "A")); {
		case err != nil || load <= 0:
			return meterAnswer{}, Refuse(http.StatusUnprocessableEntity, "The known load is %q: its current is wanted, like 13 A.", f.Load)
		case line < 0:
			return meterAnswer{}, Refuse(http.StatusUnprocessableEntity, "The known load is on %q: L1, L2 or L3 is wanted.", f.On)
		case !carried:
			return meterAnswer{}, Refuse(http.StatusUnprocessableEntity, "Read the meter first, with the known load off; then switch it on and prove the clamp.")
		}
	}
	now, err := s.Meters.Read(ctx, order)
	if err != nil {
		return meterAnswer{}, Refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	a := shownReading(now)
	if do == "prove" {
		rule := commission.ProveClamp(before, now, load, line)
		a.rule = &rule
		return a, nil // the reading before stands, to prove it again
	}
	f.carry(now)
	return a, nil
}

func (s *Server) renderMeter(w http.ResponseWriter, r *http.Request, o *opened, f meterForm, a meterAnswer, wrong error) error {
	status := http.StatusOK
	_, carried := f.before()
	page := struct {
		Frame
		Can           bool
		Entered       meterForm
		Maps, Lines   []string
		Problems      []string
		Rows          []meterRow
		Total, Energy string
		Asked         string
		Scanned       []string
		Rule          *finding.Finding
		Carried       bool
	}{Frame: o.frame(s, r, "A meter over Modbus", "more"), Can: s.Meters != nil, Entered: f, Maps: meter.RegisterMaps(), Lines: []string{"L1", "L2", "L3"},
		Rows: a.rows, Total: a.total, Energy: a.energy, Asked: a.asked, Scanned: a.scanned, Rule: a.rule, Carried: carried}
	if wrong != nil {
		if status, page.Problems = explain(wrong); status == http.StatusInternalServerError {
			return wrong
		}
	}
	return render(w, status, "meter.html", page)
}
