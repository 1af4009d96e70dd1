package trainer

import (
	"chargewright/ocpp"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"time"
)

// says16 is a pretended point that speaks OCPP 1.6J.
type says16 struct{}

func (says16) boot(p *Point) {
	p.send(letter{action: "BootNotification", payload: map[string]any{
		"chargePointVendor": ocpp.PretendedVendor, "chargePointModel": "Pretend", "chargePointSerialNumber": p.o.Serial, "firmwareVersion": "0.1-invented",
	}, answer: p.booted})
}

func (says16) tellStatus(p *Point) {
	p.send(letter{action: "StatusNotification", payload: map[string]any{"connectorId": 1, "errorCode": "NoError", "status": p.status,
		"timestamp": ocpp.WriteTime(p.now())}})
}

// cardAnswer is what the central system says of a card.
type cardAnswer struct {
	Info struct{ Status string } `json:"idTagInfo"`
}

func (says16) authorise(p *Point, token string, then func(bool)) {
	p.send(letter{action: "Authorize", payload: map[string]any{"idTag": token}, answer: func(f ocpp.Frame) {
		var a cardAnswer
		_ = json.Unmarshal(f.Payload, &a)
		then(a.Info.Status == "Accepted")
	}})
}

func (says16) begin(p *Point) {
	s := p.session
	s.id = "-1" // OCPP 1.6 errata: no number yet
	p.send(letter{action: "StartTransaction", keep: true, payload: map[string]any{
		"connectorId": 1, "idTag": s.token, "meterStart": whole(float64(s.from)), "timestamp": ocpp.WriteTime(s.began),
	}, answer: func(f ocpp.Frame) {
		var a struct {
			ID int `json:"transactionId"`
			cardAnswer
		}
		if json.Unmarshal(f.Payload, &a) != nil {
			return
		}
		s.id = strconv.Itoa(a.ID)
		if a.Info.Status != "Accepted" {
			p.refused(s)
		}
	}})
}

func (says16) sample(p *Point, at time.Time) {
	s := p.session
	list := p.values()
	if len(list) == 0 {
		return
	}
	payload := map[string]any{"connectorId": 1, "meterValue": ocpp.V16.MeterValues(at, "Sample.Periodic", list)}
	if n, err := strconv.Atoi(s.id); err == nil {
		payload["transactionId"] = n
	}
	p.send(letter{action: "MeterValues", keep: true, payload: payload})
}

func (says16) finish(p *Point, reason string) {
	n, _ := strconv.Atoi(p.session.id)
	p.send(letter{action: "StopTransaction", keep: true, payload: map[string]any{
		"transactionId": n, "meterStop": whole(float64(p.bench.register)), "timestamp": ocpp.WriteTime(p.now()), "reason": reason,
	}})
}

// profile16 reads a charging profile.
func profile16(raw json.RawMessage) profile {
	var c struct {
		ID          int      `json:"chargingProfileId"`
		Transaction *int     `json:"transactionId"`
		Level       int      `json:"stackLevel"`
		Purpose     string   `json:"chargingProfilePurpose"`
		Schedule    schedule `json:"chargingSchedule"`
	}
	if json.Unmarshal(raw, &c) != nil {
		return profile{purpose: ocpp.NoPurpose}
	}
	q := profile{id: c.ID, level: c.Level, purpose: ocpp.V16.Purpose(c.Purpose)}
	if c.Transaction != nil {
		q.transaction = strconv.Itoa(*c.Transaction)
	}
	return c.Schedule.into(q)
}

func (says16) answer(p *Point, f ocpp.Frame) ocpp.Answer {
	r := request{p, f}
	switch f.Action {
	case "GetConfiguration":
		keys := []any{}
		for _, name := range slices.Sorted(maps.Keys(p.told())) {
			keys = append(keys, map[string]any{"key": name, "readonly": readOnly(name), "value": p.set[name]})
		}
		return r.payload(map[string]any{"configurationKey": keys, "unknownKey": []string{}})
	case "ChangeConfiguration":
		var q struct{ Key, Value string }
		r.read(&q)
		switch known, allowed := p.change(q.Key, q.Value); {
		case !known:
			return r.status("NotSupported", nil)
		case !allowed:
			return r.status("Rejected", nil)
		}
		return r.status("Accepted", nil)
	case "SetChargingProfile":
		var q struct {
			Profile json.RawMessage `json:"csChargingProfiles"`
		}
		r.read(&q)
		return r.status(p.takeProfile(profile16(q.Profile)), nil)
	case "ClearChargingProfile":
		var q struct{ ID int }
		r.read(&q)
		return r.clear(q.ID)
	case "GetCompositeSchedule":
		return r.composite(func(start string, seconds int, unit string, periods []any) map[string]any {
			return map[string]any{"status": "Accepted", "connectorId": 1, "scheduleStart": start,
				"chargingSchedule": map[string]any{"duration": seconds, "startSchedule": start, "chargingRateUnit": unit, "chargingSchedulePeriod": periods}}
		})
	case "RemoteStartTransaction":
		var q struct {
			Tag string `json:"idTag"`
		}
		r.read(&q)
		return r.start(q.Tag)
	case "RemoteStopTransaction":
		var q struct {
			ID int `json:"transactionId"`
		}
		r.read(&q)
		return r.stop(strconv.Itoa(q.ID))
	case "Reset":
		return r.status("Accepted", p.restart)
	case "SendLocalList":
		var q struct {
			Version int    `json:"listVersion"`
			How     string `json:"updateType"`
			Cards   []struct {
				Tag string `json:"idTag"`
			} `json:"localAuthorizationList"`
		}
		r.read(&q)
		var cards []string
		for _, c := range q.Cards {
			cards = append(cards, c.Tag)
		}
		p.takeList(q.Version, q.How, cards)
		return r.status("Accepted", nil)
	case "GetLocalListVersion":
		return r.payload(map[string]any{"listVersion": p.listNo})
	case "TriggerMessage":
		return r.trigger()
	case "ClearCache", "ChangeAvailability":
		return r.status("Accepted", nil)
	}
	return ocpp.Answer{Frame: f.Refuse(ocpp.NotImplemented, "")}
}
