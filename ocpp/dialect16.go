package ocpp

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"chargewright/quantity"
)

// speaks16 is OCPP 1.6J. Fields are those of the JSON schemas published with
// OCPP 1.6 edition 2 by the Open Charge Alliance.
type speaks16 struct{}

type sampled16 struct {
	Value     string `json:"value"`
	Context   string `json:"context,omitempty"`
	Measurand string `json:"measurand,omitempty"`
	Phase     string `json:"phase,omitempty"`
	Unit      string `json:"unit,omitempty"`
}

type meterValue16 struct {
	Timestamp string      `json:"timestamp"`
	Sampled   []sampled16 `json:"sampledValue"`
}

// samples16 puts meter values into events.
func samples16(st *Station, f Frame, values []meterValue16, outlet int, transaction string) []Event {
	var out []Event
	for _, v := range values {
		s := &Sample{At: st.stamp(f, v.Timestamp)}
		for _, m := range v.Sampled {
			if why := s.Add(Measured{Value: m.Value, Measurand: m.Measurand, Phase: m.Phase, Unit: m.Unit}); why != "" {
				st.soil(f, why)
			}
		}
		out = append(out, Event{What: Sampled, Outlet: outlet, Stamp: s.At, Sample: s, Transaction: transaction})
	}
	return out
}

func tag16(allowed bool) map[string]any {
	status := "Invalid"
	if allowed {
		status = "Accepted"
	}
	return map[string]any{"status": status}
}

