package ledger

import (
	"errors"
	"fmt"
	"strings"

	"chargewright/sheet"
)

// chargeHours is when charging is let run. Outside of it a point waits, as long as
// the vehicle can still be charged before it leaves.
type chargeHours struct {
	Text    string
	windows *priceList // its stretches; their price is nothing
}

// readSchedule reads windows of the day, local time: "23:00-07:00", or with
// days before them: "Mon-Fri 23:00-07:00, Sat-Sun 00:00-24:00".
func readSchedule(text string) (*chargeHours, error) {
	t := &priceList{schedule: true}
	for _, one := range strings.Split(text, ",") {
		words := strings.Fields(one)
		wrong := fmt.Errorf("schedule %q: windows of the day are wanted, like 23:00-07:00 or Mon-Fri 23:00-07:00", text)
		if len(words) == 0 {
			return nil, wrong
		}
		from, to, span := strings.Cut(words[len(words)-1], "-")
		begin, ok1 := sheet.ReadMinute([]byte(from))
		end, ok2 := sheet.ReadMinute([]byte(to))
		days, ok3 := readDays(strings.Join(words[:len(words)-1], " "))
		if !span || !ok1 || !ok2 || !ok3 {
			return nil, wrong
		}
		if end <= begin {
			end += 1440
		}
		t.rates = append(t.rates, rate{validDays: validDays{-always, always}, days: days, begin: begin, end: end, band: "charging"})
	}
	return &chargeHours{Text: text, windows: t}, nil
}

// Comparison is the same sessions as they were and as they would have been.
type Comparison struct {
	Tariff       string   `json:"tariff"`
	Schedule     string   `json:"schedule"`
	Sessions     int      `json:"sessions"`
	LeftOut      int      `json:"leftOut"` // time not known, or not priced by both
	Now          Money    `json:"now"`     // with VAT where the tariff says it
	Then         Money    `json:"then"`
	StandingNow  Money    `json:"standingNow"`
	StandingThen Money    `json:"standingThen"`
	StandingGap  bool     `json:"standingNotKnown"` // a tariff does not say it for every day
	Saving       Money    `json:"saving"`
	Least        Money    `json:"savingAtLeast"`
	Most         Money    `json:"savingAtMost"`
	DoNotFit     int      `json:"doNotFit"` // sessions too short for the schedule at the power seen
	Outside      Energy   `json:"outsideKWh"`
	Rules        []string `json:"rules"`

	WeekNow, WeekThen meanWeek `json:"-"`
}

// span of time within a session in which charging may run.
type stretch struct{ from, to int64 }

// Compare lays the sessions of a statement under another tariff, another
// schedule, or both. A nil schedule lets charging run from plug-in on, a nil
// tariff is the one there is. Each session stays within its plugged-in time.
func (l *Ledger) Compare(w wanted, then *priceList, schedule *chargeHours) (*Comparison, error) {
	l.Settle()
	first, last, any := l.span(w)
	if w.Tariff == nil {
		return nil, errors.New("what if: the tariff there is is wanted too, to compare with")
	}
	if then == nil {
		then = w.Tariff
	}
	c := &Comparison{Tariff: then.Name}
	if !any {
		return c, nil
	}
	now, err := w.Tariff.Timeline(l.Zone, first, last)
	if err != nil {
		return nil, err
	}
	after, err := then.Timeline(l.Zone, first, last)
	if err != nil {
		return nil, err
	}
	var windows *timeline
	if schedule != nil {
		c.Schedule = schedule.Text
		if windows, err = schedule.windows.Timeline(l.Zone, first, last); err != nil {
			return nil, err
		}
	}
	seen := l.powersSeen()
	fits := l.fitting(w)
	l.counted(func(s *session) {
		wall := l.clock.Wall(s.Start)
		if !fits(s, wall) {
			return
		}
		c.session(l, s, now, after, windows, seen, wall.Day())
	})
	c.Saving = c.Now - c.Then
	c.standing(l, w, then, first, last)
	weeks := l.weeks(first, last)
	c.WeekNow.over(weeks)
	c.WeekThen.over(weeks)
	l.cheap(&c.WeekNow, now, last)
	l.cheap(&c.WeekThen, after, last)
	c.Rules = []string{
		"As it was: readings where there are any, else charging from plug-in on. As it would be: within the schedule first, outside of it only what does not " +
			"fit, and never before plug-in or after plug-out.",
		"The power is the greatest mean power this card was seen to charge with on this point. The bounds hold for any time within the stay at which the " +
			"energy can have flowed as it was, and for five powers from the least each session must have had to the point's rating. They are wide where the " +
			"records do not say when energy flowed: have the point send readings during sessions.",
		"Sessions whose time is not known, or that one of the tariffs does not price, are left out of both sides.",
	}
	return c, nil
}

