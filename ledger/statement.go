package ledger

import (
	"cmp"
	"slices"
	"time"

	"chargewright/sheet"
)

// wanted is what a statement is wanted of.
type wanted struct {
	By       []Key
	Tariff   *priceList // nil: energy only
	Factors  *factors   // nil: no CO2
	Surplus  *surplus   // nil: what the records say
	From, To int64      // days, both included; 0 for all there is
	Only     []Selected // sessions that fit all of these
	Whole    bool       // it covers From to To, whether anybody charged or not
}

// statementLine is one line of a statement.
type statementLine struct {
	Keys []string `json:"keys"`
	Sum
	order [mostKeys]int64
}

// standing is the standing charge of one stretch at one rate.
type standing struct {
	From string `json:"from"`
	To   string `json:"to"`
	Days int    `json:"days"`
	Rate Money  `json:"poundsADay"`
	Cost Money  `json:"cost"`
	VAT  Money  `json:"vat"`
	vat  int64  // its rate, in hundredths of a per cent
}

// Statement is sessions summed up.
type Statement struct {
	By       []Key           `json:"by"`
	From     string          `json:"from"` // first and last day covered
	To       string          `json:"to"`
	Zone     string          `json:"zone"`
	Tariff   string          `json:"tariff"`
	WithVAT  bool            `json:"pricesHoldVAT"`
	Bands    []string        `json:"bands"`
	Lines    []statementLine `json:"lines"`
	Total    Sum             `json:"total"`
	Rounding int64           `json:"roundingPence"` // total as printed less the lines as printed
	Standing []standing      `json:"standingCharge"`
	Rules    []string        `json:"rules"` // how it was reckoned
	Sources  []string        `json:"sources"`

	timeline *timeline
}

// Statement sums up the sessions that are counted. Settle is called first.
func (l *Ledger) Statement(w wanted) (*Statement, error) {
	l.Settle()
	first, last, any := l.span(w)
	st := &Statement{By: w.By, Zone: l.Zone.String()}
	if !any {
		if w.Whole {
			st.From, st.To = dayText(w.From), dayText(w.To)
		}
		return st, nil
	}
	if w.Tariff != nil {
		tl, err := w.Tariff.Timeline(l.Zone, first, last)
		if err != nil {
			return nil, err
		}
		st.timeline, st.Tariff, st.WithVAT, st.Bands, st.Sources = tl, w.Tariff.Name, w.Tariff.WithVAT, tl.Bands, slices.Clone(w.Tariff.Sources)
	}
	if w.Factors != nil {
		st.Sources = append(st.Sources, w.Factors.within(l.clock.Wall(first).Day(), l.clock.Wall(last).Day())...)
	}
	solar := l.solarParts(w.Surplus)
	sums := map[key]*Sum{}
	fits := l.fitting(w)
	var at uint32
	var lastKey key
	var lastSum *Sum
	firstDay, lastDay := int64(always), int64(-always)
	l.Each(func(s *session) {
		i := at
		at++
		wall := l.clock.Wall(s.Start)
		if s.State != Sound && s.State != StopUnsaid || !fits(s, wall) {
			return
		}
		day := wall.Day()
		firstDay, lastDay = min(firstDay, day), max(lastDay, day)
		k := l.keyOf(w.By, s, wall)
		if lastSum == nil || k != lastKey {
			lastKey, lastSum = k, sums[k]
			if lastSum == nil {
				lastSum = &Sum{}
				sums[k] = lastSum
			}
		}
		l.enter(lastSum, st.timeline, w, s, day, solar, i)
	})
	for k, sum := range sums {
		line := statementLine{Sum: *sum, order: k}
		for i, by := range w.By {
			line.Keys = append(line.Keys, l.keyText(by, k[i]))
		}
		st.Lines = append(st.Lines, line)
		st.Total.add(sum)
	}
	slices.SortFunc(st.Lines, func(a, b statementLine) int {
		for i, by := range w.By {
			var c int
			if by == ByMonth || by == ByDay || by == ByYear || by == ByTaxYear {
				c = cmp.Compare(a.order[i], b.order[i])
			} else {
				c = cmp.Compare(a.Keys[i], b.Keys[i])
			}
			if c != 0 {
				return c
			}
		}
		return 0
	})
	st.Rounding = st.Total.Cost.Pence()
	for i := range st.Lines {
		st.Rounding -= st.Lines[i].Cost.Pence()
	}
	if len(sums) > 0 || w.Whole {
		st.period(w, firstDay, lastDay)
	}
	st.Rules = l.rules(st, w)
	return st, nil
}

