package trainer

import (
	"chargewright/ocpp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

// says201 is a pretended point that speaks OCPP 2.0.1, or of 2.1 what 2.0.1 has.
type says201 struct{ version ocpp.Version }

func (says201) boot(p *Point) {
	reason := "PowerUp"
	if p.restarts > 0 {
		reason = "RemoteReset"
	}
	p.send(letter{action: "BootNotification", payload: map[string]any{"reason": reason, "chargingStation": map[string]any{
		"vendorName": ocpp.PretendedVendor, "model": "Pretend", "serialNumber": p.o.Serial, "firmwareVersion": "0.1-invented",
	}}, answer: p.booted})
}

func (says201) tellStatus(p *Point) {
	p.send(letter{action: "StatusNotification", payload: map[string]any{"timestamp": ocpp.WriteTime(p.now()), "connectorStatus": p.status, "evseId": 1,
		"connectorId": 1}})
}

func (says201) authorise(p *Point, token string, then func(bool)) {
	p.send(letter{action: "Authorize", payload: map[string]any{"idToken": card201{token, "Central"}}, answer: func(f ocpp.Frame) {
		var a struct {
			Info struct{ Status string } `json:"idTokenInfo"`
		}
		_ = json.Unmarshal(f.Payload, &a)
		then(a.Info.Status == "Accepted")
	}})
}

// card201 is a card as 2.0.1 writes it.
type card201 struct {
	Token string `json:"idToken"`
	Type  string `json:"type"`
}

// event sends one TransactionEvent.
func (says201) event(p *Point, kind, trigger string, more map[string]any, answer func(ocpp.Frame)) {
	s := p.session
	info := map[string]any{"transactionId": s.id}
	if reason, ok := more["stoppedReason"]; ok {
		info["stoppedReason"] = reason
		delete(more, "stoppedReason")
	} else {
		state := "SuspendedEVSE"
		if p.bench.offered > 0 {
			state = "Charging"
		}
		info["chargingState"] = state
	}
	payload := map[string]any{"eventType": kind, "timestamp": ocpp.WriteTime(p.now()), "triggerReason": trigger, "seqNo": s.sequel, "transactionInfo": info,
		"offline": p.online == nil, "evse": map[string]any{"id": 1, "connectorId": 1}}
	s.sequel++
	for k, v := range more {
		payload[k] = v
	}
	p.send(letter{action: "TransactionEvent", keep: true, payload: payload, answer: answer})
}

// values201 are the point's values as one meter value; nil where there are none.
func (p *Point) values201(at time.Time, context string, always bool) any {
	vs := p.values()
	if always && (len(vs) == 0 || vs[0].Measurand != "Energy.Active.Import.Register") {
		vs = append([]ocpp.Measured{p.energy()}, vs...)
	}
	if len(vs) == 0 {
		return nil
	}
	return p.o.Version.MeterValues(at, context, vs)
}

func (v says201) begin(p *Point) {
	s := p.session
	s.id = fmt.Sprintf("pretend-%d-%d", p.restarts, p.number)
	v.event(p, "Started", "Authorized", map[string]any{"idToken": card201{s.token, "Central"}, "meterValue": p.values201(s.began, "Transaction.Begin", true)},
		func(f ocpp.Frame) {
			var a struct {
				Info *struct{ Status string } `json:"idTokenInfo"`
			}
			_ = json.Unmarshal(f.Payload, &a)
			if a.Info != nil && a.Info.Status != "Accepted" {
				p.refused(s)
			}
		})
}

func (v says201) sample(p *Point, at time.Time) {
	if values := p.values201(at, "Sample.Periodic", false); values != nil {
		v.event(p, "Updated", "MeterValuePeriodic", map[string]any{"meterValue": values}, nil)
	}
}

func (v says201) finish(p *Point, reason string) {
	if reason == "SoftReset" {
		reason = "ImmediateReset"
	}
	v.event(p, "Ended", "StopAuthorized", map[string]any{"stoppedReason": reason, "meterValue": p.values201(p.now(), "Transaction.End", true)}, nil)
}

// profile201 reads a charging profile.
func profile201(raw json.RawMessage) profile {
	var c struct {
		ID          int        `json:"id"`
		Transaction string     `json:"transactionId"`
		Level       int        `json:"stackLevel"`
		Purpose     string     `json:"chargingProfilePurpose"`
		Schedules   []schedule `json:"chargingSchedule"`
	}
	if json.Unmarshal(raw, &c) != nil || len(c.Schedules) == 0 {
		return profile{purpose: ocpp.NoPurpose}
	}
	return c.Schedules[0].into(profile{id: c.ID, level: c.Level, purpose: ocpp.V201.Purpose(c.Purpose), transaction: c.Transaction})
}

// reportParts sends the inventory in parts, as a point with many settings does.
func (p *Point) reportParts(request int) {
	const atOnce = 6
	names := slices.Sorted(maps.Keys(p.told()))
	for from, part := 0, 0; from < len(names); from, part = from+atOnce, part+1 {
		to := min(from+atOnce, len(names))
		data := []any{}
		for _, name := range names[from:to] {
			component, variable, _ := strings.Cut(name, ".")
			mutability := "ReadWrite"
			if readOnly(name) {
				mutability = "ReadOnly"
			}
			data = append(data, map[string]any{"component": map[string]any{"name": component}, "variable": map[string]any{"name": variable},
				"variableAttribute": []any{map[string]any{"type": "Actual", "value": p.set[name], "mutability": mutability}}})
		}
		p.send(letter{action: "NotifyReport", payload: map[string]any{"requestId": request, "generatedAt": ocpp.WriteTime(p.now()), "seqNo": part,
			"tbc": to < len(names), "reportData": data}})
	}
}

func (says201) answer(p *Point, f ocpp.Frame) ocpp.Answer {
	r := request{p, f}
	switch f.Action {
	case "GetBaseReport":
		var q struct {
			Request int `json:"requestId"`
		}
		r.read(&q)
		return r.status("Accepted", func() { p.reportParts(q.Request) })
	case "SetVariables":
		var q struct {
			Data []struct {
				Value     string `json:"attributeValue"`
				Component struct {
					Name string `json:"name"`
				} `json:"component"`
				Variable struct {
					Name string `json:"name"`
				} `json:"variable"`
			} `json:"setVariableData"`
		}
		r.read(&q)
		results := []any{}
		for _, d := range q.Data {
			word := "Accepted"
			switch known, allowed := p.change(d.Component.Name+"."+d.Variable.Name, d.Value); {
			case !known:
				word = "UnknownVariable"
			case !allowed:
				word = "Rejected"
			}
			results = append(results, map[string]any{"attributeStatus": word, "component": map[string]any{"name": d.Component.Name},
				"variable": map[string]any{"name": d.Variable.Name}})
		}
		return r.payload(map[string]any{"setVariableResult": results})
	case "SetChargingProfile":
		var q struct {
			Profile json.RawMessage `json:"chargingProfile"`
		}
		r.read(&q)
		word := p.takeProfile(profile201(q.Profile))
		if word == "NotSupported" {
			return ocpp.Answer{Frame: f.Refuse(ocpp.NotSupported, "")}
		}
		return r.status(word, nil)
	case "ClearChargingProfile":
		var q struct {
			ID int `json:"chargingProfileId"`
		}
		r.read(&q)
		return r.clear(q.ID)
	case "GetCompositeSchedule":
		return r.composite(func(start string, seconds int, unit string, periods []any) map[string]any {
			return map[string]any{"status": "Accepted", "schedule": map[string]any{"evseId": 1, "duration": seconds, "scheduleStart": start, "chargingRateUnit": unit,
				"chargingSchedulePeriod": periods}}
		})
	case "RequestStartTransaction":
		var q struct {
			Token card201 `json:"idToken"`
		}
		r.read(&q)
		return r.start(q.Token.Token)
	case "RequestStopTransaction":
		var q struct {
			ID string `json:"transactionId"`
		}
		r.read(&q)
		return r.stop(q.ID)
	case "Reset":
		return r.status("Accepted", p.restart)
	case "SendLocalList":
		var q struct {
			Version int    `json:"versionNumber"`
			How     string `json:"updateType"`
			Cards   []struct {
				Token card201 `json:"idToken"`
			} `json:"localAuthorizationList"`
		}
		r.read(&q)
		var cards []string
		for _, c := range q.Cards {
			cards = append(cards, c.Token.Token)
		}
		p.takeList(q.Version, q.How, cards)
		return r.status("Accepted", nil)
	case "GetLocalListVersion":
		return r.payload(map[string]any{"versionNumber": p.listNo})
	case "TriggerMessage":
		return r.trigger()
	}
	return ocpp.Answer{Frame: f.Refuse(ocpp.NotImplemented, "")}
}