type pair struct{ point, card name }

// powersSeen is the greatest mean power of every card on every point, in W.
func (l *Ledger) powersSeen() map[pair]Rating {
	out := map[pair]Rating{}
	l.counted(func(s *session) {
		if p := l.meanPower(s); p > 0 && s.Energy >= KWh {
			k := pair{s.Point, s.Card}
			out[k] = max(out[k], p)
		}
	})
	return out
}

// meanPower is the energy of a session over the time it charged, in W; 0 when
// that time is not known or is shorter than it is written to.
func (l *Ledger) meanPower(s *session) Rating {
	seconds := s.Length()
	if s.Charging > 0 {
		seconds = min(seconds, int64(s.Charging))
	}
	if s.State != Sound || seconds < 600 {
		return 0
	}
	return Rating(divide(int64(s.Energy)*18/5, seconds))
}

// session adds one session to both sides.
func (c *Comparison) session(l *Ledger, s *session, now, after, windows *timeline, seen map[pair]Rating, day int64) {
	if s.State != Sound {
		c.LeftOut++
		return
	}
	if s.Energy == 0 {
		c.Sessions++
		return
	}
	stay := stretch{s.Start, max(s.Stop, s.Start+int64(s.fine))}
	least := Rating(int64(s.Energy)*18/5/(stay.to-stay.from)) + 1
	rated, known := l.rating(s.Point)
	likely := max(seen[pair{s.Point, s.Card}], least)
	if !known {
		rated = likely
	}
	rated = max(rated, least)
	likely = min(likely, rated)
	free := stay.within(windows)
	powers := []Rating{likely, least, rated, least + (rated-least)/3, least + (rated-least)*2/3}
	if s.Charging > 0 {
		powers = []Rating{max(least, Rating(divide(int64(s.Energy)*18/5, int64(s.Charging))))} // known
		likely = powers[0]
	}
	var low, high Money
	stood := l.price(now, s)
	for i, p := range powers {
		was, ok := now.run([]stretch{stay}, s.Energy, p)
		if s.said >= 0 && s.saidCount > 1 {
			was, ok = stood.Cost, stood.Known
		}
		would, ok2 := after.run(free, s.Energy, p)
		if !ok || !ok2 {
			c.LeftOut++
			return
		}
		wasLeast, wasMost := withVAT(now.Tariff, min(was, stood.Least), day), withVAT(now.Tariff, max(was, stood.Most), day)
		was, would = withVAT(now.Tariff, was, day), withVAT(after.Tariff, would, day)
		if i == 0 {
			c.Now += was
			c.Then += would
			low, high = was-would, was-would
		}
		low, high = min(low, wasLeast-would), max(high, wasMost-would)
	}
	c.Least += low
	c.Most += high
	c.Sessions++
	if windows != nil {
		inside := Energy(0)
		for _, f := range free[:len(free)-len(stay.without(windows))] {
			inside += energyOf(likely, f.to-f.from)
		}
		if inside < s.Energy-s.Energy/100 {
			c.DoNotFit++
			c.Outside += s.Energy - inside
		}
	}
	l.draw(&c.WeekNow, []stretch{stay}, s.Energy, likely)
	l.draw(&c.WeekThen, free, s.Energy, likely)
}

