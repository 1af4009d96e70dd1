package ocpp

import (
	"context"
	"fmt"
	"strings"
	"time"

	"chargewright/quantity"
)

// speaks201 is OCPP 2.0.1, and of 2.1 what 2.0.1 has. Fields are those of the
// JSON schemas published with both by the Open Charge Alliance.
type speaks201 struct{ version Version }

type sampled201 struct {
	Value     float64  `json:"value"`
	Context   string   `json:"context,omitempty"`
	Measurand string   `json:"measurand,omitempty"`
	Phase     string   `json:"phase,omitempty"`
	Unit      *unit201 `json:"unitOfMeasure,omitempty"`
}

type unit201 struct {
	Unit       string `json:"unit,omitempty"`
	Multiplier int    `json:"multiplier,omitempty"`
}

type meterValue201 struct {
	Timestamp string       `json:"timestamp"`
	Sampled   []sampled201 `json:"sampledValue"`
}

func samples201(st *Station, f Frame, values []meterValue201, outlet int, transaction string) []Event {
	var out []Event
	for _, v := range values {
		s := &Sample{At: st.stamp(f, v.Timestamp)}
		for _, m := range v.Sampled {
			one := Measured{Value: fmt.Sprint(m.Value), Measurand: m.Measurand, Phase: m.Phase}
			if m.Unit != nil {
				one.Unit, one.multiplier = m.Unit.Unit, m.Unit.Multiplier
			}
			if why := s.Add(one); why != "" {
				st.soil(f, why)
			}
		}
		out = append(out, Event{What: Sampled, Outlet: outlet, Stamp: s.At, Sample: s, Transaction: transaction})
	}
	return out
}

type token201 struct {
	Token string `json:"idToken"`
	Type  string `json:"type"`
}

