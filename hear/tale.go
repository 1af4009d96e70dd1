package hear

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// notice is a place in a log where a sign shows.
type notice struct {
	line   int
	detail string
}

// signs are what is looked for across messages, by the word in the table.
var signs = func() map[string]bool {
	out := map[string]bool{}
	for _, s := range []string{"boot pending", "boot hammering", "clock off", "token too long", "card refused", "allowed but idle", "limit not obeyed",
		"watts for amperes",
		"phases assumed", "limit below six", "schedule across the clock change", "session limit without session", "whole limit on outlet", "never stopped",
		"no number",
		"held by the point", "zero meter", "one line", "negative", "energy falls", "faulted", "no answer", "stray answer", "refusal", "unreadable"} {
		out[s] = true
	}
	return out
}()

// teller goes through a log once and remembers what the signs need.
type teller struct {
	found    map[string][]notice
	open     map[string]asked // questions that wait for their answer
	last     time.Time        // of the log
	sessions map[string]int   // running, by number, and the line they began on
	limited  *quantity.Amperes
	limitAt  int
	obeyed   bool
	over     int // samples above the limit
	register map[string]float64
	idle     map[string]int // cards allowed and nothing since
	boots    []time.Time
	waitTold time.Duration
	zero     int
	charging bool
}

// asked is a question of the log.
type asked struct {
	line  int
	frame ocpp.Frame
	at    time.Time
}

func (t *teller) note(sign string, line int, format string, args ...any) {
	t.found[sign] = append(t.found[sign], notice{line, fmt.Sprintf(format, args...)})
}

// tale returns where each sign shows.
func tale(lines []logLine) map[string][]notice {
	t := &teller{found: map[string][]notice{}, open: map[string]asked{}, sessions: map[string]int{}, register: map[string]float64{}, idle: map[string]int{}}
	for _, l := range lines {
		if !l.at.IsZero() {
			t.last = l.at
		}
		switch {
		case l.broken:
			t.note("unreadable", l.number, "%s", string(ocpp.WithoutSecrets([]byte(short(l.text)))))
		case l.frame == nil:
		case l.frame.Kind == ocpp.Call:
			t.open[l.frame.ID] = asked{l.number, *l.frame, l.at}
			t.question(l)
		default:
			q, known := t.open[l.frame.ID]
			delete(t.open, l.frame.ID)
			switch {
			case !known:
				t.note("stray answer", l.number, "id %s", l.frame.ID)
			case l.frame.Kind == ocpp.Fault:
				t.note("refusal", l.number, "%s was answered with %s %s", q.frame.Action, l.frame.Code, l.frame.Text)
			default:
				t.answered(q, l)
			}
		}
	}
	for id, line := range t.sessions {
		t.note("never stopped", line, "session %s", id)
	}
	for token, line := range t.idle {
		t.note("allowed but idle", line, "card %s", token)
	}
	for _, q := range t.open {
		t.note("no answer", q.line, "%s, id %s", q.frame.Action, q.frame.ID)
	}
	if t.limited != nil && t.over >= mostOver && !t.obeyed {
		t.note("limit not obeyed", t.limitAt, "%d meter values after it are above %v", t.over, *t.limited)
	}
	if t.zero >= mostZero {
		t.note("zero meter", t.limitAt+1, "%d meter values of nought while charging", t.zero)
	}
	for sign := range t.found {
		slices.SortStableFunc(t.found[sign], func(a, b notice) int { return a.line - b.line })
	}
	return t.found
}

// How many meter values make a sign: engineering judgement.
const (
	mostOver = 3
	mostZero = 3
)

// payload reads a frame's payload loosely: a log may come from anywhere.
func payload(f ocpp.Frame) map[string]any {
	var p map[string]any
	_ = json.Unmarshal(f.Payload, &p)
	return p
}

func wordOf(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		return fmt.Sprintf("%.0f", v)
	}
	return ""
}

func inside(v any, path ...string) any {
	for _, name := range path {
		m, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = m[name]
	}
	return v
}

