package ledger

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/sheet"
)

// Form is a table of texts, for a screen, a paper or a CSV file.
type Form struct {
	Head  []string
	Right []bool // the column holds figures
	Rows  [][]string
	Total []string
	Below [][]string // under the total: rounding, standing charge, what is due
}

// Form lays the statement out for a person to read: amounts to the penny,
// energies to a hundredth of a kWh.
func (st *Statement) Form() Form {
	var f Form
	text := func(head string) { f.Head, f.Right = append(f.Head, head), append(f.Right, false) }
	figure := func(head string) { f.Head, f.Right = append(f.Head, head), append(f.Right, true) }
	for _, k := range st.By {
		text(string(k))
	}
	figure("sessions")
	figure("energy, kWh")
	figure("plugged in, h")
	if st.timeline != nil {
		for _, b := range st.shownBands() {
			figure(st.Bands[b] + ", kWh")
		}
		figure("cost, £")
		if st.Total.Least != st.Total.Most {
			figure("at least, £")
			figure("at most, £")
		}
		if st.Total.VATKnown() {
			if st.WithVAT {
				figure("VAT in it, £")
			} else {
				figure("VAT, £")
				figure("due, £")
			}
		}
	}
	if st.Total.SolarOf > 0 {
		figure("solar, %")
	}
	if st.Total.CO2 > 0 || st.Total.NoFactor > 0 {
		figure("CO2e, kg")
	}
	for i := range st.Lines {
		f.Rows = append(f.Rows, append(slices.Clone(st.Lines[i].Keys), st.figures(&st.Lines[i].Sum)...))
	}
	lead := make([]string, len(st.By))
	lead[0] = "total"
	f.Total = append(lead, st.figures(&st.Total)...)
	if st.Rounding != 0 {
		f.Below = append(f.Below, []string{"of that, rounding of the lines", (Money(st.Rounding) * Penny).String()})
	}
	if n := st.Total.Estimated; n > 0 {
		f.Below = append(f.Below, []string{"of that, sessions closed as an estimate, their stop being lost", fmt.Sprintf("%d, %s", n, st.Total.EstimatedOf)})
	}
	due := st.Due(st.Total.Cost, st.Total.VAT)
	for _, s := range st.Standing {
		f.Below = append(f.Below, []string{fmt.Sprintf("standing charge, %d days at %s a day", s.Days, pence(s.Rate)), st.Due(s.Cost, s.VAT).String()})
		due += st.Due(s.Cost, s.VAT)
	}
	if len(st.Standing) > 0 {
		label := "sessions and standing charge, due"
		if !st.WithVAT && !st.Total.VATKnown() {
			label = "sessions and standing charge, without VAT"
		}
		if n := st.Total.Unpriced; n > 0 {
			label += fmt.Sprintf(", without the %d not priced", n)
		}
		f.Below = append(f.Below, []string{label, due.String()})
	}
	return f
}

func pence(m Money) string {
	return strings.TrimSuffix(strings.TrimRight(decimal(int64(m), 2), "0"), ".") + " p"
}

// shownBands is the bands worth a column: more than one, of those with energy.
func (st *Statement) shownBands() []int {
	var out []int
	for i := range st.Bands {
		if st.Total.bands[i] > 0 {
			out = append(out, i)
		}
	}
	if len(st.Bands) < 2 {
		return nil
	}
	return out
}

func (st *Statement) figures(s *Sum) []string {
	money := func(m Money) string { return strings.ReplaceAll(strings.Replace(m.String(), "£", "", 1), "−", "-") }
	kwh := func(e Energy) string { return strings.TrimSuffix(e.String(), " kWh") }
	out := []string{strconv.Itoa(s.Sessions), kwh(s.Energy), strconv.FormatFloat(float64(s.Seconds)/3600, 'f', 1, 64)}
	if st.timeline != nil {
		for _, b := range st.shownBands() {
			out = append(out, kwh(s.bands[b]))
		}
		cost := money(s.Cost)
		if s.Unpriced > 0 {
			cost += fmt.Sprintf(" + %d not priced", s.Unpriced)
		}
		out = append(out, cost)
		if st.Total.Least != st.Total.Most {
			out = append(out, money(s.Least), money(s.Most))
		}
		if st.Total.VATKnown() {
			out = append(out, money(s.VAT))
			if !st.WithVAT {
				out = append(out, money(s.Cost+s.VAT))
			}
		}
	}
	if st.Total.SolarOf > 0 {
		part := "not known"
		if s.SolarOf > 0 {
			part = strconv.FormatFloat(100*float64(s.Solar)/float64(s.SolarOf), 'f', 1, 64)
			if s.SolarOf < s.Energy {
				part += " of " + kwh(s.SolarOf) + " kWh"
			}
		}
		out = append(out, part)
	}
	if st.Total.CO2 > 0 || st.Total.NoFactor > 0 {
		co2 := strconv.FormatFloat(float64(s.CO2)/1e6, 'f', 2, 64)
		if s.NoFactor > 0 {
			co2 += " + " + kwh(s.NoFactor) + " kWh without a factor"
		}
		out = append(out, co2)
	}
	return out
}

// CSV writes the statement as a table of plain numbers, amounts in pounds to a
// hundredth of a penny, so that sums can be checked.
func (st *Statement) CSV(w io.Writer) error {
	head := append(joinedKeys(st.By), "sessions", "energy kWh", "plugged in s", "sessions without time", "cost £", "at least £", "at most £", "VAT £",
		"prices hold VAT", "not priced", "solar kWh", "solar known of kWh", "CO2e kg")
	for _, b := range st.Bands {
		head = append(head, b+" kWh")
	}
	rows := [][]string{head}
	for i := range st.Lines {
		rows = append(rows, append(slices.Clone(st.Lines[i].Keys), st.plain(&st.Lines[i].Sum)...))
	}
	lead := make([]string, len(st.By))
	if len(lead) > 0 {
		lead[0] = "total"
	}
	return sheet.Write(w, append(rows, append(lead, st.plain(&st.Total)...)))
}

