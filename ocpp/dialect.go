package ocpp

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"chargewright/quantity"
)

// Dialect is one version of the protocol: what a point tells, put into events,
// and what is asked of it, put into its messages.
type Dialect interface {
	hear(s *Station, f Frame) (reply any, told []Event, err error)

	Settings(ctx context.Context, s *Station) ([]Setting, error)
	Set(ctx context.Context, s *Station, name, value string) (Status, error)
	Limit(ctx context.Context, s *Station, l Limit) (Status, error)
	Clear(ctx context.Context, s *Station, l Limit) (Status, error)
	Schedule(ctx context.Context, s *Station, over time.Duration, watts bool) (Schedule, error)
	Start(ctx context.Context, s *Station, token string) (Status, error)
	Stop(ctx context.Context, s *Station, transaction string) (Status, error)
	Reboot(ctx context.Context, s *Station) (Status, error)
	List(ctx context.Context, s *Station, tokens []string) (status Status, version listVersions, err error)
	Trigger(ctx context.Context, s *Station, message string) (Status, error)
}

// dialects are the versions spoken.
var dialects = map[Version]Dialect{V16: speaks16{}, V201: speaks201{V201}, V21: speaks201{V21}}

// SettingName is a setting both versions have, each under its own name.
type SettingName string

// Settings that are read and set.
const (
	SampleEvery    SettingName = "sample interval"
	SampleWhat     SettingName = "sampled values"
	AskRemote      SettingName = "remote start asks first"
	FreeOffline    SettingName = "unknown cards offline"
	KnownOffline   SettingName = "known cards offline"
	StopOnInvalid  SettingName = "stop on a refused card"
	StopUnplugged  SettingName = "stop when unplugged"
	BeatEvery      SettingName = "heartbeat interval"
	PhaseRotation  SettingName = "phase rotation"
	ListEnabled    SettingName = "stored list of cards"
	PlugInTime     SettingName = "time to plug in"
	OutletCount    SettingName = "outlets"
	PingEvery      SettingName = "web socket ping"
	FeatureProfile SettingName = "parts of the protocol"
	RateUnit       SettingName = "unit of limits"
)

// Purpose is what a limit is for.
type Purpose string

// Purposes of a limit. Source: OCPP 1.6 section 3.13; 2.0.1 Part 2 K.
const (
	WholePoint Purpose = "whole point"    // the most the point may ever take
	AnySession Purpose = "any session"    // what a session may take by itself
	OneSession Purpose = "this session"   // what the running session may take
	NoPurpose  Purpose = "not understood" //
)

// Limit is a standing limit in amperes, each phase, or in watts over all of them.
type Limit struct {
	ID          int
	Level       int // among limits of one purpose the higher counts
	Purpose     Purpose
	Current     quantity.Amperes
	InWatts     bool           // the power is sent instead of the current
	Power       quantity.Watts // over all phases
	Phases      int            // that the power is over; 0 where not said
	Transaction string
	From        time.Time     // when it begins to hold
	For         time.Duration // how long it holds; 0 for ever
}

// Schedule is the limit that all a point holds adds up to, over the time to come.
type Schedule struct {
	Start   time.Time
	Watts   bool // its limits are in watts, not in amperes
	Periods []Period
}

// Period is one step of a schedule.
type Period struct {
	From  time.Duration // since the schedule's start
	Limit float64
}

// At returns the limit at t, and false where the schedule says nothing.
func (s Schedule) At(t time.Time) (float64, bool) {
	limit, known := 0.0, false
	for _, p := range s.Periods {
		if !s.Start.Add(p.From).After(t) {
			limit, known = p.Limit, true
		}
	}
	return limit, known
}

// ask sends a question to the point, reads the answer into out, and gives up
// after a time that suits a slow point.
func (s *Station) ask(ctx context.Context, action string, payload, out any) error {
	l := s.Link()
	if l == nil {
		return ErrLinkLost
	}
	const patience = 30 * time.Second // engineering judgement; the protocol sets none
	ctx, cancel := s.clock.Within(ctx, patience)
	defer cancel()
	f, err := l.Ask(ctx, action, payload)
	if err != nil {
		return err
	}
	if out == nil {
		return nil
	}
	if err := json.Unmarshal(f.Payload, out); err != nil {
		return fmt.Errorf("the answer to %s could not be read: %w", action, err)
	}
	return nil
}

type info struct {
	ReasonCode string `json:"reasonCode"`
}

// statusAnswer is the answer most questions have.
type statusAnswer struct {
	Status string `json:"status"`
	Info   info   `json:"statusInfo"`
}

// Status is what a point makes of an order, and its reason where it gives one: a
// point may give one beside any status, being accepted among them.
// Source: OCPP 2.0.1 Part 2, StatusInfoType.
type Status struct{ Word, Reason string }

// Accepted reports that the point does what it was told.
func (s Status) Accepted() bool { return s.Word == "Accepted" }

func (s Status) String() string {
	if s.Reason == "" {
		return s.Word
	}
	return s.Word + " (" + s.Reason + ")"
}

func (a statusAnswer) said() Status { return Status{a.Status, a.Info.ReasonCode} }

// order asks for something to be done and returns what the point makes of it.
func (s *Station) order(ctx context.Context, action string, payload any) (Status, error) {
	var a statusAnswer
	err := s.ask(ctx, action, payload, &a)
	return a.said(), err
}

// rateUnit is the unit of a limit in the words both versions share.
func rateUnit(watts bool) string {
	if watts {
		return "W"
	}
	return "A"
}

// schedule writes the limit's schedule in the words both versions share.
func (l Limit) schedule() map[string]any {
	period := map[string]any{"startPeriod": 0, "limit": tenths(float64(l.Current))}
	if l.InWatts {
		period["limit"] = tenths(float64(l.Power))
	}
	if l.Phases > 0 {
		period["numberPhases"] = l.Phases
	}
	out := map[string]any{"chargingRateUnit": rateUnit(l.InWatts), "chargingSchedulePeriod": []any{period}}
	if l.For > 0 {
		out["duration"] = int(l.For / time.Second)
	}
	if l.For > 0 || !l.From.IsZero() {
		out["startSchedule"] = WriteTime(l.From)
	}
	return out
}

// listVersions are the numbers of a stored list of cards: before it was sent,
// as it was sent, and as the point tells it afterwards.
type listVersions struct{ Before, Sent, After int }

// formError says that a payload did not hold what its action asks for.
type formError struct{ why string }

func (e *formError) Error() string { return e.why }

// unknownAction says that an action is not spoken here.
type unknownAction struct{ action string }

func (e *unknownAction) Error() string { return e.action + " is not spoken here" }
