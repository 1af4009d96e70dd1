package ledger

import (
	"cmp"
	"io"
	"slices"

	"chargewright/finding"
	"chargewright/sheet"
)

// siteMeter is the readings of a meter that feeds the points and nothing else.
type siteMeter struct {
	name     string
	readings []sample
}

// readSiteMeter reads a table: time, register kWh.
func readSiteMeter(file string, r io.Reader, s Settings) (*siteMeter, error) {
	sh, err := sheet.Read(file, r, "time", "register kwh")
	if err != nil {
		return nil, err
	}
	m := &siteMeter{name: file}
	c := sheet.Clock{Zone: s.Zone}
	for _, row := range sh.Rows {
		st, ok := sheet.ReadStamp([]byte(row.Get("time")), s.MonthFirst)
		if !ok {
			row.Fault("time", row.Get("time"), "the date and time of the reading are wanted, like 2026-11-01 08:00")
			continue
		}
		e, _, _, err := readEnergy([]byte(row.Get("register kwh")), 6)
		if err != nil || e < 0 {
			row.Fault("register kWh", row.Get("register kwh"), "what the meter has counted is wanted, like 12345.6")
			continue
		}
		at := int64(st.Wall) - st.Offset
		if !st.HasZone {
			at, _, _ = c.Instants(st.Wall)
		}
		m.readings = append(m.readings, sample{at, e})
	}
	slices.SortStableFunc(m.readings, func(a, b sample) int { return cmp.Compare(a.at, b.at) })
	return m, sh.Faults.Err()
}

// metersAgree is how far the sum of the points' meters may lie from the site
// meter, in per cent: a meter of class A is allowed 2 % (Measuring Instruments
// Directive 2014/32/EU, Annex V, Table 2, from memory), and there are two.
const metersAgree = 4

// Drift holds the points' meters against the site meter, between each two
// readings of it.
func (l *Ledger) Drift(m *siteMeter) []finding.Finding {
	l.Settle()
	var out []finding.Finding
	for i := 1; i < len(m.readings); i++ {
		a, z := m.readings[i-1], m.readings[i]
		f := finding.Finding{Clause: finding.Clause{Name: "common practice; Directive 2014/32/EU Annex V (from memory)", Document: "Directive 2014/32/EU"},
			Subject: "site meter, " + l.when(a.at) + " to " + l.when(z.at),
			What:    "the points' meters agree with the site meter", Key: "drift", Limit: percentOf(metersAgree),
			Source: finding.From("class A is allowed 2 %, on both sides", "from memory")}
		passed := z.register - a.register
		points, doubtful := l.between(a.at, z.at)
		f.Why = finding.Say("site meter %s, points %s", passed, points)
		switch {
		case passed < 0:
			f.Why = finding.Say("the site meter's register falls: it was reset or changed")
			f.Next = "read both meters and begin anew"
		case doubtful > 0:
			f.Why = f.Why.Then(finding.Say("%d sessions of that time are doubtful or without a stop", doubtful))
			f.Next = "settle the doubtful sessions first"
		case passed < 20*KWh:
			f.Next = "wait: below 20 kWh the last digits of the registers decide"
		default:
			off := 100 * float64(points-passed) / float64(passed)
			f.Value, f.Margin = percentOf(off), percentOf(metersAgree-max(off, -off))
			f.Verdict = finding.Meets
			if f.Margin.Number < 0 {
				f.Verdict = finding.Fails
				f.Next = "charge with a steady load for an hour and read both meters before and after; bill by neither until they agree"
				if off < 0 {
					f.Next += "; see whether anything but the points is fed through the site meter, and whether sessions are missing"
				}
			}
		}
		out = append(out, f)
	}
	if len(m.readings) < 2 {
		out = append(out, finding.Finding{Clause: finding.Practice, Subject: "site meter", What: "the points' meters agree with the site meter", Key: "drift",
			Why: finding.Say("%s holds %d readings", m.name, len(m.readings)), Next: "read the site meter on two days at least"})
	}
	return out
}

// between returns the energy of the sessions in a time, those that lie across
// its ends by their part, and how many of that time are not certain.
func (l *Ledger) between(from, to int64) (sum Energy, doubtful int) {
	l.Each(func(s *session) {
		switch {
		case s.State == Sound && s.Start < to && max(s.Stop, s.Start+1) > from:
			l.byHalfHour(s, func(h int64, e Energy) {
				if at := h * halfHour; at >= from && at < to {
					sum += e
				}
			})
		case (s.State == Doubtful || s.State == StopUnsaid) && s.Start >= from && s.Start < to:
			doubtful++
		}
	})
	return sum, doubtful
}
