package ledger

import (
	"fmt"
	"time"

	"chargewright/sheet"
)

// Bounds that hold for any session. Common practice, no source, unless said.
const (
	registersAgree = KWh / 100  // energy said and difference of registers
	lengthsAgree   = 120        // seconds between the length said and the one of the times
	firstYear      = 1262304000 // 1 January 2010: earlier, a point's clock was not set
	// mostOfOne keeps the cost of a session within 64 bits: 100 MWh.
	mostOfOne = 100_000 * KWh
	// leastPower is a vehicle's least current, 6 A (IEC 61851-1 table A.8, from
	// memory), on one line at the least voltage a supply may have, 230 V − 6 %
	// (the regulation below, from memory). A mean below it over so long is no
	// charging time, or some of the energy is missing.
	leastPower  Rating = 6 * 216
	longAtLeast        = 3600
	// highVoltage: a current rated at 230 V may flow at 253 V, since the supply
	// may be 10 % high (Electricity Safety, Quality and Continuity Regulations
	// 2002, regulation 27(3), from memory).
	highVoltage = 110
	// anyPoint bounds the energy of a point whose rating is not known: 1 MW.
	anyPoint Rating = 1_000_000
)

// weigh decides what becomes of a session as far as its own line says.
func (l *Ledger) weigh(s *session, d said) {
	if h, known := l.Cards[l.names.text(s.Card)]; known {
		l.hold(s, h)
	}
	more := l.rare(s)
	if more.kind == Refund || s.Energy != none && s.Energy < 0 && s.From == none && s.To == none || more.billed && more.Billed < 0 {
		l.settleTimes(s, d)
		if s.State == Sound || s.State == StopUnsaid {
			s.State = Refund // settled once all is read
		}
		return
	}
	l.energyFromRegisters(s, d)
	l.settleTimes(s, d)
	if _, ours := l.Ratings[l.names.text(s.Point)]; more.kind == Elsewhere && (s.State == Sound || s.State == StopUnsaid) {
		if !ours || s.Point == 0 {
			s.State = Elsewhere
			l.note(s.File, s.Line, SetApart, "session", "", "said to be at a point of somebody else's: it is listed, and is none of this site's energy")
			l.Notes[len(l.Notes)-1].Energy = max(s.Energy, 0)
			return
		}
		l.note(s.File, s.Line, Noticed, "session", "", "said to be a stranger's, at a point of this site: its energy was delivered here and is counted")
	}
	if s.State == Doubtful {
		return
	}
	switch {
	case s.Energy == none && s.State == StopUnsaid && s.From != none: // what the next session begins with may say it
	case s.Energy == none:
		l.doubt(s, "energy", "", "not said, and there are no registers at start and stop to take it from")
	case s.Energy < 0:
		l.doubt(s, "energy", s.Energy.Exact()+" kWh", "a session delivers energy; a negative one is a register reset or a fault of the record")
	case s.Energy > mostOfOne:
		l.doubt(s, "energy", s.Energy.Exact()+" kWh", "no session delivers so much")
	case more.Solar != none && (more.Solar < 0 || more.Solar > s.Energy):
		l.doubt(s, "solar", more.Solar.Exact()+" kWh", "the part from solar surplus lies between nothing and the energy of the session")
	case s.Charging >= longAtLeast && s.Energy > 0 && s.Energy < energyOf(leastPower, int64(s.Charging)):
		l.doubt(s, "energy", s.Energy.Exact()+" kWh", fmt.Sprintf("%s of charging at the least current a vehicle is let have, 6 A, come to %s: the charging time "+
			"is not that, or some of the energy is missing", spell(int64(s.Charging)), energyOf(leastPower, int64(s.Charging))))
	case s.State == Sound:
		l.bound(s, s.Length())
	}
}

// hold fills in whose card it is.
func (l *Ledger) hold(s *session, h holder) {
	for _, one := range []struct {
		to   *name
		text string
	}{{&s.Person, h.Person}, {&s.Vehicle, h.Vehicle}, {&s.Centre, h.Centre}} {
		if *one.to == 0 {
			*one.to = l.names.number(one.text)
		}
	}
}