// Heading says what is compared.
func (c *Comparison) Heading() string {
	out := "tariff " + c.Tariff
	if c.Schedule != "" {
		out += ", charging let run " + c.Schedule
	}
	return out
}

// Facts is the comparison as names and values, to print.
func (c *Comparison) Facts() [][2]string {
	out := [][2]string{
		{"sessions compared", fmt.Sprintf("%d, %d left out", c.Sessions, c.LeftOut)},
		{"as it was", c.Now.String()},
		{"as it would be", c.Then.String()},
		{"saving on energy", fmt.Sprintf("%s; at least %s, at most %s", c.Saving, c.Least, c.Most)},
	}
	switch {
	case c.StandingGap:
		out = append(out, [2]string{"standing charge", "not known: one of the tariffs does not say it"})
	case c.StandingNow != c.StandingThen:
		out = append(out, [2]string{"standing charge", fmt.Sprintf("%s, would be %s", c.StandingNow, c.StandingThen)},
			[2]string{"saving with standing charge", (c.Saving + c.StandingNow - c.StandingThen).String()})
	}
	if c.Schedule != "" {
		fit := "every session"
		if c.DoNotFit > 0 {
			fit = fmt.Sprintf("all but %d sessions; %s would flow outside of it", c.DoNotFit, c.Outside)
		}
		out = append(out, [2]string{"fits the schedule", fit})
	}
	return out
}

func withVAT(t *priceList, m Money, day int64) Money {
	if rate, ok := valueOn(t.vat, day); ok && !t.WithVAT {
		return m + vatOf(m, rate, false)
	}
	return m
}

// within returns the stay's stretches inside the windows, then those outside.
func (s stretch) within(windows *timeline) []stretch {
	if windows == nil {
		return []stretch{s}
	}
	return append(s.cut(windows, true), s.without(windows)...)
}

func (s stretch) without(windows *timeline) []stretch { return s.cut(windows, false) }

func (s stretch) cut(windows *timeline, inside bool) []stretch {
	var out []stretch
	for i := max(windows.find(s.from), 0); i < len(windows.steps) && windows.steps[i].at < s.to; i++ {
		a, b := max(windows.steps[i].at, s.from), min(windows.end(i), s.to)
		if (windows.steps[i].band >= 0) == inside && b > a {
			out = append(out, stretch{a, b})
		}
	}
	return out
}

// run prices an energy that flows at one power through stretches, in their
// order, until it is all delivered; a rest that does not fit, since times are
// written to the minute, flows in the last.
func (tl *timeline) run(through []stretch, e Energy, p Rating) (Money, bool) {
	b := bill{Known: true}
	var sum exact
	flow(through, e, p, func(from, to int64, part Energy) { tl.spread(from, to, part, &b, &sum) })
	return sum.money(), b.Known
}

func flow(through []stretch, e Energy, p Rating, f func(from, to int64, part Energy)) {
	for i, s := range through {
		part := min(e, energyOf(p, s.to-s.from))
		to := s.to
		if part == e {
			to = min(s.to, s.from+max(1, divide(int64(e)*18/5, int64(p))))
		}
		if i == len(through)-1 {
			part = e
		}
		if part > 0 {
			f(s.from, to, part)
		}
		if e -= part; e == 0 {
			return
		}
	}
}

// standing adds the standing charges of both tariffs over the days covered.
func (c *Comparison) standing(l *Ledger, w wanted, then *priceList, first, last int64) {
	a, b := l.clock.Wall(first).Day(), l.clock.Wall(last).Day()
	if w.From != 0 {
		a = max(a, w.From)
	}
	if w.To != 0 {
		b = min(b, w.To)
	}
	if len(w.Only) > 0 {
		return
	}
	for day := a; day <= b; day++ {
		for _, one := range []struct {
			t  *priceList
			to *Money
		}{{w.Tariff, &c.StandingNow}, {then, &c.StandingThen}} {
			n, ok := valueOn(one.t.standing, day)
			if !ok {
				c.StandingGap = true
			}
			*one.to += withVAT(one.t, Money(n), day)
		}
	}
}
