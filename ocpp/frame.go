// Package ocpp speaks and hears the Open Charge Point Protocol, versions 1.6J,
// 2.0.1 and 2.1, as a central system does. It keeps every message, and puts what a
// point tells into events that are the same in both versions. It holds nobody
// to anything: what an event is worth is judged in package commission.
//
// Its parts: a frame and a link of frames; the two dialects and one table of
// their words; a gate that points join at, a central system behind it, a station
// for each point, its journal; the clock they all go by.
package ocpp

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"
	"unicode/utf8"
)

// frameKind is the first number of an OCPP frame.
type frameKind int

// The kinds of frame. Source: OCPP-J 1.6 section 4.1.3; OCPP 2.0.1 Part 4.
const (
	Call   frameKind = 2 // a question
	Result frameKind = 3 // its answer
	Fault  frameKind = 4 // the answer that it could not be understood or done
)

// What both ends keep to. The length of an id is that of OCPP-J 1.6 section
// 4.1.4; the rest is engineering judgement, the protocol sets none.
const (
	longestID       = 36
	longestName     = 50
	MostBytes       = 256 << 10
	HeartbeatEvery  = 300 * time.Second // given at boot
	PretendedVendor = "Invented"        // the maker a point names that is started for training
)

// Codes of a Fault. 1.6 as printed spells two of them FormationViolation and
// OccurenceConstraintViolation; its errata and 2.0.1 as below. A reader takes
// all four.
const (
	NotImplemented = "NotImplemented"
	NotSupported   = "NotSupported"
	formatFault    = "FormatViolation"
	formationFault = "FormationViolation"
	internalFault  = "InternalError"
)

// Frame is one OCPP message.
type Frame struct {
	Kind    frameKind
	ID      string
	Action  string          // of a Call
	Payload json.RawMessage // of a Call or Result; details of a Fault
	Code    string          // of a Fault
	Text    string          // of a Fault
}

// frameError says why bytes are no frame. ID is the message's own, where it
// could be read, so that it can be answered.
type frameError struct{ ID, Why string }

func (e *frameError) Error() string { return "no OCPP frame: " + e.Why }

// ReadFrame reads one frame.
//
//	[2, id, action, payload]             a question
//	[3, id, payload]                     its answer
//	[4, id, code, text, details]         a refusal
//	source  OCPP-J 1.6 section 4; OCPP 2.0.1 Part 4
func ReadFrame(raw []byte) (Frame, error) {
	if len(raw) > MostBytes {
		return Frame{}, &frameError{Why: fmt.Sprintf("it is longer than %d KiB", MostBytes>>10)}
	}
	if !utf8.Valid(raw) {
		return Frame{}, &frameError{Why: "it is not UTF-8 text"}
	}
	var parts []json.RawMessage
	if err := json.Unmarshal(raw, &parts); err != nil {
		return Frame{}, &frameError{Why: "it is no JSON list"}
	}
	var f Frame
	if len(parts) < 3 {
		return f, &frameError{Why: fmt.Sprintf("it has %d parts where three or more are wanted", len(parts))}
	}
	if json.Unmarshal(parts[1], &f.ID) != nil || f.ID == "" {
		return f, &frameError{Why: "its second part, the message's id, is no text"}
	}
	if len(f.ID) > longestID {
		return f, &frameError{Why: fmt.Sprintf("its id is longer than %d letters", longestID)}
	}
	bad := func(why string) (Frame, error) { return f, &frameError{ID: f.ID, Why: why} }
	if json.Unmarshal(parts[0], &f.Kind) != nil {
		return bad("its first part is no number")
	}
	switch f.Kind {
	case Call:
		if len(parts) != 4 || json.Unmarshal(parts[2], &f.Action) != nil || f.Action == "" || len(f.Action) > longestName {
			return bad("a question has four parts: 2, id, action, payload")
		}
		f.Payload = parts[3]
	case Result:
		if len(parts) != 3 {
			return bad("an answer has three parts: 3, id, payload")
		}
		f.Payload = parts[2]
	case Fault:
		if json.Unmarshal(parts[2], &f.Code) != nil {
			return bad("a refusal has five parts: 4, id, code, text, details")
		}
		if len(parts) > 3 {
			_ = json.Unmarshal(parts[3], &f.Text) // some points leave it out or send null
		}
		if len(parts) > 4 {
			f.Payload = parts[4]
		}
		return f, nil
	default:
		return bad(fmt.Sprintf("its first part is %d; 2, 3 and 4 are known", f.Kind))
	}
	if !isObject(f.Payload) {
		return bad("its payload is no JSON object")
	}
	return f, nil
}

func isObject(raw json.RawMessage) bool {
	raw = bytes.TrimSpace(raw)
	return len(raw) > 0 && raw[0] == '{'
}

// Bytes returns the frame as it travels.
func (f Frame) Bytes() []byte {
	payload := f.Payload
	if len(payload) == 0 {
		payload = json.RawMessage("{}")
	}
	var parts []any
	switch f.Kind {
	case Call:
		parts = []any{f.Kind, f.ID, f.Action, payload}
	case Result:
		parts = []any{f.Kind, f.ID, payload}
	default:
		parts = []any{Fault, f.ID, f.Code, f.Text, payload}
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(parts); err != nil {
		panic("commission: a frame holds a payload that is no JSON: " + err.Error())
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}

// payloadOf writes v as a payload.
func payloadOf(v any) json.RawMessage {
	if v == nil {
		return json.RawMessage("{}")
	}
	raw, err := json.Marshal(v)
	if err != nil {
		panic("commission: a payload cannot be written: " + err.Error())
	}
	return raw
}

// Refusal is a Fault that came as the answer to a question.
type Refusal struct{ Action, Code, Text string }

func (r *Refusal) Error() string {
	text := r.Action + " was answered with " + r.Code
	if r.Text != "" {
		text += " (" + r.Text + ")"
	}
	return text
}

// Is makes a refusal ErrUnsupported where its code says so.
func (r *Refusal) Is(err error) bool {
	return err == ErrUnsupported && (r.Code == NotImplemented || r.Code == NotSupported)
}