// energyFromRegisters holds the energy against the registers, or takes it
// from them.
func (l *Ledger) energyFromRegisters(s *session, d said) {
	if s.From == none || s.To == none {
		return
	}
	passed := s.To - s.From
	switch {
	case passed < 0:
		l.doubt(s, "register at stop", s.To.Exact()+" kWh", fmt.Sprintf("it is below the %s kWh at the start: the meter was reset or changed", s.From.Exact()))
	case !d.hasEnergy:
		s.Energy = passed
		l.note(s.File, s.Line, Corrected, "energy", "", fmt.Sprintf("not said; taken from the registers: %s − %s = %s kWh", s.To.Exact(), s.From.Exact(),
			passed.Exact()))
	case abs(s.Energy-passed) > registersAgree:
		l.doubt(s, "energy", s.Energy.Exact()+" kWh", fmt.Sprintf("it disagrees with the registers, %s − %s = %s kWh", s.To.Exact(), s.From.Exact(), passed.Exact()))
	}
}

func abs[N ~int64](n N) N {
	if n < 0 {
		return -n
	}
	return n
}

// settleTimes turns the times as written into instants.
func (l *Ledger) settleTimes(s *session, d said) {
	starts, startHow := l.candidates(d.start)
	stops, stopHow := l.candidates(d.stop)
	switch {
	case !d.hasStart && d.hasStop && d.hasLength && stopHow == sheet.Once:
		s.Stop, s.Start = stops[0], stops[0]-d.length
		l.note(s.File, s.Line, Corrected, "start", "", "not said; taken from the stop and the length: "+l.when(s.Start))
		l.inTime(s)
		return
	case !d.hasStart:
		l.doubt(s, "start", "", "not said: the session belongs to no month and no price")
		return
	case startHow == sheet.Skipped || d.hasStop && stopHow == sheet.Skipped:
		l.doubt(s, "start and stop", "", "a time lies in the hour the clocks left out when they went forward: it never was")
		s.Start = starts[0]
		return
	case !d.hasStop && d.hasLength && startHow == sheet.Once:
		s.Start, s.Stop = starts[0], starts[0]+d.length
		l.note(s.File, s.Line, Corrected, "stop", "", "not said; taken from the start and the length: "+l.when(s.Stop))
		l.inTime(s)
		return
	case !d.hasStop:
		s.Start = starts[0]
		if s.State == Sound {
			s.State = StopUnsaid
		}
		if startHow == sheet.Twice {
			l.doubt(s, "start", "", "it lies in the hour that was lived twice, when the clocks went back: nothing says in which pass")
		}
		l.inTime(s)
		return
	}
	l.choose(s, d, starts, stops, startHow == sheet.Twice || stopHow == sheet.Twice)
}

// candidates returns the instants a written time can mean.
func (l *Ledger) candidates(st sheet.Stamp) ([2]int64, sheet.Reading) {
	if st.HasZone {
		u := int64(st.Wall) - st.Offset
		return [2]int64{u, u}, sheet.Once
	}
	a, b, how := l.clock.Instants(st.Wall)
	return [2]int64{a, b}, how
}

