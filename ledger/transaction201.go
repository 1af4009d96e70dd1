package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
)

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
