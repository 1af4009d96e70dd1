package commission

import (
	"encoding/json"
	"strconv"
	"time"
)

// says16 is a pretended point that speaks OCPP 1.6J.
type says16 struct{}

func (says16) boot(p *Pretend) {
	p.send(letter{action: "BootNotification", payload: map[string]any{
		"chargePointVendor": "Invented", "chargePointModel": "Pretend", "chargePointSerialNumber": p.o.Serial, "firmwareVersion": "0.1-invented",
	}, answer: func(f Frame) {
		var a struct {
			Time string `json:"currentTime"`
		}
		if json.Unmarshal(f.Payload, &a) == nil {
			p.takeTime(a.Time)
		}
	}})
}

func (says16) tellStatus(p *Pretend) {
	p.send(letter{action: "StatusNotification", payload: map[string]any{"connectorId": 1, "errorCode": "NoError", "status": p.status, "timestamp": writeTime(p.now())}})
}

func (says16) authorise(p *Pretend, token string, then func(bool)) {
	p.send(letter{action: "Authorize", payload: map[string]any{"idTag": token}, answer: func(f Frame) {
		var a tagInfo16
		_ = json.Unmarshal(f.Payload, &a)
		then(a.Info.Status == "Accepted")
	}})
}

func (says16) begin(p *Pretend) {
	s := p.session
	s.id = "-1" // OCPP 1.6 errata: no number yet
	p.send(letter{action: "StartTransaction", keep: true, payload: map[string]any{
		"connectorId": 1, "idTag": s.token, "meterStart": whole(float64(s.from)), "timestamp": writeTime(s.began),
	}, answer: func(f Frame) {
		var a struct {
			ID int `json:"transactionId"`
			tagInfo16
		}
		if json.Unmarshal(f.Payload, &a) != nil {
			return
		}
		s.id = strconv.Itoa(a.ID)
		if a.Info.Status != "Accepted" && !p.o.has(AcceptsAnyCard) && p.session == s {
			s.allowed = false
			p.endSession("DeAuthorized")
		}
	}})
}

func (says16) sample(p *Pretend, at time.Time) {
	s := p.session
	list := []sampled16{}
	for _, v := range p.values() {
		list = append(list, sampled16{Value: strconv.FormatFloat(v.number, 'f', -1, 64), Context: "Sample.Periodic", Measurand: v.measurand, Phase: v.phase, Unit: v.unit})
	}
	if len(list) == 0 {
		return
	}
	payload := map[string]any{"connectorId": 1, "meterValue": []meterValue16{{writeTime(at), list}}}
	if n, err := strconv.Atoi(s.id); err == nil {
		payload["transactionId"] = n
	}
	p.send(letter{action: "MeterValues", keep: true, payload: payload})
}

func (says16) finish(p *Pretend, reason string) {
	n, _ := strconv.Atoi(p.session.id)
	p.send(letter{action: "StopTransaction", keep: true, payload: map[string]any{
		"transactionId": n, "meterStop": whole(float64(p.bench.register)), "timestamp": writeTime(p.now()), "reason": reason,
	}})
}

// profile16 reads a charging profile.
func profile16(raw json.RawMessage) profile {
	var c struct {
		ID          int    `json:"chargingProfileId"`
		Transaction *int   `json:"transactionId"`
		Level       int    `json:"stackLevel"`
		Purpose     string `json:"chargingProfilePurpose"`
		Schedule    struct {
			Duration int    `json:"duration"`
			Start    string `json:"startSchedule"`
			Unit     string `json:"chargingRateUnit"`
			Periods  []struct {
				Start int     `json:"startPeriod"`
				Limit float64 `json:"limit"`
			} `json:"chargingSchedulePeriod"`
		} `json:"chargingSchedule"`
	}
	if json.Unmarshal(raw, &c) != nil {
		return profile{purpose: noPurpose}
	}
	q := profile{id: c.ID, level: c.Level, purpose: purposeOf(c.Purpose, purposes16), from: readTime(c.Schedule.Start), lasts: time.Duration(c.Schedule.Duration) * time.Second, watts: c.Schedule.Unit == "W"}
	if c.Transaction != nil {
		q.transaction = strconv.Itoa(*c.Transaction)
	}
	for _, one := range c.Schedule.Periods {
		q.periods = append(q.periods, Period{time.Duration(one.Start) * time.Second, one.Limit})
	}
	return q
}