func (speaks16) hear(s *Station, f Frame) (any, []Event, error) {
	switch f.Action {
	case "BootNotification":
		var p struct {
			Vendor   string `json:"chargePointVendor"`
			Model    string `json:"chargePointModel"`
			Serial   string `json:"chargePointSerialNumber"`
			Box      string `json:"chargeBoxSerialNumber"`
			Firmware string `json:"firmwareVersion"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		if p.Serial == "" {
			p.Serial = p.Box
		}
		return map[string]any{"status": "Accepted", "currentTime": WriteTime(s.clock.Now()), "interval": int(HeartbeatEvery / time.Second)},
			[]Event{{What: Booted, Identity: Identity{p.Vendor, p.Model, p.Serial, p.Firmware}}}, nil
	case "Heartbeat":
		return map[string]any{"currentTime": WriteTime(s.clock.Now())}, []Event{{What: Beat}}, nil
	case "StatusNotification":
		var p struct {
			Connector int    `json:"connectorId"`
			Error     string `json:"errorCode"`
			Status    string `json:"status"`
			Timestamp string `json:"timestamp"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		if p.Error == "NoError" {
			p.Error = ""
		}
		return nil, []Event{{What: Changed, Outlet: p.Connector, Status: p.Status, Fault: p.Error, Stamp: s.stamp(f, p.Timestamp)}}, nil
	case "Authorize":
		var p struct {
			Tag string `json:"idTag"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		return decision(func(allowed func(string) bool) (any, []Event) {
			ok := allowed(p.Tag)
			return map[string]any{"idTagInfo": tag16(ok)}, []Event{{What: Authorised, Token: p.Tag, Allowed: ok}}
		}), nil, nil
	case "StartTransaction":
		var p struct {
			Connector int     `json:"connectorId"`
			Tag       string  `json:"idTag"`
			Meter     float64 `json:"meterStart"`
			Timestamp string  `json:"timestamp"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		number := s.newTransaction()
		return decision(func(allowed func(string) bool) (any, []Event) {
			ok := allowed(p.Tag)
			return map[string]any{"transactionId": number, "idTagInfo": tag16(ok)},
				[]Event{{What: Started, Outlet: p.Connector, Token: p.Tag, Allowed: ok, Transaction: strconv.Itoa(number), Stamp: s.stamp(f, p.Timestamp),
					Register: quantity.Known(quantity.WattHours(p.Meter))}}
		}), nil, nil
	case "StopTransaction":
		var p struct {
			Transaction int            `json:"transactionId"`
			Meter       float64        `json:"meterStop"`
			Timestamp   string         `json:"timestamp"`
			Reason      string         `json:"reason"`
			Data        []meterValue16 `json:"transactionData"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		if p.Reason == "" {
			p.Reason = "Local" // OCPP 1.6 section 6.49: what is left out is Local
		}
		tx := strconv.Itoa(p.Transaction)
		return map[string]any{}, append(samples16(s, f, p.Data, 0, tx),
			Event{What: Stopped, Transaction: tx, Reason: p.Reason, Stamp: s.stamp(f, p.Timestamp), Register: quantity.Known(quantity.WattHours(p.Meter))}), nil
	case "MeterValues":
		var p struct {
			Connector   int            `json:"connectorId"`
			Transaction *int           `json:"transactionId"`
			Values      []meterValue16 `json:"meterValue"`
		}
		if err := read(s, f, &p); err != nil {
			return nil, nil, err
		}
		tx := ""
		if p.Transaction != nil {
			tx = strconv.Itoa(*p.Transaction)
		}
		return nil, samples16(s, f, p.Values, p.Connector, tx), nil
	case "DataTransfer":
		return map[string]any{"status": "UnknownVendorId"}, []Event{{What: Others, Detail: f.Action}}, nil
	case "SecurityEventNotification":
		return nil, []Event{{What: Alerted}}, nil
	case "FirmwareStatusNotification", "DiagnosticsStatusNotification", "LogStatusNotification", "SignedFirmwareStatusNotification":
		return nil, []Event{{What: Others, Detail: f.Action}}, nil
	}
	return nil, nil, &unknownAction{f.Action}
}

func (speaks16) Settings(ctx context.Context, s *Station) ([]Setting, error) {
	var a struct {
		Keys []struct {
			Key      string  `json:"key"`
			ReadOnly bool    `json:"readonly"`
			Value    *string `json:"value"`
		} `json:"configurationKey"`
	}
	if err := s.ask(ctx, "GetConfiguration", nil, &a); err != nil {
		return nil, err
	}
	var out []Setting
	for _, k := range a.Keys {
		v := Setting{Name: k.Key, ReadOnly: k.ReadOnly}
		if k.Value != nil {
			v.Value = *k.Value
		}
		if IsSecret(k.Key) {
			v.Value = withheld
		}
		out = append(out, v)
	}
	return out, nil
}

func (speaks16) Set(ctx context.Context, s *Station, name, value string) (Status, error) {
	return s.order(ctx, "ChangeConfiguration", map[string]any{"key": name, "value": value})
}

// outletFor is the connector a purpose is sent to: the limit of the whole point
// belongs to connector 0.
func (s *Station) outletFor(p Purpose) int {
	if p == WholePoint {
		return 0
	}
	return s.Outlet()
}

func (speaks16) Limit(ctx context.Context, s *Station, l Limit) (Status, error) {
	profile := map[string]any{"chargingProfileId": l.ID, "stackLevel": l.Level, "chargingProfilePurpose": purposes[V16][l.Purpose],
		"chargingProfileKind": "Absolute", "chargingSchedule": l.schedule()}
	if l.Purpose == OneSession {
		n, err := strconv.Atoi(l.Transaction)
		if err != nil {
			return Status{}, fmt.Errorf("the session has no number: %w", err)
		}
		profile["transactionId"] = n
	}
	return s.order(ctx, "SetChargingProfile", map[string]any{"connectorId": s.outletFor(l.Purpose), "csChargingProfiles": profile})
}

// tenths rounds a limit to the one decimal the schema allows.
func tenths(i float64) float64 {
	n, _ := strconv.ParseFloat(strconv.FormatFloat(i, 'f', 1, 64), 64)
	return n
}

func (speaks16) Clear(ctx context.Context, s *Station, l Limit) (Status, error) {
	return s.order(ctx, "ClearChargingProfile", map[string]any{"id": l.ID})
}

func (speaks16) Schedule(ctx context.Context, s *Station, over time.Duration, watts bool) (Schedule, error) {
	var a struct {
		Status   string `json:"status"`
		Start    string `json:"scheduleStart"`
		Schedule struct {
			Unit    string `json:"chargingRateUnit"`
			Periods []struct {
				Start int     `json:"startPeriod"`
				Limit float64 `json:"limit"`
			} `json:"chargingSchedulePeriod"`
		} `json:"chargingSchedule"`
	}
	ask := map[string]any{"connectorId": s.Outlet(), "duration": int(over / time.Second), "chargingRateUnit": rateUnit(watts)}
	if err := s.ask(ctx, "GetCompositeSchedule", ask, &a); err != nil {
		return Schedule{}, err
	}
	if a.Status != "Accepted" {
		return Schedule{}, &Refusal{"GetCompositeSchedule", a.Status, ""}
	}
	out := Schedule{Start: ReadTime(a.Start), Watts: a.Schedule.Unit == rateUnit(true)}
	for _, p := range a.Schedule.Periods {
		out.Periods = append(out.Periods, Period{time.Duration(p.Start) * time.Second, p.Limit})
	}
	return out, nil
}

func (speaks16) Start(ctx context.Context, s *Station, token string) (Status, error) {
	return s.order(ctx, "RemoteStartTransaction", map[string]any{"connectorId": s.Outlet(), "idTag": token})
}

func (speaks16) Stop(ctx context.Context, s *Station, transaction string) (Status, error) {
	n, err := strconv.Atoi(transaction)
	if err != nil {
		return Status{}, fmt.Errorf("the session has no number: %w", err)
	}
	return s.order(ctx, "RemoteStopTransaction", map[string]any{"transactionId": n})
}

func (speaks16) Reboot(ctx context.Context, s *Station) (Status, error) {
	return s.order(ctx, "Reset", map[string]any{"type": "Soft"})
}

func (speaks16) List(ctx context.Context, s *Station, tokens []string) (Status, listVersions, error) {
	entries := []any{}
	for _, t := range tokens {
		entries = append(entries, map[string]any{"idTag": t, "idTagInfo": tag16(true)})
	}
	return s.list(ctx, "listVersion", entries)
}

// list adds to the point's stored list of cards, whose number goes by the name
// given, and reads that number before and after: a list that is there is never
// put away, and a number that does not move on proves nothing.
func (s *Station) list(ctx context.Context, number string, entries []any) (status Status, version listVersions, err error) {
	read := func(into *int) error {
		var v map[string]any
		if err := s.ask(ctx, "GetLocalListVersion", nil, &v); err != nil {
			return err
		}
		n, _ := v[number].(float64)
		*into = int(n)
		return nil
	}
	if err := read(&version.Before); err != nil {
		return Status{}, version, err
	}
	how := "Differential"
	if version.Before <= 0 { // 0: the list is empty; -1: there is none (OCPP 1.6 section 5.10)
		how = "Full"
	}
	version.Sent = max(version.Before, 0) + 1
	var a statusAnswer
	if err := s.ask(ctx, "SendLocalList", map[string]any{number: version.Sent, "updateType": how, "localAuthorizationList": entries}, &a); err != nil ||
		a.Status != "Accepted" {
		return a.said(), version, err
	}
	err = read(&version.After)
	return a.said(), version, err
}

func (speaks16) Trigger(ctx context.Context, s *Station, message string) (Status, error) {
	payload := map[string]any{"requestedMessage": message}
	if message == "MeterValues" || message == "StatusNotification" {
		payload["connectorId"] = s.Outlet()
	}
	return s.order(ctx, "TriggerMessage", payload)
}
