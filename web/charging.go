package web

// The charging records of a job: tables go in, a statement comes out. What is
// sent is answered and forgotten.

import (
	"bytes"
	"cmp"
	"errors"
	"html/template"
	"mime"
	"net/http"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/ledger"
	"chargewright/paper"
)

// homeZone is the time zone of a site where none is said.
const homeZone = "Europe/London"

// chargingForm is what the form of the page holds.
type chargingForm struct {
	By                [4]string
	From, To, Date    string
	Zone, Unit, Point string
	Schedule, Economy string
	MonthFirst        bool
	Only              []typed
	Columns           []choice
	Headings          []string // of the records in hand
	Ratings           []rated
	Slots             map[string]*slot
	Columned          bool // the columns must be looked at
}

// rated is the rating of a point: what the job says, and what is entered here.
type rated struct{ Point, Label, Value string }

const tariffColumns = "Columns: what, band, valid from, valid until, days, from, to, clock, value, unit, source, confidence; or starting and p/kWh, a " +
	"row a half-hour."

// chargingSlots is the tables that can be handed over.
var chargingSlots = []slot{
	{Field: "record", Label: "Charging records: tables of sessions (CSV), or messages of the points (OCPP, a JSON value a line)", Many: true,
		Hint: "The first line names the columns: start or plugged in, stop or unplugged, energy with its unit, and what else is known. Other names can be " +
			"matched afterwards."},
	{Field: "tariff", Label: "Tariff (CSV); without one, energy and time only", Hint: tariffColumns},
	{Field: "then", Label: "Another tariff (CSV)", Hint: tariffColumns},
	{Field: "cards", Label: "Who holds which card (CSV)", Hint: "Columns: card, person, vehicle, cost centre. What a record says itself goes before it."},
	{Field: "co2", Label: "CO2 of a kilowatt-hour, by date (CSV)", Hint: "Columns: valid from, valid until, kg CO2e/kWh, source, confidence."},
	{Field: "surplus", Label: "What the site's own generation left over (CSV)", Hint: "Columns: starting, kWh; a row a half-hour."},
	{Field: "journeys", Label: "Journeys on business (CSV)", Hint: "Columns: date, miles; and person and vehicle."},
	{Field: "mileage", Label: "What is paid back a mile, by date (CSV)", Hint: "Columns: valid from, valid until, pence a mile, source, confidence."},
	{Field: "site-meter", Label: "Readings of the meter that feeds the points and nothing else (CSV)", Hint: "Columns: time, register kWh."},
	{Field: "inspections", Label: "What is due again and again (CSV)", Hint: "Columns: what, about, last done, every months, source, confidence."},
}

// place is where the rating stands: that of every other point comes last.
func (r rated) place() int {
	if r.Point == "" {
		return 1
	}
	return 0
}

// newChargingForm is the form with nothing in it.
func newChargingForm(o *opened) *chargingForm {
	f := &chargingForm{Zone: homeZone, Slots: map[string]*slot{}}
	f.By[0] = string(ledger.ByMonth)
	for _, one := range chargingSlots {
		f.Slots[one.Field] = &one
	}
	for _, k := range ledger.Keys {
		f.Only = append(f.Only, typed{Name: "only-" + string(k), Label: "Only this " + string(k)})
	}
	for _, field := range ledger.FieldNames() {
		f.Columns = append(f.Columns, choice{Name: "column-" + field, Label: field})
	}
	for _, p := range o.Job.Points {
		f.rate(o, p.Name, "")
	}
	return f
}

// rate adds a point's rating, once.
func (f *chargingForm) rate(o *opened, point, value string) {
	if at := slices.IndexFunc(f.Ratings, func(r rated) bool { return r.Point == point }); at >= 0 {
		if value != "" {
			f.Ratings[at].Value = value
		}
		return
	}
	r := rated{Point: point, Label: "Rated power of " + point + ": not known in the job", Value: value}
	if point == "" {
		r.Label = "Rated power of every other point"
	}
	for _, p := range o.Job.Points {
		if power, known := p.Power.Get(); known && p.Name == point {
			r.Label = "Rated power of " + point + ", if not the job's " + power.String()
		}
	}
	f.Ratings = append(f.Ratings, r)
}