func joinedKeys(by []Key) []string {
	out := make([]string, len(by))
	for i, k := range by {
		out[i] = string(k)
	}
	return out
}

func (st *Statement) plain(s *Sum) []string {
	vat := ""
	if st.timeline != nil && s.VATKnown() {
		vat = s.VAT.Exact()
	}
	cost, least, most := "", "", ""
	if st.timeline != nil {
		cost, least, most = s.Cost.Exact(), s.Least.Exact(), s.Most.Exact()
	}
	holds := "no"
	if st.WithVAT {
		holds = "yes"
	}
	out := []string{strconv.Itoa(s.Sessions), s.Energy.Exact(), strconv.FormatInt(s.Seconds, 10), strconv.Itoa(s.TimeUnknown), cost, least, most, vat, holds,
		strconv.Itoa(s.Unpriced), s.Solar.Exact(), s.SolarOf.Exact(), decimal(s.CO2, 6)}
	for i := range st.Bands {
		out = append(out, s.bands[i].Exact())
	}
	return out
}

// each calls f with every session of the statement and what it costs; a bill
// that is not known stands for no tariff as well.
func (l *Ledger) each(st *Statement, w wanted, f func(*session, bill) error) error {
	fits := l.fitting(w)
	var failed error
	l.counted(func(s *session) {
		if failed != nil || !fits(s, l.clock.Wall(s.Start)) {
			return
		}
		var b bill
		if st.timeline != nil {
			b = l.price(st.timeline, s)
		}
		failed = f(s, b)
	})
	return failed
}

// SessionsCSV writes every session that is in the statement, one a row, with
// its own cost.
func (l *Ledger) SessionsCSV(out io.Writer, st *Statement, w wanted) error {
	c := sheet.NewWriter(out)
	if err := c.Write([]string{"file", "line", "point", "card", "person", "vehicle", "cost centre", "start", "stop", "energy kWh", "cost £", "at least £",
		"at most £", "stop known"}); err != nil {
		return err
	}
	err := l.each(st, w, func(s *session, b bill) error {
		row := []string{l.Tallies[s.File].File, strconv.Itoa(int(s.Line)), l.Name(s.Point), l.Name(s.Card), l.Name(s.Person), l.Name(s.Vehicle), l.Name(s.Centre),
			l.stamp(s.Start), "", s.Energy.Exact(), "", "", "", "no"}
		if s.State == Sound {
			row[8], row[13] = l.stamp(s.Stop), "yes"
		}
		if s.estimated {
			row[13] = "estimate"
		}
		if b.Known {
			row[10], row[11], row[12] = b.Cost.Exact(), b.Least.Exact(), b.Most.Exact()
		}
		return c.Write(row)
	})
	return errors.Join(err, c.Flush())
}

// Sessions lists the sessions of a statement for a paper, at most so many, and
// says how many there are.
func (l *Ledger) Sessions(st *Statement, w wanted, most int) (f Form, all int) {
	f = Form{Head: []string{"line", "start", "stop", "point", "person", "vehicle", "energy, kWh", "cost, £"},
		Right: []bool{true, false, false, false, false, false, true, true}}
	if len(l.Tallies) > 1 {
		f.Head[0], f.Right[0] = "record and line", false
	}
	_ = l.each(st, w, func(s *session, b bill) error { // f returns no error
		if all++; all > most {
			return nil
		}
		row := []string{strconv.Itoa(int(s.Line)), l.when(s.Start), "not said", l.Name(s.Point), l.Name(s.Person), l.Name(s.Vehicle),
			strings.TrimSuffix(s.Energy.String(), " kWh"), "not priced"}
		if len(l.Tallies) > 1 {
			row[0] = l.Tallies[s.File].File + ":" + row[0]
		}
		if s.State == Sound {
			row[2] = l.when(s.Stop)
		}
		if s.estimated {
			row[2] += " (estimate)"
		}
		if b.Known {
			row[7] = b.Cost.Exact()
		}
		f.Rows = append(f.Rows, row)
		return nil
	})
	return f, all
}

func (l *Ledger) stamp(instant int64) string {
	return time.Unix(instant, 0).In(l.Zone).Format(time.RFC3339)
}

// NotesCSV writes everything noted about the records.
func (l *Ledger) NotesCSV(w io.Writer) error {
	rows := [][]string{{"file", "line", "what", "field", "found", "text", "energy kept out kWh"}}
	for _, n := range l.Notes {
		e := ""
		if n.Energy != 0 {
			e = n.Energy.Exact()
		}
		rows = append(rows, []string{n.File, strconv.Itoa(n.Line), n.Kind.String(), n.Field, n.Found, n.Text, e})
	}
	return sheet.Write(w, rows)
}

// Today returns the number of the day an instant falls in, by the ledger's clock.
func (l *Ledger) Today(t time.Time) int64 { return l.clock.Wall(t.Unix()).Day() }

// readDay reads a date as the number of its day.
func readDay(text string) (int64, error) {
	day, ok := sheet.ReadDate([]byte(text), false)
	if !ok {
		return 0, fmt.Errorf("%q is no date: year, month and day are wanted, like 2026-11-25", text)
	}
	return day, nil
}
