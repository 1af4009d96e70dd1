package ledger

import (
	"cmp"
	"slices"
	"sort"
	"time"

	"chargewright/sheet"
)

// timeline is a tariff laid out in time: from each instant on, one price, up to
// the next instant.
type timeline struct {
	Tariff *priceList
	Bands  []string
	steps  []step
	clock  sheet.Clock
}

type step struct {
	at    int64
	price unitPrice
	band  int8 // −1 where the tariff has no price
}

// mostBands is how many bands a statement keeps apart.
const mostBands = 8

// timeline lays the tariff out over the time from one instant to another.
// Two prices at once are an error that names both lines.
func (t *priceList) Timeline(zone *time.Location, from, to int64) (*timeline, error) {
	tl := &timeline{Tariff: t, clock: sheet.Clock{Zone: zone}}
	type span struct {
		from, to int64
		price    unitPrice
		band     int8
		line     int32
	}
	var spans []span
	if len(t.halves) > 0 {
		tl.Bands = []string{"half-hours"}
		for _, h := range t.halves {
			first, second := int64(h.at.Wall)-h.at.Offset, int64(0)
			if !h.at.HasZone {
				var how sheet.Reading
				first, second, how = tl.clock.Instants(h.at.Wall)
				if how == sheet.Twice { // the second pass comes as a second row
					for _, s := range spans {
						if s.from == first {
							first = second
							break
						}
					}
				}
			}
			spans = append(spans, span{first, first + 1800, h.price, 0, int32(h.line)})
		}
	}
	firstDay, lastDay := tl.clock.Wall(from).Day()-2, tl.clock.Wall(to).Day()+longestUnsaid/86400+1
	for _, r := range t.rates {
		band := tl.band(r.band)
		for day := max(firstDay, r.from-1); day <= min(lastDay, r.until+1); day++ {
			if !r.holds(day) || r.days&(1<<weekday(day)) == 0 {
				continue
			}
			a, b := int64(day*86400)+int64(r.begin)*60, int64(day*86400)+int64(r.end)*60
			if !r.utc {
				a, _, _ = tl.clock.Instants(sheet.Civil(a))
				b, _, _ = tl.clock.Instants(sheet.Civil(b))
			}
			spans = append(spans, span{a, b, r.price, band, int32(r.line)})
		}
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	end := int64(-1 << 62)
	for i, s := range spans {
		if t.schedule {
			s.from = max(s.from, end)
		}
		switch {
		case s.to <= s.from && t.schedule:
			continue
		case i > 0 && s.from < end:
			return nil, t.clash(int(s.line), int(spans[i-1].line), time.Unix(s.from, 0).In(zone).Format("2 January 2006 15:04"))
		case s.from > end:
			tl.steps = append(tl.steps, step{at: end, band: -1})
		}
		if s.to <= s.from {
			continue
		}
		if n := len(tl.steps); tl.steps[n-1].price != s.price || tl.steps[n-1].band != s.band {
			tl.steps = append(tl.steps, step{s.from, s.price, s.band})
		}
		end = s.to
	}
	tl.steps = append(tl.steps, step{at: end, band: -1})
	return tl, nil
}

// band returns the number of a band; those beyond the most share the last.
func (tl *timeline) band(name string) int8 {
	i := slices.Index(tl.Bands, name)
	if i < 0 {
		if len(tl.Bands) == mostBands {
			tl.Bands[mostBands-1] = "other bands"
			return mostBands - 1
		}
		i = len(tl.Bands)
		tl.Bands = append(tl.Bands, name)
	}
	return int8(i)
}

// weekday returns the day of the week of a day's number, 0 for Monday.
func weekday(day int64) int { return int((day%7 + 10) % 7) } // 1 January 1970 was a Thursday

// find returns the number of the step that holds at an instant.
func (tl *timeline) find(at int64) int {
	return sort.Search(len(tl.steps), func(i int) bool { return tl.steps[i].at > at }) - 1
}

// end returns when a step ends.
func (tl *timeline) end(i int) int64 {
	if i+1 < len(tl.steps) {
		return tl.steps[i+1].at
	}
	return 1 << 62
}