// readChargingForm reads what was sent. An error means that nothing could be.
func readChargingForm(r *http.Request, o *opened) (*chargingForm, *sent, error) {
	f := newChargingForm(o)
	in, err := sentWith(r)
	if err != nil {
		return f, nil, err
	}
	value := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	for i, k := range r.PostForm["by"] {
		if i < len(f.By) {
			f.By[i] = k
		}
	}
	f.From, f.To, f.Date, f.Zone, f.Unit, f.Point = value("from"), value("to"), value("date"), value("zone"), value("unit"), value("point")
	f.Schedule, f.Economy, f.MonthFirst = value("schedule"), value("economy"), value("month-first") != ""
	for i := range f.Only {
		f.Only[i].Value = value(f.Only[i].Name)
	}
	for i := range f.Columns {
		f.Columns[i].Chosen = r.PostFormValue(f.Columns[i].Name)
	}
	of, values := r.PostForm["rating-of"], r.PostForm["rating"]
	for i := range min(len(of), len(values), mostOffered) {
		f.rate(o, of[i], strings.TrimSpace(values[i]))
	}
	for _, one := range chargingSlots { // in their order: there is a bound to all of them together
		f.Slots[one.Field].fill(in)
	}
	return f, in, nil
}

// chargingFields is what the fields are called on the page.
var chargingFields = map[string]string{"by": "Made out by", "from": "First day", "to": "Last day", "date": "Date of the statement",
	"zone": "Time zone of the site", "then": "Another tariff",
	"schedule": "Charging let run", "economy": "Miles per kWh", "column": "Columns"}

// asked turns the form into what the records are asked for.
func (f *chargingForm) asked(base ledger.Asked, in *sent) ledger.Asked {
	s := base
	for i, k := range f.By {
		if k != "" && i > 0 {
			k = "," + k
		}
		s.By += k
	}
	s.From, s.To, s.Date, s.Zone, s.Unit, s.Point, s.Schedule, s.Economy, s.MonthFirst = f.From, f.To, f.Date, f.Zone, f.Unit, f.Point, f.Schedule, f.Economy,
		f.MonthFirst
	for _, one := range f.Only {
		if one.Value != "" {
			s.Only = append(s.Only, ledger.Selected{Key: ledger.Key(strings.TrimPrefix(one.Name, "only-")), Text: one.Value})
		}
	}
	s.Columns = map[string]string{}
	for _, c := range f.Columns {
		if c.Chosen != "" {
			s.Columns[c.Label] = c.Chosen
		}
	}
	for _, r := range f.Ratings {
		if r.Value == "" {
			continue
		}
		power, err := ledger.ReadRating(r.Value)
		if err != nil {
			in.refuse(Refuse(http.StatusUnprocessableEntity, "%s: %v", r.Label, err))
			continue
		}
		s.Ratings[r.Point] = power
	}
	for _, t := range f.Slots["record"].Held {
		s.Records = append(s.Records, t.handed())
	}
	for field, to := range map[string]*ledger.Table{"tariff": &s.Tariff, "then": &s.Then, "cards": &s.Cards, "co2": &s.CO2, "surplus": &s.Surplus,
		"journeys": &s.Journeys, "mileage": &s.Mileage, "site-meter": &s.SiteMeter, "inspections": &s.Inspections} {
		*to = f.Slots[field].one().handed()
	}
	return s
}

// statement is what the job itself says of a statement.
func (s *Server) statement(o *opened) ledger.Asked {
	out := ledger.Asked{Place: o.Job.Name, Invented: o.Job.Invented, Now: s.Now(), Ratings: map[string]ledger.Rating{}}
	for _, p := range o.Job.Points {
		if power, known := p.Power.Get(); known {
			out.Ratings[p.Name] = ledger.Rating(power)
		}
	}
	return out
}

func (s *Server) charging(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := newChargingForm(o)
	f.rate(o, "", "")
	return s.renderCharging(w, r, o, http.StatusOK, f, nil, nil)
}

// chargingStatement answers an upload with its statement: as a page, or as the
// file whose button was pressed.
func (s *Server) chargingStatement(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f, in, err := readChargingForm(r, o)
	if err != nil {
		return err
	}
	f.readHeads(s.Now())
	asked := f.asked(s.statement(o), in)
	if len(asked.Records) == 0 && len(in.wrong) == 0 {
		in.refuse(Refuse(http.StatusUnprocessableEntity, "Choose the table of sessions first."))
	}
	var a *ledger.Account
	if len(asked.Records) > 0 {
		a, err = asked.Account()
		for _, line := range linesOf(err, chargingFields) {
			in.refuse(Refuse(http.StatusUnprocessableEntity, "%s", line))
		}
	}
	if a != nil {
		points := a.Ledger.Points()
		for _, p := range points[:min(len(points), mostOffered)] {
			f.rate(o, p, "")
		}
	}
	f.rate(o, "", "")
	f.Columned = errors.Is(err, ledger.ErrColumns) || errors.Is(err, ledger.ErrUnit)
	switch name := r.PostFormValue("as"); {
	case len(in.wrong) > 0:
		return s.renderCharging(w, r, o, in.status, f, in.wrong, nil)
	case name != "":
		return download(w, a, name)
	}
	return s.renderCharging(w, r, o, http.StatusOK, f, nil, a)
}