// question looks at what one end asks or tells.
func (t *teller) question(l logLine) {
	p := payload(*l.frame)
	if at := ocpp.ReadTime(wordOf(p["timestamp"])); !at.IsZero() && !l.at.IsZero() && len(t.sessions) == 0 {
		const most = time.Minute // engineering judgement: loggers write late
		if off := at.Sub(l.at); off > most || off < -most {
			t.note("clock off", l.number, "it writes %s where the log has %s", at.UTC().Format(time.DateTime), l.at.UTC().Format(time.DateTime))
		}
	}
	if at := ocpp.ReadTime(wordOf(p["timestamp"])); !at.IsZero() && at.Year() < 2000 {
		t.note("clock off", l.number, "it writes the year %d", at.Year())
	}
	const longest16 = 20 // OCPP 1.6 schemas: idTag
	if tag := wordOf(p["idTag"]); len(tag) > longest16 {
		t.note("token too long", l.number, "%d letters", len(tag))
	}
	switch l.frame.Action {
	case "BootNotification":
		if !l.at.IsZero() {
			t.boots = append(t.boots, l.at)
			if n := len(t.boots); n > 1 && t.waitTold > 0 && t.boots[n-1].Sub(t.boots[n-2]) < t.waitTold/2 {
				t.note("boot hammering", l.number, "again after %v, told %v", quantity.Seconds(t.boots[n-1].Sub(t.boots[n-2]).Seconds()),
					quantity.Seconds(t.waitTold.Seconds()))
			}
		}
	case "StatusNotification":
		status, code := wordOf(p["status"])+wordOf(p["connectorStatus"]), wordOf(p["errorCode"])
		t.charging = status == "Charging"
		if status == "Faulted" || code != "" && code != "NoError" {
			t.note("faulted", l.number, "%s %s", status, code)
		}
		if status == "SuspendedEVSE" && len(t.sessions) > 0 {
			t.note("held by the point", l.number, "%s", status)
		}
	case "MeterValues":
		t.samples(l, p["meterValue"], wordOf(p["connectorId"]))
	case "TransactionEvent":
		t.samples(l, p["meterValue"], "1")
		id := wordOf(inside(p, "transactionInfo", "transactionId"))
		switch wordOf(p["eventType"]) {
		case "Started":
			t.sessions[id] = l.number
			delete(t.idle, wordOf(inside(p, "idToken", "idToken")))
		case "Ended":
			delete(t.sessions, id)
		}
		state := wordOf(inside(p, "transactionInfo", "chargingState"))
		t.charging = t.charging && state == "" || state == "Charging"
		if state == "SuspendedEVSE" {
			t.note("held by the point", l.number, "%s", state)
		}
	case "StartTransaction":
		delete(t.idle, wordOf(p["idTag"]))
	case "StopTransaction":
		id := wordOf(p["transactionId"])
		if _, known := t.sessions[id]; !known && len(t.sessions) == 1 { // its number was not told
			clear(t.sessions)
		}
		delete(t.sessions, id)
		if id == "-1" {
			t.note("no number", l.number, "%s", l.frame.Action)
		}
		t.charging = false
	case "SetChargingProfile":
		t.profileSeen(l, p)
	}
	if wordOf(p["transactionId"]) == "-1" && l.frame.Action == "MeterValues" {
		t.note("no number", l.number, "%s", l.frame.Action)
	}
}

// answered looks at an answer with its question.
func (t *teller) answered(q asked, l logLine) {
	p, asked := payload(*l.frame), payload(q.frame)
	status := wordOf(p["status"])
	switch q.frame.Action {
	case "BootNotification":
		if status == "Pending" || status == "Rejected" {
			t.note("boot pending", l.number, "%s", status)
		}
		if n, ok := p["interval"].(float64); ok && n > 0 && n < 1e6 {
			t.waitTold = 0
			if status != "Accepted" {
				t.waitTold = time.Duration(n) * time.Second
			}
		}
	case "Authorize":
		token := wordOf(asked["idTag"]) + wordOf(inside(asked, "idToken", "idToken"))
		word := wordOf(inside(p, "idTagInfo", "status")) + wordOf(inside(p, "idTokenInfo", "status"))
		if word == "Accepted" {
			t.idle[token] = l.number
		} else if word != "" {
			t.note("card refused", l.number, "%s: %s", token, word)
		}
	case "StartTransaction":
		if id := wordOf(p["transactionId"]); id != "" {
			t.sessions[id] = q.line
		}
		if word := wordOf(inside(p, "idTagInfo", "status")); word != "" && word != "Accepted" {
			t.note("card refused", l.number, "%s: %s", wordOf(asked["idTag"]), word)
		}
	case "SetChargingProfile":
		if status != "Accepted" {
			return
		}
		profile := profileOf(asked)
		if amps, ok := firstLimit(profile); ok && wordOf(inside(scheduleOf(profile), "chargingRateUnit")) != "W" {
			t.limited, t.limitAt, t.obeyed, t.over = &amps, l.number, false, 0
		}
	case "ClearChargingProfile", "RemoteStopTransaction":
		if status == "Accepted" {
			t.limited = nil
		}
	}
}

func sortByLine(list []Heard) {
	slices.SortStableFunc(list, func(a, b Heard) int { return a.Line - b.Line })
}

// samples looks at meter values.
func (t *teller) samples(l logLine, values any, outlet string) {
	list, _ := values.([]any)
	for _, v := range list {
		sampled, _ := inside(v, "sampledValue").([]any)
		s := &ocpp.Sample{}
		for _, one := range sampled {
			m := ocpp.Measured{Value: fmt.Sprint(inside(one, "value")), Measurand: wordOf(inside(one, "measurand")), Phase: wordOf(inside(one, "phase")),
				Unit: wordOf(inside(one, "unit")) + wordOf(inside(one, "unitOfMeasure", "unit"))}
			s.Add(m)
			if strings.HasPrefix(m.Value, "-") && (strings.HasSuffix(m.Measurand, ".Import")) {
				t.note("negative", l.number, "%s %s", m.Measurand, m.Value)
			}
		}
		if e, ok := s.Energy.Get(); ok {
			if float64(e) < t.register[outlet] {
				t.note("energy falls", l.number, "from %v to %v", quantity.WattHours(t.register[outlet]), e)
			}
			t.register[outlet] = float64(e)
		}
		i, ok := s.Greatest()
		if !ok {
			continue
		}
		if t.charging && i == 0 {
			t.zero++
		} else if i > 0 {
			t.zero = 0
		}
		known := 0
		for _, c := range s.Current {
			if c.IsKnown() {
				known++
			}
		}
		if known == 3 && s.Current[0].Or(0) > 1 && s.Current[1].Or(0) < 0.5 && s.Current[2].Or(0) < 0.5 {
			t.note("one line", l.number, "%v on L1", s.Current[0])
		}
		const room = 1 // A: meter and pilot; engineering judgement
		if t.limited != nil {
			if i > *t.limited+room {
				t.over++
			} else {
				t.obeyed = true
			}
		}
	}
}
