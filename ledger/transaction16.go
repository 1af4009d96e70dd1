package ledger

import (
	"encoding/json"
	"fmt"
)

// start reads a StartTransaction of version 1.6.
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

// stop reads a StopTransaction of version 1.6.
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

// values reads MeterValues of version 1.6.
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

// status reads a StatusNotification, of either version.
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
		m.l.Events = append(m.l.Events, pointEvent{Point: m.l.names.text(m.outletName(n)), At: at, Code: now.fault, File: m.tally.File, Line: int(m.number)})
	}
	return now.fault != "" || now.heldBack || before.heldBack, nil
}
