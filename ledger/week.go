package ledger

import (
	"slices"

	"chargewright/sheet"
)

// meanWeek is the energy of a mean week by day, Monday first, and half-hour, and
// which half-hours are at the lowest price.
type meanWeek struct {
	Energy [7][48]Energy
	Cheap  [7][48]bool
}

// meanWeek lays the sessions of a statement over a mean week.
func (l *Ledger) Week(w wanted, st *Statement) meanWeek {
	var out meanWeek
	first, last, any := l.span(w)
	if !any {
		return out
	}
	fits := l.fitting(w)
	l.counted(func(s *session) {
		if fits(s, l.clock.Wall(s.Start)) {
			l.byHalfHour(s, func(h int64, e Energy) { out.add(l, h, e) })
		}
	})
	out.over(l.weeks(first, last))
	if st.timeline != nil {
		l.cheap(&out, st.timeline, last)
	}
	return out
}

// add adds an energy in a half-hour since 1970.
func (w *meanWeek) add(l *Ledger, half int64, e Energy) {
	wall := l.clock.Wall(half * halfHour)
	w.Energy[weekday(wall.Day())][int64(wall)%86400/halfHour] += e
}

// weeks is how many weeks lie between two instants, in days.
func (l *Ledger) weeks(first, last int64) int64 {
	return max(7, l.clock.Wall(last).Day()-l.clock.Wall(first).Day()+1)
}

// over makes sums over so many days those of a mean week.
func (w *meanWeek) over(days int64) {
	for d := range w.Energy {
		for h := range w.Energy[d] {
			w.Energy[d][h] = Energy(divide(int64(w.Energy[d][h])*7, days))
		}
	}
}

// draw adds an energy that flows at one power through stretches.
func (l *Ledger) draw(week *meanWeek, through []stretch, e Energy, p Rating) {
	flow(through, e, p, func(from, to int64, part Energy) {
		evenly(from, to, part, func(h int64, e Energy) { week.add(l, h, e) })
	})
}

// cheap marks the half-hours of the last whole week at its lowest price. A
// week at one price has none.
func (l *Ledger) cheap(w *meanWeek, tl *timeline, last int64) {
	monday := l.clock.Wall(last).Day() - 7
	at := func(day int64, h int) (unitPrice, bool) {
		u, _, _ := l.clock.Instants(sheet.Civil(day*86400 + int64(h)*halfHour))
		i := tl.find(u)
		return tl.steps[max(i, 0)].price, i >= 0 && tl.steps[i].band >= 0
	}
	var prices []unitPrice
	for d := range int64(7) {
		for h := range 48 {
			if p, ok := at(monday+d, h); ok {
				prices = append(prices, p)
			}
		}
	}
	if len(prices) == 0 || slices.Min(prices) == slices.Max(prices) {
		return
	}
	lowest := slices.Min(prices)
	for d := range int64(7) {
		for h := range 48 {
			p, ok := at(monday+d, h)
			w.Cheap[weekday(monday+d)][h] = ok && p == lowest
		}
	}
}