// choose takes the one pair of instants that fits what is said.
func (l *Ledger) choose(s *session, d said, starts, stops [2]int64, open bool) {
	s.Start, s.Stop = starts[0], stops[0]
	if open {
		fits, first := 0, true
		for _, a := range distinct(starts) {
			for _, b := range distinct(stops) {
				if b < a || d.hasLength && abs(b-a-d.length) > lengthsAgree {
					continue
				}
				fits++
				s.Start, s.Stop = a, b
				first = a == starts[0] && b == stops[0]
			}
		}
		switch {
		case fits == 1:
			pass := "the second"
			if first {
				pass = "the first"
			}
			l.note(s.File, s.Line, Corrected, "start and stop", "",
				"a time lies in the hour that was lived twice, when the clocks went back; only "+pass+" pass fits what else is said")
		case fits > 1:
			s.Start, s.Stop = starts[0], stops[0]
			l.doubt(s, "start and stop", "", "a time lies in the hour that was lived twice, when the clocks went back, and nothing says in which pass: record "+
				"times with their offset")
			return
		}
	}
	length := s.Length()
	if length < 0 {
		l.doubt(s, "stop", l.when(s.Stop), "it lies before the start, "+l.when(s.Start))
		return
	}
	between := int64(d.stop.Wall - d.start.Wall) // what the two clock times differ by
	changed := !d.start.HasZone && !d.stop.HasZone && between != length
	switch {
	case d.hasLength && abs(length-d.length) > lengthsAgree && changed && abs(between-d.length) <= lengthsAgree:
		l.note(s.File, s.Line, Corrected, "length", spell(d.length),
			"the clocks changed during the session, which lasted "+spell(length)+
				" by them; the length was taken from the clock times, or the record's clock does not move with summer time: look which, and say the zone it keeps")
	case d.hasLength && abs(length-d.length) > lengthsAgree:
		l.doubt(s, "length", spell(d.length), "from start to stop it is "+spell(length))
		return
	case changed:
		l.note(s.File, s.Line, Noticed, "length", "", fmt.Sprintf("the clocks changed during the session: it lasted %s, and the clock times differ by %s",
			spell(length), spell(between)))
	}
	l.inTime(s)
}

func distinct(two [2]int64) []int64 {
	if two[0] == two[1] {
		return two[:1]
	}
	return two[:]
}

// inTime doubts a session that cannot lie where it is said to.
func (l *Ledger) inTime(s *session) {
	last := max(s.Start, s.Stop)
	switch {
	case s.Start < firstYear:
		l.doubt(s, "start", l.when(s.Start), "the point's clock was not set")
	case !l.Made.IsZero() && last > l.Made.Unix():
		l.doubt(s, "start and stop", l.when(last), "it lies after this was made, "+l.when(l.Made.Unix()))
	}
}

// bound holds the energy of a session against what the point can deliver in
// its time. The seconds its times are not written to are granted.
func (l *Ledger) bound(s *session, seconds int64) {
	rated, known := l.rating(s.Point)
	if !known {
		rated = anyPoint
	}
	granted := seconds
	if s.fine > 1 {
		granted += int64(s.fine)
	}
	most := energyOf(rated, granted)
	if s.Energy <= most/100*highVoltage || s.Energy <= energyOf(rated, 60) {
		return
	}
	whose := "a point rated " + rated.String() + " delivers"
	if !known {
		whose = "a point, even of 1 MW, delivers"
	}
	hint := ""
	if s.Energy/1000 <= most {
		hint = "; were it in Wh, it would fit"
	}
	l.doubt(s, "energy", s.Energy.Exact()+" kWh", fmt.Sprintf("it exceeds the %s %s in %s, even with the voltage 10 %% high%s",
		Energy(energyOf(rated, seconds)), whose, spell(seconds), hint))
}

// energyOf is what a power delivers in a time.
func energyOf(p Rating, seconds int64) Energy {
	return Energy(divide(int64(p)*1000*seconds, 3600))
}

// String prints the rating in kW.
func (r Rating) String() string { return Energy(int64(r)*1000).Exact() + " kW" }

// when prints an instant by the clock of the site.
func (l *Ledger) when(instant int64) string {
	return time.Unix(instant, 0).In(l.Zone).Format("2006-01-02 15:04 MST")
}

// spell prints a length of time.
func spell(seconds int64) string {
	switch {
	case seconds < 0:
		return "−" + spell(-seconds)
	case seconds < 60:
		return fmt.Sprintf("%d s", seconds)
	case seconds < 3600:
		return fmt.Sprintf("%d min", seconds/60)
	case seconds%3600 < 60:
		return fmt.Sprintf("%d h", seconds/3600)
	}
	return fmt.Sprintf("%d h %02d min", seconds/3600, seconds%3600/60)
}
