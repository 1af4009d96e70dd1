package ledger

import (
	"cmp"
	"fmt"
	"slices"
)

// Settle holds every session against the others of its point: said twice,
// overlapping, registers that fall or leap, stops that were never said. Then
// it counts where every line went. Call it once all records are read.
func (l *Ledger) Settle() {
	if l.settled {
		return
	}
	l.settled = true
	l.passedBy = map[name]Energy{}
	l.refunds()
	order := l.byPoint()
	l.saidAgain(order)
	l.sameIdentifier()
	for from := 0; from < len(order); {
		to := from + 1
		for to < len(order) && l.at(order[to]).Point == l.at(order[from]).Point {
			to++
		}
		if l.at(order[from]).Point != 0 {
			l.along(order[from:to])
		} else {
			for _, i := range order[from:to] {
				l.unsaidStop(l.at(i), 0)
			}
		}
		from = to
	}
	l.tally()
	l.sortNotes()
}

// byPoint returns the sessions that are not doubtful, in order of point and start.
func (l *Ledger) byPoint() []uint32 {
	order := make([]uint32, 0, l.count())
	for i := range uint32(l.count()) {
		if s := l.at(i).State; s == Sound || s == StopUnsaid || s == Repeated {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(i, j uint32) int {
		a, b := l.at(i), l.at(j)
		switch {
		case a.Point != b.Point:
			return int(a.Point) - int(b.Point)
		case a.Start != b.Start:
			return cmp.Compare(a.Start, b.Start)
		}
		return cmp.Compare(i, j)
	})
	return order
}

// saidAgain finds a session that is said twice: same point, card, start, stop
// and energy. Where the point is not said, the rest must be the same.
func (l *Ledger) saidAgain(order []uint32) {
	for n, i := range order {
		s := l.at(i)
		if s.State == Repeated {
			continue
		}
		for _, j := range order[n+1:] {
			t := l.at(j)
			if t.Point != s.Point || t.Start != s.Start {
				break
			}
			if t.State == Repeated || t.Card != s.Card || t.Person != s.Person || t.Vehicle != s.Vehicle {
				continue
			}
			if t.id != s.id && t.id != 0 && s.id != 0 && s.Point == 0 {
				continue // two points that are not named may start in the same minute
			}
			switch {
			case t.Stop == s.Stop && t.Energy == s.Energy && (t.State == s.State) && (t.id == s.id || s.State == Sound && s.Energy > 0):
				l.repeat(t, s)
			case t.id == s.id && s.id != 0 && s.State == StopUnsaid && t.State == Sound && t.Energy >= s.Energy:
				l.repeat(s, t) // first said while it still ran
			case t.id == s.id && s.id != 0 && t.State == StopUnsaid && s.State == Sound && s.Energy >= t.Energy:
				l.repeat(t, s)
			}
			if s.State == Repeated {
				break
			}
		}
	}
}

func (l *Ledger) repeat(again, first *session) {
	again.State = Repeated
	l.note(again.File, again.Line, SaidTwice, "session", "", fmt.Sprintf("the same session as %s:%d, counted there", l.Tallies[first.File].File, first.Line))
	l.Notes[len(l.Notes)-1].Energy = again.Energy
}

// sameIdentifier doubts sessions of one point that carry one identifier and say
// different things. Points number their sessions apart from each other.
func (l *Ledger) sameIdentifier() {
	type mark struct {
		id    uint64
		point name
		i     uint32
	}
	marks := make([]mark, 0, l.count())
	for i := range uint32(l.count()) {
		if s := l.at(i); s.id != 0 && (s.State == Sound || s.State == StopUnsaid) {
			marks = append(marks, mark{s.id, s.Point, i})
		}
	}
	slices.SortFunc(marks, func(a, b mark) int {
		switch {
		case a.id != b.id:
			return cmp.Compare(a.id, b.id)
		case a.point != b.point:
			return int(a.point) - int(b.point)
		}
		return cmp.Compare(a.i, b.i)
	})
	for n := 0; n < len(marks); {
		m := n + 1
		for m < len(marks) && marks[m].id == marks[n].id && marks[m].point == marks[n].point {
			m++
		}
		if m-n > 1 {
			for _, k := range marks[n:m] {
				other := l.at(marks[n].i)
				if k.i == marks[n].i {
					other = l.at(marks[n+1].i)
				}
				l.doubt(l.at(k.i), "session", "", fmt.Sprintf("%s:%d has the same identifier and says something else: which of them is right?",
					l.Tallies[other.File].File, other.Line))
			}
		}
		n = m
	}
}

// along holds the sessions of one point against each other in time.
func (l *Ledger) along(order []uint32) {
	lanes := make([]lane, max(1, l.Outlets[l.names.text(l.at(order[0]).Point)]))
	for n, i := range order {
		s := l.at(i)
		if s.State == Doubtful || s.State == Repeated {
			continue
		}
		if s.State == StopUnsaid && len(lanes) == 1 {
			l.closeByNext(s, order[n+1:])
		}
		if s.State == StopUnsaid {
			l.unsaidStop(s, l.nextStart(order[n+1:]))
		}
		at := laneOf(lanes, s)
		last, latest := lanes[at].last, lanes[at].latest
		if latest != nil && latest.Stop-s.Start > int64(max(s.fine, latest.fine)) {
			l.overlap(latest, s)
		}
		if last != nil && s.State == Sound && last.State == Sound && last.To != none && s.From != none && s.From < last.To-registersAgree {
			l.note(s.File, s.Line, Noticed, "register at start", s.From.Exact()+" kWh",
				fmt.Sprintf("the session before, %s:%d, ended at %s kWh: the meter was reset or changed in between", l.Tallies[last.File].File, last.Line, last.To.Exact()))
		}
		if last != nil && s.State == Sound && s.From != none && last.To != none && s.From > last.To {
			l.passedBy[s.Point] += s.From - last.To
		}
		if s.State == Sound {
			lanes[at].last = s
			if latest == nil || s.Stop > latest.Stop || latest.State == Doubtful {
				lanes[at].latest = s
			}
		}
	}
}

// lane is the sessions of one outlet of a point.
type lane struct {
	last   *session // the one before
	latest *session // of those before, the one that stops last
}

// laneOf is the outlet that a session was on, where no column says: the one whose
// register it goes on from, else the first that is free. Where none is, it is the
// one that is free soonest.
func laneOf(lanes []lane, s *session) int {
	best, soonest := -1, 0
	for i, o := range lanes {
		if o.last != nil && s.From != none && o.last.To != none && abs(s.From-o.last.To) <= registersAgree {
			return i
		}
		free := o.latest == nil || o.latest.Stop-s.Start <= int64(max(s.fine, o.latest.fine))
		if free && best < 0 {
			best = i
		}
		if e := lanes[soonest].latest; e != nil && (o.latest == nil || o.latest.Stop < e.Stop) {
			soonest = i
		}
	}
	if best < 0 {
		return soonest
	}
	return best
}

// closeByNext closes a session whose stop was lost by what the next on its outlet
// begins with: the register says its energy, and its stop lies before that start.
func (l *Ledger) closeByNext(s *session, rest []uint32) {
	for _, i := range rest {
		next := l.at(i)
		if next.State != Sound && next.State != StopUnsaid {
			continue
		}
		if s.From == none || next.From == none || next.From < s.From || next.Start <= s.Start || s.To != none {
			return
		}
		passed := next.From - s.From
		if s.Energy != none && abs(s.Energy-passed) > registersAgree {
			return
		}
		s.To, s.Energy = next.From, passed
		l.estimate(s, next.Start, fmt.Sprintf("lost; %s:%d begins on the same outlet at %s with the register at %s kWh: the energy is %s kWh, less what was "+
			"counted between the two, and the stop is at the latest then", l.Tallies[next.File].File, next.Line, l.when(next.Start), next.From.Exact(), passed.Exact()))
		l.bound(s, s.Length())
		return
	}
}

// estimate closes a session and marks it.
func (l *Ledger) estimate(s *session, stop int64, text string) {
	s.State, s.Stop, s.estimated = Sound, stop, true
	l.note(s.File, s.Line, Estimated, "stop", "", text)
}

// refunds finds the session whose bill each refund takes back. The energy was
// delivered all the same; a refund of nothing here is doubtful.
func (l *Ledger) refunds() {
	l.refunded = map[*session]Money{}
	type place struct {
		point name
		at    int64
	}
	var ofPlace map[place]*session
	var ofID map[uint64]*session
	l.Each(func(s *session) {
		if s.State != Refund {
			return
		}
		if ofPlace == nil {
			ofPlace, ofID = map[place]*session{}, map[uint64]*session{}
			l.counted(func(o *session) {
				ofPlace[place{o.Point, o.Start}] = o
				if o.id != 0 {
					ofID[o.id] = o
				}
			})
		}
		of := ofPlace[place{s.Point, s.Start}]
		if o := ofID[s.id]; s.id != 0 && o != nil && o.Point == s.Point {
			of = o
		}
		if of == nil || s.Energy != none && abs(s.Energy) > of.Energy+registersAgree && of.Energy != none {
			l.doubt(s, "session", "", "it is negative or takes something back, and no session of these records began then on its point or has its number: "+
				"a refund of another record, a register reset, or a fault of the record")
			return
		}
		back := l.rare(s)
		l.refunded[of] += max(back.Billed, -back.Billed)
		l.note(s.File, s.Line, SetApart, "session", "", fmt.Sprintf("it takes back the bill of %s:%d; that energy was delivered all the same and stays counted",
			l.Tallies[of.File].File, of.Line))
	})
}

// nextStart returns when the next session of the point starts.
func (l *Ledger) nextStart(rest []uint32) int64 {
	for _, i := range rest {
		if s := l.at(i); s.State == Sound || s.State == StopUnsaid {
			return s.Start
		}
	}
	return 0
}

// overlap doubts two sessions of one point that run at the same time, unless
// their registers follow on each other: then the energies are right and the
// first stopped when the second started.
func (l *Ledger) overlap(a, b *session) {
	if a.To != none && b.From != none && b.From >= a.To && b.From-a.To <= registersAgree && b.Start > a.Start {
		l.note(a.File, a.Line, Corrected, "stop", l.when(a.Stop),
			fmt.Sprintf("%s:%d starts on the same point before it, and the registers follow on: the stop is taken as %s", l.Tallies[b.File].File, b.Line,
				l.when(b.Start)))
		a.Stop = b.Start
		l.bound(a, a.Length())
		return
	}
	where := func(s *session) string { return fmt.Sprintf("%s:%d", l.Tallies[s.File].File, s.Line) }
	text := "it runs at the same time as %s on the same point: one of the two is wrong, or the point has an outlet for each: then say so"
	l.doubt(a, "start and stop", "", fmt.Sprintf(text, where(b)))
	l.doubt(b, "start and stop", "", fmt.Sprintf(text, where(a)))
}

// unsaidStop bounds a session whose stop is not known by the start of the next
// on its point. Its energy counts; its time does not.
func (l *Ledger) unsaidStop(s *session, next int64) {
	if s.State != StopUnsaid {
		return
	}
	if s.Energy == none {
		l.doubt(s, "energy", "", "not said, and no later session of its outlet says the register it began with")
		return
	}
	if s.From == none && s.To != none && s.Energy == s.To {
		l.doubt(s, "energy", s.Energy.Exact()+" kWh", "it is the register itself: the register at the start is missing")
		return
	}
	if next == 0 && !l.Made.IsZero() {
		next = l.Made.Unix()
	}
	if next > s.Start {
		l.bound(s, next-s.Start)
	}
	if s.State != StopUnsaid {
		return
	}
	l.note(s.File, s.Line, Noticed, "stop", "", "not said: the energy is counted, the time is not, and it is priced only where the price is the same all through")
}

// tally counts where every line went.
func (l *Ledger) tally() {
	for i := range l.Tallies {
		t := &l.Tallies[i]
		t.Counted, t.Doubted, t.SaidTwice, t.Apart, t.EnergyCounted, t.EnergyDoubted, t.EnergyTwice = 0, 0, 0, 0, 0, 0, 0
	}
	l.Each(func(s *session) {
		t := &l.Tallies[s.File]
		e := s.Energy
		if e == none {
			e = 0
		}
		switch s.State {
		case Doubtful:
			t.Doubted++
			t.EnergyDoubted += e
		case Repeated:
			t.SaidTwice++
			t.EnergyTwice += e
		case Refund, Elsewhere:
			t.Apart++
		default:
			t.Counted++
			t.EnergyCounted += e
		}
	})
}
