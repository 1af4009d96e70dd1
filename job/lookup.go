package job

// Finding the parts of a job by name, and what feeds what.

import "strings"

func find[T any](of []T, is func(*T) bool) (*T, bool) {
	for i := range of {
		if is(&of[i]) {
			return &of[i], true
		}
	}
	return nil, false
}

// Board returns the board of that name.
func (j *Job) Board(name string) (*Board, bool) {
	return find(j.Boards, func(b *Board) bool { return b.Name == name })
}

// Circuit returns the circuit of that name.
func (j *Job) Circuit(name string) (*Circuit, bool) {
	return find(j.Circuits, func(c *Circuit) bool { return c.Name == name })
}

// Point returns the charge point of that name.
func (j *Job) Point(name string) (*Point, bool) {
	return find(j.Points, func(p *Point) bool { return p.Name == name })
}

// Load returns the load of that name.
func (j *Job) Load(name string) (*Load, bool) {
	return find(j.Loads, func(l *Load) bool { return l.Name == name })
}

// Electrode returns the electrode of that name.
func (j *Job) Electrode(name string) (*Electrode, bool) {
	return find(j.Electrodes, func(e *Electrode) bool { return e.Name == name })
}

// Limiter returns the limiter of that name.
func (j *Job) Limiter(name string) (*Limiter, bool) {
	return find(j.Limiters, func(l *Limiter) bool { return l.Name == name })
}

// Instrument returns the test instrument of that name.
func (j *Job) Instrument(name string) (*Instrument, bool) {
	return find(j.Instruments, func(i *Instrument) bool { return i.Name == name })
}

// RCD returns the board's shared RCD of that name.
func (b *Board) RCD(name string) (*BoardRCD, bool) {
	return find(b.RCDs, func(r *BoardRCD) bool { return r.Name == name })
}

// Leg returns the circuit's leg of that name.
func (c *Circuit) Leg(name string) (*Leg, bool) {
	return find(c.Legs, func(l *Leg) bool { return l.Name == name })
}

// FedBy returns the circuit that ends at the board, point or load of that
// name; false when none does, as for a board at the origin.
func (j *Job) FedBy(name string) (*Circuit, bool) {
	if name == "" {
		return nil, false
	}
	return find(j.Circuits, func(c *Circuit) bool { return c.To == name })
}

// Upstream returns the circuits from the origin down to the one that ends at
// the board, point or load of that name, that one last.
func (j *Job) Upstream(name string) []*Circuit {
	var up []*Circuit
	for c, ok := j.FedBy(name); ok && len(up) <= len(j.Circuits); c, ok = j.FedBy(c.From) {
		up = append([]*Circuit{c}, up...)
	}
	return up
}

// From returns the circuits that start at the board of that name, in order.
func (j *Job) From(board string) []*Circuit {
	var out []*Circuit
	for i := range j.Circuits {
		if board != "" && j.Circuits[i].From == board {
			out = append(out, &j.Circuits[i])
		}
	}
	return out
}

// Origin returns the boards fed straight from the supply, in order.
func (j *Job) Origin() []*Board {
	var out []*Board
	for i := range j.Boards {
		if j.Boards[i].FedFrom == theSupply {
			out = append(out, &j.Boards[i])
		}
	}
	return out
}

// Sources returns what is on site beside the street's supply, and whether
// anything is said of it: "none" is a word too.
func (s *Supply) Sources() (list []string, said bool) {
	for _, source := range s.OtherSources {
		if !strings.EqualFold(source, "none") {
			list = append(list, source)
		}
	}
	return list, len(s.OtherSources) > 0
}

// JudgementOn returns the judgement on a clause about a part of the job, if
// somebody answers for one and says what it rests on.
func (j *Job) JudgementOn(clause, about string) (Judgement, bool) {
	d, ok := find(j.Judgements, func(d *Judgement) bool {
		return d.Clause == clause && d.Reason != "" && d.Who != "" && (d.About == "" || strings.Contains(about, d.About))
	})
	if !ok {
		return Judgement{}, false
	}
	return *d, true
}
