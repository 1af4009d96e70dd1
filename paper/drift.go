package paper

import (
	"slices"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/model"
)

// sortByDay puts what has a day first, in order; the rest keeps its order.
func sortByDay(list []expires) {
	slices.SortStableFunc(list, func(a, b expires) int {
		switch {
		case a.Known && b.Known:
			return a.day.Compare(b.day)
		case a.Known:
			return -1
		case b.Known:
			return 1
		}
		return 0
	})
}

// clockChanges returns the next days the clocks go back and forward in the
// United Kingdom: the last Sundays of October and March (Summer Time Order
// 2002), after a day.
func clockChanges(after time.Time) (october, march time.Time) {
	next := func(month time.Month) time.Time {
		for year := after.Year(); ; year++ {
			end := time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC)
			if sunday := end.AddDate(0, 0, -int(end.Weekday())); sunday.After(after) {
				return sunday
			}
		}
	}
	return next(time.October), next(time.March)
}

// driftSheet says what runs out or drifts, and when.
func driftSheet(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "What runs out, and what drifts",
		"Days to remember, and what changes without anyone touching it. The days stand in dates.ics as well, for a calendar.")
	other := document.Table{Columns: []document.Column{{Head: "When", Share: 48}, {Head: "What", Share: 46}, {Head: "Why", Share: 76}}}
	for _, e := range driftList(m, made) {
		if !e.Known {
			other.Rows = append(other.Rows, e.row())
		}
	}
	d.Sections = []document.Section{{Heading: "By a day", Blocks: []document.Block{dayTable(m, made)}},
		{Heading: "Without a day", Blocks: []document.Block{other}}}
	return d
}

// dayTable is what has a day, by day.
func dayTable(m *model.Model, made time.Time) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "By", Share: 34}, {Head: "What", Share: 56}, {Head: "Why", Share: 80}}}
	for _, e := range driftList(m, made) {
		if e.Known {
			t.Rows = append(t.Rows, e.row())
		}
	}
	return t
}

func (e expires) row() document.Row {
	return document.Row{Cells: []document.Cell{{Text: capital(e.whenText()), Bold: e.Known}, {Text: e.What}, {Text: capital(e.Why)}}}
}

// expires is one thing that runs out or drifts.
type expires struct {
	When  string `json:"when"` // day, or empty where no day is known
	What  string `json:"what"`
	Why   string `json:"why"`
	Known bool   `json:"dated"`
	day   time.Time
	again int  // months after which it comes round; 0 where it does not
	warn  bool // a month ahead
}

func (e expires) whenText() string {
	if e.Known {
		return e.day.Format("2 January 2006")
	}
	return e.When
}

// driftList is what runs out, and what drifts, by day.
func driftList(m *model.Model, made time.Time) []expires {
	var out []expires
	dated := func(day, what, why string) {
		if t, err := time.Parse(time.DateOnly, day); err == nil {
			out = append(out, expires{When: day, What: what, Why: why, Known: true, day: t})
		}
	}
	always := func(when, what, why string) { out = append(out, expires{When: when, What: what, Why: why}) }
	j := m.Job
	if due, ok := dueDate(&j.Certificate); ok {
		dated(due.Format(time.DateOnly), "Periodic inspection", "the certificate asks for it: "+j.Certificate.InspectAgainWhy)
		out[len(out)-1].warn = true
		from, _ := time.Parse(time.DateOnly, j.Certificate.Completed) // dueDate has read it
		dated(monthsAfter(from, 6).Format(time.DateOnly), "Press the test button of every RCD", "514.12.2: every six months, then again and again")
		out[len(out)-1].again = 6
	} else {
		always("not known", "Periodic inspection", "no interval is entered under certificate")
	}
	dated(j.Handover.WarrantyEnd, "Warranty ends", j.Handover.Warranty)
	dated(j.Handover.UpdatesEnd, "Maker's updates end", "from then on faults in its security stay open")
	dated(j.Handover.RatesEnd, "Tariff changes", "charging hours were chosen for it: look at them again")
	dated(j.Quotation.Valid, "Quotation runs out", "")
	for _, n := range j.Instruments {
		dated(n.CalibratedUntil, "Calibration of "+n.Name+" runs out", "readings after that day do not stand on a certificate")
	}
	last, first := clockChanges(made)
	for _, t := range []time.Time{first, last} {
		dated(t.Format(time.DateOnly), "Clocks change", "see that charging hours follow local time; a point that keeps UTC charges an hour off (Summer Time "+
			"Order 2002)")
	}
	for _, e := range j.Electrodes {
		always("end of a dry summer, hard frost", "Electrode "+e.Name+" reads higher", "dry or frozen soil conducts less; measure RA then, and hold it to its limit")
	}
	var buried []string
	for _, c := range m.Circuits {
		for _, l := range c.Legs {
			if l.Record.Soil.IsKnown() {
				buried = append(buried, c.Record.Name)
				break
			}
		}
	}
	if len(buried) > 0 {
		always("when the ground dries out or is built over", "Rating of cables under ground: "+drawing.Names(buried),
			"it rests on the soil resistivity that was entered")
	}
	always("when anything large is added", "Maximum demand", "the load limiting and the notice to the network operator rest on it")
	if lim := m.SupplyLimiter(); lim != nil {
		always("when a clamp is moved, a meter changed or the network password renewed", "Load limiting of "+lim.Name,
			"prove it again: unplug the clamp, see the fail-safe current")
	}
	always("when a new amendment comes into force", "Edition of the rules", "existing work stays to "+string(j.Edition)+"; additions go to the one in force")
	sortByDay(out)
	return out
}