// span returns the first and last instants of the counted sessions.
func (l *Ledger) span(w wanted) (first, last int64, any bool) {
	l.counted(func(s *session) {
		if !any || s.Start < first {
			first = s.Start
		}
		if !any || max(s.Start, s.Stop) > last {
			last = max(s.Start, s.Stop)
		}
		any = true
	})
	return first, last, any
}

// Due returns what is to be paid: the cost with its VAT.
func (st *Statement) Due(m, vat Money) Money {
	if st.WithVAT {
		return m
	}
	return m + vat
}

// period sets the days covered and the standing charge over them: whole
// months when the statement is made out by month, else from the first day of
// a session to the last.
func (st *Statement) period(w wanted, first, last int64) {
	if slices.Contains(w.By, ByMonth) {
		y, m, _ := sheet.DateOf(first)
		first = sheet.DaysTo(y, m, 1)
		y, m, _ = sheet.DateOf(last)
		last = sheet.DaysTo(y, m, sheet.DaysIn(y, m))
	}
	if w.Whole {
		first, last = w.From, w.To
	}
	if w.From != 0 {
		first = max(first, w.From)
	}
	if w.To != 0 {
		last = min(last, w.To)
	}
	st.From, st.To = dayText(first), dayText(last)
	if w.Tariff == nil || len(w.Only) > 0 {
		return
	}
	var run *standing
	for day := first; day <= last; day++ {
		n, ok := valueOn(w.Tariff.standing, day)
		if !ok {
			run = nil
			continue
		}
		rate, _ := valueOn(w.Tariff.vat, day)
		if run == nil || run.Rate != Money(n) || run.vat != rate {
			st.Standing = append(st.Standing, standing{From: dayText(day), Rate: Money(n), vat: rate})
			run = &st.Standing[len(st.Standing)-1]
		}
		run.To = dayText(day)
		run.Days++
		run.Cost += Money(n)
		run.VAT = vatOf(run.Cost, rate, w.Tariff.WithVAT) // once, on all of it
	}
}

// rules says how the statement was reckoned.
func (l *Ledger) rules(st *Statement, w wanted) []string {
	out := []string{"A session belongs to the day and month its plug-in falls in, by the clock of " + st.Zone + "."}
	if w.Tariff == nil {
		return append(out, "No tariff was given, so nothing is priced.")
	}
	out = append(out,
		"A session's cost is rounded once, to a hundredth of a penny, half up; sums are of these; a printed amount is rounded to the penny, half up.")
	if st.Total.Least != st.Total.Most {
		out = append(out, "Where no readings were taken during a session, its energy is taken to flow from plug-in on where the record says how long it "+
			"charged, else evenly over the plugged-in time. At least and at most are what the sessions can have cost with the energy in the cheapest or the "+
			"dearest of their plugged-in time, at the power each charged with, or else the point's rated power.")
	}
	vat := "Prices are without VAT; VAT is added."
	if st.WithVAT {
		vat = "Prices hold VAT."
	}
	if !st.Total.VATKnown() {
		vat += " The tariff does not say the rate of VAT for all of it: that VAT is not known."
	}
	if len(st.Standing) > 0 {
		vat += " The standing charge is the supply's, not the sessions': it is shown apart, for the days from " + longDay(st.From) + " to " + longDay(st.To) + "."
	}
	return append(out, vat)
}

func longDay(day string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return t.Format("2 January 2006")
}
