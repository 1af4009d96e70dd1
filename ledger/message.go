package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"

	"chargewright/sheet"
)

// messages reads a record of messages between points and their central system:
// a JSON value a line, either {"at", "point", "from", "raw"} as the commissioning
// bench keeps them, with the frame as text in "raw" (or as it is in "frame"),
// or a bare frame [2, id, action, payload] of one point.
//
// Source of the forms: OCPP 1.6 (StartTransaction, StopTransaction,
// MeterValues, StatusNotification) and OCPP 2.0.1 (TransactionEvent,
// StatusNotification), from memory.
type messages struct {
	l      *Ledger
	file   uint8
	tally  *Tally
	number int32

	waiting map[asked]*running // 1.6: a start whose number is not given yet
	starts  map[began]*running
	running map[transaction]*running
	ended   map[transaction]bool
	order   []*running // as they started
	states  map[outlet]state
	point   string // of the line
}

type asked struct{ point, id string }
type transaction struct{ point, id string }
type began struct {
	outlet outlet
	at     int64
}
type outlet struct {
	point string
	n     int
}

// state is what an outlet last said of itself.
type state struct {
	heldBack bool
	fault    string
}

// running is a session while its messages come in.
type running struct {
	s        session
	outlet   outlet
	id       string
	readings []sample
	limited  int64
	held     int64 // since when it is held back, 0 when it is not
	done     bool
	told     bool // it says whether it is held back
	opened   bool // one of its readings is that of its begin
}

// areMessages reports whether a record that opens with these bytes holds
// messages rather than a table.
func areMessages(opening []byte) bool {
	opening = bytes.TrimSpace(bytes.TrimPrefix(opening, []byte("\xef\xbb\xbf")))
	return len(opening) > 0 && (opening[0] == '{' || opening[0] == '[')
}

// ReadMessages reads a record of messages. Lines that cannot be read are kept
// as notes.
func (l *Ledger) ReadMessages(file string, r io.Reader) error {
	index, err := l.open(file)
	if err != nil {
		return err
	}
	m := &messages{l: l, file: index, tally: &l.Tallies[index], waiting: map[asked]*running{}, starts: map[began]*running{},
		running: map[transaction]*running{}, ended: map[transaction]bool{}, states: map[outlet]state{}}
	m.tally.messages = true
	in := newLines(r)
	for {
		line, more := in.next()
		if !more {
			break
		}
		m.number = in.number
		m.tally.Lines++
		line = bytes.TrimSpace(line)
		switch {
		case in.long:
			m.fault("", "the message is longer than any may be")
		case len(line) == 0:
			m.tally.Blank++
		default:
			m.line(line)
		}
	}
	if in.err != nil {
		err = fmt.Errorf("%s: reading stopped after line %d: %w", file, in.number, in.err)
	}
	m.close()
	return err
}

func (m *messages) fault(field, text string) {
	m.tally.Faulty++
	m.l.note(m.file, m.number, Faulty, field, "", text)
}

// line reads one line and says where it went.
func (m *messages) line(line []byte) {
	var frame []json.RawMessage
	m.point = m.l.Point
	if line[0] == '{' {
		var outer struct {
			At    string
			Point string
			Raw   string
			Frame json.RawMessage
			Lost  bool
		}
		if err := json.Unmarshal(line, &outer); err != nil {
			m.fault("line", "a message is wanted, as JSON on one line: "+err.Error())
			return
		}
		if outer.Point != "" {
			m.point = outer.Point
		}
		line = outer.Frame
		if outer.Raw != "" {
			line = []byte(outer.Raw)
		}
		if len(line) == 0 {
			m.link(outer.At, outer.Lost)
			return
		}
	}
	if err := json.Unmarshal(line, &frame); err != nil {
		m.fault("frame", "a frame [2, id, action, payload] is wanted: "+err.Error())
		return
	}
	var kind int
	var id, action string
	if len(frame) < 3 || json.Unmarshal(frame[0], &kind) != nil || json.Unmarshal(frame[1], &id) != nil || kind == 2 &&
		(len(frame) < 4 || json.Unmarshal(frame[2], &action) != nil) {
		m.fault("frame", "a frame [2, id, action, payload] or [3, id, payload] is wanted")
		return
	}
	used, err := false, error(nil)
	switch {
	case kind == 3:
		used, err = m.answer(id, frame[2])
	case kind == 2:
		used, err = m.call(id, action, frame[3])
	}
	switch {
	case err != nil:
		m.fault(action, err.Error())
	case used:
		m.tally.Used++
	default:
		m.tally.Other++
	}
}

// link reads what became of the link: that it broke is a fault to know of.
func (m *messages) link(at string, lost bool) {
	when, err := instant(at)
	if !lost || err != nil {
		m.tally.Other++
		return
	}
	m.tally.Used++
	m.l.Events = append(m.l.Events, pointEvent{Point: m.l.names.text(m.outletName(1)), At: when, Code: linkBroken, File: m.tally.File, Line: int(m.number)})
}

func (m *messages) call(id, action string, payload json.RawMessage) (bool, error) {
	switch action {
	case "StartTransaction":
		return true, m.start(id, payload)
	case "StopTransaction":
		return true, m.stop(payload)
	case "MeterValues":
		return m.values(payload)
	case "StatusNotification":
		return m.status(payload)
	case "TransactionEvent":
		return true, m.event(payload)
	}
	return false, nil
}

