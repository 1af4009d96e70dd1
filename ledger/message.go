package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
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
	s        Session
	outlet   outlet
	id       string
	readings []sample
	limited  int64
	held     int64 // since when it is held back, 0 when it is not
	done     bool
	told     bool // it says whether it is held back
}

// AreMessages reports whether a record that opens with these bytes holds
// messages rather than a table.
func AreMessages(opening []byte) bool {
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
	m := &messages{l: l, file: index, tally: &l.Tallies[index], waiting: map[asked]*running{}, starts: map[began]*running{}, running: map[transaction]*running{}, ended: map[transaction]bool{}, states: map[outlet]state{}}
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
			Point string
			Raw   string
			Frame json.RawMessage
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
			m.tally.Other++ // a remark about the link
			return
		}
	}
	if err := json.Unmarshal(line, &frame); err != nil {
		m.fault("frame", "a frame [2, id, action, payload] is wanted: "+err.Error())
		return
	}
	var kind int
	var id, action string
	if len(frame) < 3 || json.Unmarshal(frame[0], &kind) != nil || json.Unmarshal(frame[1], &id) != nil || kind == 2 && (len(frame) < 4 || json.Unmarshal(frame[2], &action) != nil) {
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
	r.s = Session{Line: m.number, File: m.file, Energy: none, From: none, To: none, Solar: none, Limited: -1, said: -1, fine: 1,
		Start: at, Point: m.outletName(n), Card: m.l.names.number(string(bytes.Map(printable, []byte(card))))}
	if st := m.states[r.outlet]; st.heldBack {
		r.held, r.told = at, true
	}
	m.order = append(m.order, r)
	return r
}

func (m *messages) start(id string, payload json.RawMessage) error {
	var p struct {
		ConnectorID int
		IDTag       string
		MeterStart  *json.Number
		Timestamp   string
	}
	if err := json.Unmarshal(payload, &p); err != nil {
		return err
	}
	at, err := instant(p.Timestamp)
	if err != nil {
		return err
	}
	key := began{outlet{m.point, p.ConnectorID}, at}
	if r := m.starts[key]; r != nil { // sent again after a lost link
		m.waiting[asked{m.point, id}] = r
		m.l.note(m.file, m.number, SaidTwice, "StartTransaction", "", fmt.Sprintf("the same start as on line %d; the session is counted once", r.s.Line))
		return nil
	}
	r := m.begin(p.ConnectorID, p.IDTag, at)
	m.starts[key] = r
	if p.MeterStart != nil {
		if r.s.From, err = register(*p.MeterStart, 3); err != nil {
			return err
		}
	}
	m.waiting[asked{m.point, id}] = r
	return nil
}

// answer gives a started session its number.
func (m *messages) answer(id string, payload json.RawMessage) (bool, error) {
	key := asked{m.point, id}
	r := m.waiting[key]
	if r == nil {
		return false, nil
	}
	delete(m.waiting, key)
	var p struct{ TransactionID json.Number }
	if err := json.Unmarshal(payload, &p); err != nil {
		return true, err
	}
	r.id = p.TransactionID.String()
	m.running[transaction{m.point, r.id}] = r
	return true, nil
}

func (m *messages) stop(payload json.RawMessage) error {
	var p struct {
		TransactionID   json.Number
		MeterStop       *json.Number
		Timestamp       string
		Reason          string
		TransactionData []meterValue
	}
	if err := json.Unmarshal(payload, &p); err != nil {
		return err
	}
	at, err := instant(p.Timestamp)
	if err != nil {
		return err
	}
	key := transaction{m.point, p.TransactionID.String()}
	r := m.running[key]
	if r == nil {
		if m.ended[key] {
			m.l.note(m.file, m.number, SaidTwice, "StopTransaction", key.id, "this session was stopped before; the first stop holds")
			return nil
		}
		r = m.begin(1, "", 0)
		r.s.State = Doubtful
		m.l.note(m.file, m.number, Doubted, "StopTransaction", key.id, "its start is not in the record")
	}
	if p.MeterStop != nil {
		if r.s.To, err = register(*p.MeterStop, 3); err != nil {
			return err
		}
	}
	r.read(p.TransactionData, at)
	m.end(r, key, at, p.Reason)
	return nil
}

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

func (m *messages) values(payload json.RawMessage) (bool, error) {
	var p struct {
		TransactionID json.Number
		MeterValue    []meterValue
	}
	if err := json.Unmarshal(payload, &p); err != nil {
		return false, err
	}
	r := m.running[transaction{m.point, p.TransactionID.String()}]
	if r == nil {
		return false, nil
	}
	r.read(p.MeterValue, 0)
	return true, nil
}

func (m *messages) status(payload json.RawMessage) (bool, error) {
	var p struct {
		ConnectorID     int
		EVSEID          int
		Status          string
		ConnectorStatus string
		ErrorCode       string
		Timestamp       string
	}
	if err := json.Unmarshal(payload, &p); err != nil {
		return false, err
	}
	at, err := instant(p.Timestamp)
	if err != nil {
		at = 0
	}
	n := max(p.ConnectorID, 1)
	if p.EVSEID > 0 {
		n = p.EVSEID
	}
	key := outlet{m.point, n}
	before := m.states[key]
	now := state{heldBack: p.Status == "SuspendedEVSE"}
	switch {
	case p.ErrorCode != "" && p.ErrorCode != "NoError":
		now.fault = p.ErrorCode
	case p.Status == "Faulted" || p.ConnectorStatus == "Faulted":
		now.fault = "Faulted"
	}
	m.states[key] = now
	for _, r := range m.running {
		if r.outlet == key && p.Status != "" && at != 0 {
			r.hold(now.heldBack, at)
			r.told = true
		}
	}
	if now.fault != "" && now.fault != before.fault {
		m.l.Events = append(m.l.Events, Event{Point: m.l.names.text(m.outletName(n)), At: at, Code: now.fault, File: m.tally.File, Line: int(m.number)})
	}
	return now.fault != "" || now.heldBack || before.heldBack, nil
}

