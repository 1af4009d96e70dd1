package ledger

// What the records say was billed, held against what the tariff comes to.

import (
	"fmt"

	"chargewright/finding"
)

// billed is the amounts of the records beside those reckoned here.
type billed struct {
	Sessions int          `json:"sessions"` // counted, with an amount
	Billed   Money        `json:"billed"`
	Refunded Money        `json:"refunded"`
	Reckoned Money        `json:"reckoned"` // with VAT where the tariff says it, of those that are priced
	NotHeld  int          `json:"notHeld"`  // no tariff has a price for them
	Differ   int          `json:"differ"`
	Lines    []billedLine `json:"lines"` // the first that differ
	priced   bool
}

type billedLine struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Billed Money  `json:"billed"`
	Least  Money  `json:"atLeast"`
	Most   Money  `json:"atMost"`
}

// String says one line that differs.
func (b billedLine) String() string {
	reckoned := b.Least.String()
	if b.Least.Pence() != b.Most.Pence() {
		reckoned += " to " + b.Most.String()
	}
	return fmt.Sprintf("%s:%d: billed %s, the tariff comes to %s", b.File, b.Line, b.Billed, reckoned)
}

// mostBilled is how many lines that differ are told one by one.
const mostBilled = 40

// billing compares the amounts of the statement's sessions with the tariff. An
// amount agrees that lies, to a penny, between the least and the most its session
// can have cost.
func (l *Ledger) billing(st *Statement, w wanted) *billed {
	b := &billed{priced: st.timeline != nil, Lines: []billedLine{}}
	_ = l.each(st, w, func(s *session, cost bill) error {
		more := l.rare(s)
		b.Refunded += l.refunded[s]
		if !more.billed {
			return nil
		}
		b.Sessions++
		b.Billed += more.Billed
		if !cost.Known {
			b.NotHeld++
			return nil
		}
		rate, known := valueOn(st.timeline.Tariff.vat, l.clock.Wall(s.Start).Day())
		due := func(m Money) Money {
			if known && !st.WithVAT {
				m += vatOf(m, rate, false)
			}
			return m
		}
		b.Reckoned += due(cost.Cost)
		least, most := due(cost.Least), due(cost.Most)
		if more.Billed >= least-Penny && more.Billed <= most+Penny {
			return nil
		}
		if b.Differ++; len(b.Lines) < mostBilled {
			b.Lines = append(b.Lines, billedLine{l.Tallies[s.File].File, int(s.Line), more.Billed, least, most})
		}
		return nil
	})
	if b.Sessions == 0 && b.Refunded == 0 {
		return nil
	}
	return b
}

// finding judges the bill.
func (b *billed) finding() finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: "what was billed", What: "each amount is what the tariff comes to, to a penny", Key: "billed amounts",
		Source: finding.From(finding.Practice.String(), "")}
	f.Why = finding.Say("%d sessions with an amount, %s in all", b.Sessions, b.Billed)
	if b.Refunded != 0 {
		f.Why = f.Why.Then(finding.Say("%s given back", b.Refunded))
	}
	switch held := b.Sessions - b.NotHeld; {
	case !b.priced:
		f.Next = "name the tariff the bill was made by"
	case held == 0:
		f.Next = "name a tariff with a price for those days"
	default:
		f.Limit, f.Value, f.Margin = finding.Count(0, "sessions"), finding.Count(b.Differ, "sessions"), finding.Count(-b.Differ, "sessions")
		f.Why = f.Why.Then(finding.Say("the tariff comes to %s for the %d it has a price for; %d differ", b.Reckoned, held, b.Differ))
		f.Verdict = finding.Meets
		if b.Differ > 0 {
			f.Verdict = finding.Fails
			f.Next = "see whether the bill was made by another tariff, with or without VAT, or with a fee beside the energy; then ask who made it about the first: " +
				b.Lines[0].String()
		} else if b.NotHeld > 0 {
			f.Verdict = finding.NotKnown
			f.Next = fmt.Sprintf("%d sessions have no price in this tariff: name one for those days", b.NotHeld)
		}
	}
	return f
}
