package ledger

import (
	"io"
	"slices"

	"chargewright/sheet"
)

// surplus is the energy a site had left over from its own generation, by
// half-hour, had nobody charged: generation less all other consumption.
type surplus struct {
	halves map[int64]Energy // by half-hours since 1970
}

const halfHour = 1800

// readSurplus reads a table of half-hours: starting, kWh.
func readSurplus(file string, r io.Reader, s Settings) (*surplus, error) {
	sh, err := sheet.Read(file, r, "starting", "kwh")
	if err != nil {
		return nil, err
	}
	out := &surplus{halves: map[int64]Energy{}}
	c := sheet.Clock{Zone: s.Zone}
	for _, row := range sh.Rows {
		st, ok := sheet.ReadStamp([]byte(row.Get("starting")), s.MonthFirst)
		if !ok || int64(st.Wall)%halfHour != 0 {
			row.Fault("starting", row.Get("starting"), "the start of a half-hour is wanted, like 2026-11-25T14:30:00Z")
			continue
		}
		e, _, _, err := readEnergy([]byte(row.Get("kwh")), 6)
		if err != nil || e < 0 {
			row.Fault("kWh", row.Get("kwh"), "the energy left over in the half-hour, like 1.25; nothing left is 0")
			continue
		}
		at := int64(st.Wall) - st.Offset
		if !st.HasZone {
			var second int64
			var how sheet.Reading
			if at, second, how = c.Instants(st.Wall); how == sheet.Twice {
				if _, taken := out.halves[at/halfHour]; taken {
					at = second
				}
			}
		}
		if _, taken := out.halves[at/halfHour]; taken {
			row.Fault("starting", row.Get("starting"), "this half-hour stands here twice")
		}
		out.halves[at/halfHour] = e
	}
	return out, sh.Faults.Err()
}

// solarParts returns the solar part of every session, by its place in the
// ledger: each half-hour's surplus is shared among the sessions that drew in
// it, in proportion to what they drew, and none takes more than it drew. A
// session with a half-hour the surplus says nothing of has no known part.
func (l *Ledger) solarParts(sp *surplus) []Energy {
	if sp == nil {
		return nil
	}
	drawn := map[int64]Energy{}
	l.counted(func(s *session) { l.byHalfHour(s, func(h int64, e Energy) { drawn[h] += e }) })
	out := make([]Energy, 0, l.count())
	l.Each(func(s *session) {
		part := none
		if s.State == Sound {
			part = 0
			l.byHalfHour(s, func(h int64, e Energy) {
				left, known := sp.halves[h]
				switch {
				case part == none || e == 0:
				case !known:
					part = none
				default:
					part += share(e, min(left, drawn[h]), drawn[h])
				}
			})
		}
		out = append(out, part)
	})
	return slices.Clip(out)
}

// share is e × n / of.
func share(e, n, of Energy) Energy {
	return Energy(float64(e)*float64(n)/float64(of) + 0.5)
}

// byHalfHour calls f with the energy of a session in each half-hour, as it was
// read or spread evenly.
func (l *Ledger) byHalfHour(s *session, f func(half int64, e Energy)) {
	if s.State != Sound {
		return
	}
	if s.said >= 0 && s.saidCount > 1 {
		readings := l.samples[s.said : s.said+s.saidCount]
		for i := 1; i < len(readings); i++ {
			evenly(readings[i-1].at, readings[i].at, readings[i].register-readings[i-1].register, f)
		}
		return
	}
	to := s.Stop
	if s.Charging > 0 {
		to = min(to, s.Start+int64(s.Charging))
	}
	evenly(s.Start, to, s.Energy, f)
}

func evenly(from, to int64, e Energy, f func(half int64, e Energy)) {
	to = max(to, from+1)
	var done Energy
	for at := from; at < to; {
		end := min((at/halfHour+1)*halfHour, to)
		upTo := part(e, end-from, to-from)
		f(at/halfHour, upTo-done)
		done, at = upTo, end
	}
}