func (says16) answer(p *Pretend, f Frame) answer {
	status := func(word string, after func()) answer {
		if after != nil {
			after = p.later(after)
		}
		return answer{reply(f, map[string]any{"status": word}), after}
	}
	switch f.Action {
	case "GetConfiguration":
		keys := []any{}
		for _, name := range sortedKeys(p.set) {
			keys = append(keys, map[string]any{"key": name, "readonly": readOnly(name), "value": p.set[name]})
		}
		return answer{frame: reply(f, map[string]any{"configurationKey": keys, "unknownKey": []string{}})}
	case "ChangeConfiguration":
		var q struct{ Key, Value string }
		_ = json.Unmarshal(f.Payload, &q)
		switch known, allowed := p.change(q.Key, q.Value); {
		case !known:
			return status("NotSupported", nil)
		case !allowed:
			return status("Rejected", nil)
		}
		return status("Accepted", nil)
	case "SetChargingProfile":
		var q struct {
			Profile json.RawMessage `json:"csChargingProfiles"`
		}
		_ = json.Unmarshal(f.Payload, &q)
		return status(p.takeProfile(profile16(q.Profile)), nil)
	case "ClearChargingProfile":
		var q struct{ ID int }
		_ = json.Unmarshal(f.Payload, &q)
		if p.limits.drop(q.ID) {
			return status("Accepted", nil)
		}
		return status("Unknown", nil)
	case "GetCompositeSchedule":
		if p.o.has(NoLimits) {
			return answer{frame: refuse(f, notSupported, "")}
		}
		var q struct{ Duration int }
		_ = json.Unmarshal(f.Payload, &q)
		start, periods := p.composite(time.Duration(q.Duration) * time.Second)
		list := []any{}
		for _, one := range periods {
			list = append(list, map[string]any{"startPeriod": int(one.From / time.Second), "limit": one.Limit})
		}
		return answer{frame: reply(f, map[string]any{"status": "Accepted", "connectorId": 1, "scheduleStart": writeTime(start),
			"chargingSchedule": map[string]any{"duration": q.Duration, "startSchedule": writeTime(start), "chargingRateUnit": "A", "chargingSchedulePeriod": list}})}
	case "RemoteStartTransaction":
		var q struct {
			Tag string `json:"idTag"`
		}
		_ = json.Unmarshal(f.Payload, &q)
		if p.session != nil || !p.plugged {
			return status("Rejected", nil)
		}
		return status("Accepted", func() { p.startOn(q.Tag, p.set[p.key(askRemote)] == "true", false) })
	case "RemoteStopTransaction":
		var q struct {
			ID int `json:"transactionId"`
		}
		_ = json.Unmarshal(f.Payload, &q)
		if p.session == nil || p.session.id != strconv.Itoa(q.ID) {
			return status("Rejected", nil)
		}
		return status("Accepted", func() {
			if !p.o.has(NeverStops) {
				p.endSession("Remote")
			}
		})
	case "Reset":
		return status("Accepted", p.restart)
	case "SendLocalList":
		var q struct {
			Version int `json:"listVersion"`
			Cards   []struct {
				Tag string `json:"idTag"`
			} `json:"localAuthorizationList"`
		}
		_ = json.Unmarshal(f.Payload, &q)
		p.listNo, p.cards = q.Version, nil
		for _, c := range q.Cards {
			p.cards = append(p.cards, c.Tag)
		}
		return status("Accepted", nil)
	case "GetLocalListVersion":
		return answer{frame: reply(f, map[string]any{"listVersion": p.listNo})}
	case "TriggerMessage":
		var q struct {
			Message string `json:"requestedMessage"`
		}
		_ = json.Unmarshal(f.Payload, &q)
		switch q.Message {
		case "BootNotification":
			return status("Accepted", func() { p.voice.boot(p) })
		case "StatusNotification":
			return status("Accepted", func() { p.voice.tellStatus(p) })
		case "Heartbeat":
			return status("Accepted", func() { p.send(letter{action: "Heartbeat", payload: map[string]any{}}) })
		}
		return status("NotImplemented", nil)
	case "ClearCache", "ChangeAvailability":
		return status("Accepted", nil)
	}
	return answer{frame: refuse(f, notImplemented, "")}
}