// linesOf says an error by the names the fields have on a page.
func linesOf(err error, called map[string]string) []string {
	if err == nil {
		return nil
	}
	return ledger.Lines(err, func(field string) string {
		if name := called[field]; name != "" {
			return name
		}
		return field
	})
}

// readHeads takes the headings of the records in hand. A choice of a column
// that none of them has falls away.
func (f *chargingForm) readHeads(made time.Time) {
	settings, _ := ledger.Asked{Now: made, Zone: f.Zone, Unit: f.Unit}.Settings() // what is wrong with them is said with the account
	for _, t := range f.Slots["record"].Held {
		head := ledger.ReadHead(bytes.NewReader(t.text), settings)
		f.Headings = offered(append(f.Headings, offered(head.Columns)...))
		for i, c := range f.Columns {
			if name := head.Known[c.Label]; name != "" && c.Found == "" {
				f.Columns[i].Found = name
			}
		}
	}
	for i, c := range f.Columns {
		if !slices.Contains(f.Headings, c.Chosen) {
			f.Columns[i].Chosen = ""
		}
	}
}

// Column is one choice of a column, as its part of the page takes it.
func (f *chargingForm) Column(i int) columnField {
	return columnField{"column-" + whole(i), f.Columns[i], f.Headings}
}

// leading is the columns that are shown first: when, and how much.
var leading = []string{"start", "stop", "energy", "register at start", "register at stop"}

// Leads reports that a column is one of those.
func (f *chargingForm) Leads(i int) bool { return slices.Contains(leading, f.Columns[i].Label) }

// FurtherChosen reports that one of the others was matched.
func (f *chargingForm) FurtherChosen() bool {
	return slices.ContainsFunc(f.Columns, func(c choice) bool { return c.Chosen != "" && !slices.Contains(leading, c.Label) })
}

// Units is what energies may be in.
func (f *chargingForm) Units() []string { return []string{"kWh", "Wh"} }

// Chosen reports that a column was matched, or how the records are written said.
func (f *chargingForm) Chosen() bool {
	return f.Columned || f.Unit != "" || f.MonthFirst || f.Point != "" || f.Zone != homeZone ||
		slices.ContainsFunc(f.Columns, func(c choice) bool { return c.Chosen != "" })
}

// Selects reports that not all sessions are wanted.
func (f *chargingForm) Selects() bool {
	return f.From+f.To+f.Date != "" || slices.ContainsFunc(f.Only, func(t typed) bool { return t.Value != "" })
}

// Further reports that the statement is made out by more than two things.
func (f *chargingForm) Further() bool { return f.By[1]+f.By[2]+f.By[3] != "" }

// Rates reports that a rating was entered.
func (f *chargingForm) Rates() bool {
	return slices.ContainsFunc(f.Ratings, func(r rated) bool { return r.Value != "" })
}

// Holds reports that a table is in one of the slots.
func (f *chargingForm) Holds(fields ...string) bool {
	return slices.ContainsFunc(fields, func(field string) bool { return len(f.Slots[field].Held) > 0 })
}

// weekPicture is a drawn week with its name.
type weekPicture struct {
	Label   string
	Picture template.HTML
}

// total is one figure of the last line of a statement.
type total struct{ Label, Value string }

func (s *Server) renderCharging(w http.ResponseWriter, r *http.Request, o *opened, status int, f *chargingForm, problems []string, a *ledger.Account) error {
	slices.SortFunc(f.Ratings, func(a, b rated) int {
		return cmp.Or(cmp.Compare(a.place(), b.place()), cmp.Compare(a.Point, b.Point))
	})
	page := struct {
		Frame
		Asked    *chargingForm
		Keys     []ledger.Key
		Problems []string
		Sheet    *paper.Statement
		Totals   []total
		Weeks    []weekPicture
		Findings []finding.Finding
		Files    []ledger.File
		Most     int
	}{Frame: o.frame(s, r, "Charging records", "more"), Asked: f, Keys: ledger.Keys, Problems: problems, Most: mostTable >> 20}
	if a != nil {
		page.Sheet, page.Files, page.Findings = a.Paper(), a.Files(), a.Ordered()
		for i, head := range page.Sheet.Head {
			if page.Sheet.Right[i] {
				page.Totals = append(page.Totals, total{head, page.Sheet.Total[i]})
			}
		}
		for _, scene := range page.Sheet.Weeks {
			page.Weeks = append(page.Weeks, weekPicture{scene.Title, picture(scene, false)})
		}
	}
	return render(w, status, "charging.html", page)
}

// download hands out one file of the statement.
func download(w http.ResponseWriter, a *ledger.Account, name string) error {
	for _, f := range a.Files() {
		if f.Name != name {
			continue
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			return err
		}
		w.Header().Set("Content-Type", contentType(name))
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
		w.Header().Set("Cache-Control", "no-store")
		_, err := w.Write(b.Bytes())
		return err
	}
	return notInJob
}