func (speaks201) hear(s *Station, f Frame) (any, []Event, error) {
	switch f.Action {
	case "BootNotification":
		var p struct {
			Station struct {
				Vendor   string `json:"vendorName"`
				Model    string `json:"model"`
				Serial   string `json:"serialNumber"`
				Firmware string `json:"firmwareVersion"`
			} `json:"chargingStation"`
			Reason string `json:"reason"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		return map[string]any{"status": "Accepted", "currentTime": WriteTime(s.clock.Now()), "interval": int(HeartbeatEvery / time.Second)},
			[]Event{{What: Booted, Identity: Identity{p.Station.Vendor, p.Station.Model, p.Station.Serial, p.Station.Firmware}, Reason: p.Reason}}, nil
	case "Heartbeat":
		return map[string]any{"currentTime": WriteTime(s.clock.Now())}, []Event{{What: Beat}}, nil
	case "StatusNotification":
		var p struct {
			Timestamp string `json:"timestamp"`
			Status    string `json:"connectorStatus"`
			EVSE      int    `json:"evseId"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		return nil, []Event{{What: Changed, Outlet: p.EVSE, Status: p.Status, Stamp: s.stamp(f, p.Timestamp)}}, nil
	case "Authorize":
		var p struct {
			Token token201 `json:"idToken"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		return decision(func(allowed func(string) bool) (any, []Event) {
			ok := allowed(p.Token.Token)
			return map[string]any{"idTokenInfo": tag16(ok)}, []Event{{What: Authorised, Token: p.Token.Token, Allowed: ok}}
		}), nil, nil
	case "TransactionEvent":
		return hearTransaction(s, f)
	case "MeterValues":
		var p struct {
			EVSE   int             `json:"evseId"`
			Values []meterValue201 `json:"meterValue"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		return nil, samples201(s, f, p.Values, p.EVSE, ""), nil
	case "NotifyReport":
		return hearReport(s, f)
	case "DataTransfer":
		return map[string]any{"status": "UnknownVendorId"}, []Event{{What: Others, Detail: f.Action}}, nil
	case "SecurityEventNotification":
		return nil, []Event{{What: Alerted}}, nil
	case "NotifyEvent", "NotifyChargingLimit", "FirmwareStatusNotification", "LogStatusNotification", "NotifyMonitoringReport",
		"NotifyDisplayMessages", "NotifyCustomerInformation", "ClearedChargingLimit", "ReportChargingProfiles", "ReservationStatusUpdate",
		"PublishFirmwareStatusNotification":
		return nil, []Event{{What: Others, Detail: f.Action}}, nil
	}
	return nil, nil, &unknownAction{f.Action}
}

// hearTransaction puts a TransactionEvent into events: the session's begin or
// end, its charging state, its meter values.
func hearTransaction(s *Station, f Frame) (any, []Event, error) {
	var p struct {
		Type      string `json:"eventType"`
		Timestamp string `json:"timestamp"`
		Trigger   string `json:"triggerReason"`
		Info      struct {
			ID     string `json:"transactionId"`
			State  string `json:"chargingState"`
			Reason string `json:"stoppedReason"`
		} `json:"transactionInfo"`
		EVSE *struct {
			ID int `json:"id"`
		} `json:"evse"`
		Token  *token201       `json:"idToken"`
		Values []meterValue201 `json:"meterValue"`
	}
	if err := read(s, f, &p); err != nil {
		return nil, nil, err
	}
	if p.Info.ID == "" {
		return nil, nil, &formError{"TransactionEvent names no session"}
	}
	stamp := s.stamp(f, p.Timestamp)
	told := samples201(s, f, p.Values, 0, p.Info.ID)
	var register quantity.Maybe[quantity.WattHours]
	for _, e := range told {
		if e.Sample.Energy.IsKnown() {
			register = e.Sample.Energy
		}
	}
	outlet := 1
	if p.EVSE != nil {
		outlet = p.EVSE.ID
	}
	return decision(func(allowed func(string) bool) (any, []Event) {
		token, ok := "", false
		var answer any = map[string]any{}
		if p.Token != nil {
			token = p.Token.Token
			ok = allowed(token) || p.Token.Type == "NoAuthorization"
			answer = map[string]any{"idTokenInfo": tag16(ok)}
		}
		switch p.Type {
		case "Started":
			told = append([]Event{{What: Started, Outlet: outlet, Token: token, Allowed: ok, Transaction: p.Info.ID, Stamp: stamp, Register: register,
				Detail: p.Trigger}}, told...)
		case "Ended":
			told = append(told, Event{What: Stopped, Transaction: p.Info.ID, Stamp: stamp, Reason: p.Info.Reason, Register: register})
		default:
			if p.Info.State != "" {
				told = append(told, Event{What: Phased, Transaction: p.Info.ID, Stamp: stamp, Status: p.Info.State})
			}
		}
		return answer, told
	}), nil, nil
}

// hearReport puts a part of a report into settings named Component.Variable.
func hearReport(s *Station, f Frame) (any, []Event, error) {
	var p struct {
		More bool `json:"tbc"`
		Data []struct {
			Component struct {
				Name string `json:"name"`
				EVSE *struct {
					ID int `json:"id"`
				} `json:"evse"`
			} `json:"component"`
			Variable struct {
				Name     string `json:"name"`
				Instance string `json:"instance"`
			} `json:"variable"`
			Attributes []struct {
				Type       string `json:"type"`
				Value      string `json:"value"`
				Mutability string `json:"mutability"`
			} `json:"variableAttribute"`
		} `json:"reportData"`
	}
	if err := read(s, f, &p); err != nil {
		return nil, nil, err
	}
	e := Event{What: Reported, Last: !p.More}
	for _, d := range p.Data {
		for _, a := range d.Attributes {
			if a.Type != "" && a.Type != "Actual" {
				continue
			}
			v := Setting{Name: d.Component.Name + "." + d.Variable.Name, Value: a.Value, ReadOnly: a.Mutability == "ReadOnly"}
			if IsSecret(v.Name) || a.Mutability == "WriteOnly" {
				v.Value = withheld
			}
			e.Settings = append(e.Settings, v)
		}
	}
	return nil, []Event{e}, nil
}

// Settings asks for the full inventory and gathers its parts.
func (speaks201) Settings(ctx context.Context, s *Station) ([]Setting, error) {
	mark := s.Mark()
	var a statusAnswer
	if err := s.ask(ctx, "GetBaseReport", map[string]any{"requestId": mark + 1, "reportBase": "FullInventory"}, &a); err != nil {
		return nil, err
	}
	if a.Status != "Accepted" {
		return nil, &Refusal{"GetBaseReport", a.said().String(), ""}
	}
	const patience = 60 * time.Second // engineering judgement
	events, whole := s.Wait(ctx, mark, patience, func(events []Event) bool {
		for _, e := range events {
			if e.What == Reported && e.Last {
				return true
			}
		}
		return false
	})
	var out []Setting
	for _, e := range events {
		out = append(out, e.Settings...)
	}
	if !whole {
		return out, fmt.Errorf("the list of settings did not come whole: %d came", len(out))
	}
	return out, nil
}

func variable201(name string) map[string]any {
	component, variable, _ := strings.Cut(name, ".")
	return map[string]any{"component": map[string]any{"name": component}, "variable": map[string]any{"name": variable}}
}

func (speaks201) Set(ctx context.Context, s *Station, name, value string) (Status, error) {
	one := variable201(name)
	one["attributeValue"] = value
	var a struct {
		Results []struct {
			Status string `json:"attributeStatus"`
			Info   info   `json:"attributeStatusInfo"`
		} `json:"setVariableResult"`
	}
	if err := s.ask(ctx, "SetVariables", map[string]any{"setVariableData": []any{one}}, &a); err != nil {
		return Status{}, err
	}
	if len(a.Results) == 0 {
		return Status{}, &formError{"the answer to SetVariables says nothing"}
	}
	return Status{a.Results[0].Status, a.Results[0].Info.ReasonCode}, nil
}

func (d speaks201) Limit(ctx context.Context, s *Station, l Limit) (Status, error) {
	schedule := l.schedule()
	schedule["id"] = l.ID
	profile := map[string]any{"id": l.ID, "stackLevel": l.Level, "chargingProfilePurpose": purposes[d.version][l.Purpose], "chargingProfileKind": "Absolute",
		"chargingSchedule": []any{schedule}}
	if l.Purpose == OneSession {
		profile["transactionId"] = l.Transaction
	}
	return s.order(ctx, "SetChargingProfile", map[string]any{"evseId": s.outletFor(l.Purpose), "chargingProfile": profile})
}

func (speaks201) Clear(ctx context.Context, s *Station, l Limit) (Status, error) {
	return s.order(ctx, "ClearChargingProfile", map[string]any{"chargingProfileId": l.ID})
}

func (speaks201) Schedule(ctx context.Context, s *Station, over time.Duration, watts bool) (Schedule, error) {
	var a struct {
		statusAnswer
		Schedule struct {
			Start   string `json:"scheduleStart"`
			Unit    string `json:"chargingRateUnit"`
			Periods []struct {
				Start int     `json:"startPeriod"`
				Limit float64 `json:"limit"`
			} `json:"chargingSchedulePeriod"`
		} `json:"schedule"`
	}
	ask := map[string]any{"evseId": s.Outlet(), "duration": int(over / time.Second), "chargingRateUnit": rateUnit(watts)}
	if err := s.ask(ctx, "GetCompositeSchedule", ask, &a); err != nil {
		return Schedule{}, err
	}
	if a.Status != "Accepted" {
		return Schedule{}, &Refusal{"GetCompositeSchedule", a.said().String(), ""}
	}
	out := Schedule{Start: ReadTime(a.Schedule.Start), Watts: a.Schedule.Unit == rateUnit(true)}
	for _, p := range a.Schedule.Periods {
		out.Periods = append(out.Periods, Period{time.Duration(p.Start) * time.Second, p.Limit})
	}
	return out, nil
}

func (speaks201) Start(ctx context.Context, s *Station, token string) (Status, error) {
	return s.order(ctx, "RequestStartTransaction", map[string]any{"evseId": s.Outlet(), "remoteStartId": s.Mark() + 1, "idToken": token201{token, "Central"}})
}

func (speaks201) Stop(ctx context.Context, s *Station, transaction string) (Status, error) {
	return s.order(ctx, "RequestStopTransaction", map[string]any{"transactionId": transaction})
}

func (speaks201) Reboot(ctx context.Context, s *Station) (Status, error) {
	return s.order(ctx, "Reset", map[string]any{"type": "Immediate"})
}

func (speaks201) List(ctx context.Context, s *Station, tokens []string) (Status, listVersions, error) {
	entries := []any{}
	for _, t := range tokens {
		entries = append(entries, map[string]any{"idToken": token201{t, "Central"}, "idTokenInfo": tag16(true)})
	}
	return s.list(ctx, "versionNumber", entries)
}

func (speaks201) Trigger(ctx context.Context, s *Station, message string) (Status, error) {
	payload := map[string]any{"requestedMessage": message}
	switch message {
	case "StatusNotification":
		payload["evse"] = map[string]any{"id": s.Outlet(), "connectorId": 1}
	case "MeterValues":
		payload["evse"] = map[string]any{"id": s.Outlet()}
	}
	return s.order(ctx, "TriggerMessage", payload)
}