// outletName names the outlet of a point: the first by the point alone.
func (m *messages) outletName(n int) name {
	text := m.point
	if n > 1 {
		text += "/" + strconv.Itoa(n)
	}
	return m.l.names.number(string(bytes.Map(printable, []byte(text))))
}

func (m *messages) begin(n int, card string, at int64) *running {
	r := &running{outlet: outlet{m.point, n}}
	r.s = session{Line: m.number, File: m.file, Energy: none, From: none, To: none, Limited: -1, said: -1, fine: 1,
		Start: at, Point: m.outletName(n), Card: m.l.names.number(string(bytes.Map(printable, []byte(card))))}
	if st := m.states[r.outlet]; st.heldBack {
		r.held, r.told = at, true
	}
	m.order = append(m.order, r)
	return r
}

// end ends a session.
func (m *messages) end(r *running, key transaction, at int64, reason string) {
	r.s.Stop = at
	if reason == "" {
		reason = "Local" // what both versions mean when they say nothing
	}
	r.s.Reason = m.l.names.number(string(bytes.Map(printable, []byte(reason))))
	r.hold(false, at)
	r.done = true
	delete(m.running, key)
	m.ended[key] = true
}

// hold keeps account of the time a session is held back.
func (r *running) hold(back bool, at int64) {
	if r.held != 0 && at > r.held {
		r.limited += at - r.held
	}
	r.held = 0
	if back {
		r.held, r.told = at, true
	}
}

// close turns what has come in into sessions.
func (m *messages) close() {
	for _, r := range m.order {
		s := m.l.add(r.s)
		if r.told {
			s.Limited = int32(min(r.limited, 1<<30))
		}
		if r.id != "" {
			s.id = fingerprint([]byte(m.point + "\x00" + r.id + "\x00" + strconv.FormatInt(r.s.Start, 10)))
		}
		slices.SortStableFunc(r.readings, func(a, b sample) int { return int(a.at - b.at) })
		if n := len(r.readings); n > 0 {
			end := n > 1 || s.From != none && !r.opened // one reading is not a begin and an end
			if s.From == none {
				s.From = r.readings[0].register
			}
			if s.To == none && end {
				s.To = r.readings[n-1].register
			}
		}
		if s.From != none && s.To != none {
			s.Energy = s.To - s.From
		}
		switch {
		case s.State == Doubtful:
			m.l.keepKnown(s)
		case !r.done && m.closeLost(s, r):
		case !r.done:
			m.l.doubt(s, "stop", "", "it has not stopped in this record: read on, or look whether its stop was lost")
		default:
			d := said{hasStart: true, hasStop: true, hasEnergy: s.Energy != none}
			d.start = sheet.Stamp{Wall: sheet.Civil(s.Start), HasZone: true, Fine: 1}
			d.stop = sheet.Stamp{Wall: sheet.Civil(s.Stop), HasZone: true, Fine: 1}
			m.l.weigh(s, d)
			m.l.keepReadings(s, r.readings)
		}
	}
}

// closeLost closes a session whose stop never came though another began on its
// outlet since: at the last reading, and with the register the next began at.
func (m *messages) closeLost(s *session, r *running) bool {
	var next *running
	for _, o := range m.order {
		if o.outlet == r.outlet && o.s.Start > s.Start && (next == nil || o.s.Start < next.s.Start) {
			next = o
		}
	}
	if next == nil || s.From == none {
		return false
	}
	stop, how := next.s.Start, "the next session of its outlet began then, on line "+strconv.Itoa(int(next.s.Line))
	if n := len(r.readings); n > 0 && r.readings[n-1].at > s.Start && r.readings[n-1].at < stop {
		stop, how = r.readings[n-1].at, "its last reading is of then"
		s.To = r.readings[n-1].register
	}
	if next.s.From != none && next.s.From >= s.From {
		s.To = next.s.From
	}
	if s.To == none || s.To < s.From {
		return false
	}
	s.Energy = s.To - s.From
	m.l.estimate(s, stop, fmt.Sprintf("lost: taken as %s, since %s; the energy is what the register rose by, %s kWh", m.l.when(stop), how, s.Energy.Exact()))
	d := said{hasStart: true, hasStop: true, hasEnergy: true}
	d.start = sheet.Stamp{Wall: sheet.Civil(s.Start), HasZone: true, Fine: 1}
	d.stop = sheet.Stamp{Wall: sheet.Civil(s.Stop), HasZone: true, Fine: 1}
	m.l.weigh(s, d)
	m.l.keepReadings(s, r.readings)
	return true
}

// keepKnown makes a doubtful session's energy one that can be listed.
func (l *Ledger) keepKnown(s *session) {
	if s.Energy != none && s.Energy < 0 {
		s.Energy = none
	}
}

// keepReadings keeps the readings of a session that is counted, from its start
// to its stop. A register that falls in between is a doubt.
func (l *Ledger) keepReadings(s *session, readings []sample) {
	if s.State != Sound || len(readings) == 0 {
		return
	}
	kept := []sample{{s.Start, s.From}}
	for _, r := range readings {
		last := kept[len(kept)-1]
		if r.at <= last.at || r.at >= s.Stop {
			continue
		}
		if r.register < last.register || r.register > s.To {
			l.doubt(s, "register", r.register.Exact()+" kWh", "it falls during the session: the meter was reset or changed")
			return
		}
		kept = append(kept, r)
	}
	kept = append(kept, sample{s.Stop, s.To})
	s.said, s.saidCount = int32(len(l.samples)), int32(len(kept))
	l.samples = append(l.samples, kept...)
}