// event reads a TransactionEvent of version 2.0.1.
func (m *messages) event(payload json.RawMessage) error {
	var p struct {
		EventType       string
		Timestamp       string
		TransactionInfo struct {
			TransactionID string
			ChargingState string
			StoppedReason string
		}
		IDToken    struct{ IDToken string }
		EVSE       struct{ ID int }
		MeterValue []meterValue
	}
	if err := json.Unmarshal(payload, &p); err != nil {
		return err
	}
	at, err := instant(p.Timestamp)
	if err != nil {
		return err
	}
	key := transaction{m.point, p.TransactionInfo.TransactionID}
	if key.id == "" {
		return fmt.Errorf("a TransactionEvent names its transaction; this one does not")
	}
	r := m.running[key]
	switch {
	case r == nil && m.ended[key]:
		m.l.note(m.file, m.number, SaidTwice, "TransactionEvent", key.id, "this session has ended; what comes after is left aside")
		return nil
	case r == nil:
		r = m.begin(max(p.EVSE.ID, 1), p.IDToken.IDToken, at)
		r.id = key.id
		m.running[key] = r
		if p.EventType != "Started" {
			r.s.State = Doubtful
			m.l.note(m.file, m.number, Doubted, "TransactionEvent", key.id, "its start is not in the record")
		}
	}
	if r.s.Card == 0 && p.IDToken.IDToken != "" {
		r.s.Card = m.l.names.number(string(bytes.Map(printable, []byte(p.IDToken.IDToken))))
	}
	r.read(p.MeterValue, at)
	if c := p.TransactionInfo.ChargingState; c != "" {
		r.hold(c == "SuspendedEVSE", at)
		r.told = true
	}
	if p.EventType == "Ended" {
		m.end(r, key, at, p.TransactionInfo.StoppedReason)
	}
	return nil
}

// meterValue is readings taken at one time, in both versions.
type meterValue struct {
	Timestamp    string
	SampledValue []struct {
		Value         json.RawMessage
		Measurand     string
		Phase         string
		Unit          string
		UnitOfMeasure struct {
			Unit       string
			Multiplier int
		}
	}
}

// read keeps the readings of the energy register.
func (r *running) read(values []meterValue, otherwise int64) {
	for _, v := range values {
		at, err := instant(v.Timestamp)
		if err != nil {
			at = otherwise
		}
		for _, s := range v.SampledValue {
			if s.Phase != "" || s.Measurand != "" && s.Measurand != "Energy.Active.Import.Register" || at == 0 {
				continue
			}
			places := 3 // Wh unless it says otherwise
			if s.Unit == "kWh" || s.UnitOfMeasure.Unit == "kWh" {
				places = 6
			}
			if e, err := register(json.Number(bytes.Trim(s.Value, `"`)), places+s.UnitOfMeasure.Multiplier); err == nil {
				r.readings = append(r.readings, sample{at, e})
			}
		}
	}
}

func register(n json.Number, places int) (Energy, error) {
	text := n.String()
	if places < 0 || places > 12 {
		return none, fmt.Errorf("register is %q in a unit no meter counts in", text)
	}
	e, _, ok := number([]byte(text), places)
	if !ok || e > 1_000_000_000*int64(KWh) {
		return none, fmt.Errorf("register is %q: what the meter has counted is wanted, in Wh", text)
	}
	return Energy(e), nil
}

func instant(text string) (int64, error) {
	st, ok := readStamp([]byte(text), false)
	if !ok {
		return 0, fmt.Errorf("timestamp is %q: a date and time with its offset is wanted, like 2026-11-25T14:05:30Z", text)
	}
	return int64(st.wall) - st.offset, nil
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
			if s.From == none {
				s.From = r.readings[0].register
			}
			if s.To == none {
				s.To = r.readings[n-1].register
			}
		}
		if s.From != none && s.To != none {
			s.Energy = s.To - s.From
		}
		switch {
		case s.State == Doubtful:
			m.l.keepKnown(s)
		case !r.done:
			m.l.doubt(s, "stop", "", "it has not stopped in this record: read on, or look whether its stop was lost")
		default:
			d := said{hasStart: true, hasStop: true, hasEnergy: s.Energy != none}
			d.start = stamp{wall: civil(s.Start), hasZone: true, fine: 1}
			d.stop = stamp{wall: civil(s.Stop), hasZone: true, fine: 1}
			m.l.weigh(s, d)
			m.l.keepReadings(s, r.readings)
		}
	}
}

// keepKnown makes a doubtful session's energy one that can be listed.
func (l *Ledger) keepKnown(s *Session) {
	if s.Energy != none && s.Energy < 0 {
		s.Energy = none
	}
}

// keepReadings keeps the readings of a session that is counted, from its start
// to its stop. A register that falls in between is a doubt.
func (l *Ledger) keepReadings(s *Session, readings []sample) {
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
