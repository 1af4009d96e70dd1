package trainer

import (
	"encoding/json"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// What both voices of a pretended point share.

// hoursSetting and delaySetting are names of the pretended point's own: the
// protocol has none for what the smart charge point regulations ask.
const (
	delaySetting = "RandomisedDelayMaximum"
	hoursSetting = "DefaultChargingHours"
)

// factorySettings are the settings the point comes with.
func (p *Point) factorySettings() map[string]string {
	all := map[ocpp.SettingName]string{
		ocpp.SampleEvery: "60", ocpp.SampleWhat: "Energy.Active.Import.Register", ocpp.AskRemote: "false", ocpp.FreeOffline: "true", ocpp.KnownOffline: "false",
		ocpp.StopOnInvalid: "true", ocpp.StopUnplugged: "true", ocpp.BeatEvery: "3600", ocpp.PhaseRotation: "RST", ocpp.ListEnabled: "true", ocpp.PlugInTime: "60",
		ocpp.RateUnit: p.rateUnit(), ocpp.OutletCount: "1", ocpp.PingEvery: "60",
		ocpp.FeatureProfile: "Core,FirmwareManagement,LocalAuthListManagement,SmartCharging,RemoteTrigger",
	}
	out := map[string]string{}
	for name, value := range all {
		if key := p.key(name); key != "" {
			out[key] = value
		}
	}
	own := "Vendor."
	if p.o.Version == ocpp.V16 {
		own = ""
	}
	out[own+delaySetting] = "600"
	if p.has(NoDelay) {
		out[own+delaySetting] = "0"
	}
	if !p.has(NoDefaultHours) {
		out[own+hoursSetting] = "Mon-Fri 00:00-08:00 11:00-16:00 22:00-24:00; Sat Sun all day"
	}
	out[own+"WiFiPassword"] = "not-to-be-told"
	return out
}

// readOnly are settings that cannot be set.
func readOnly(name string) bool {
	return strings.HasSuffix(name, "RateUnit") || name == "NumberOfConnectors" || name == "SupportedFeatureProfiles" || strings.HasSuffix(name, "WiFiPassword")
}

// rateUnit is the unit it takes limits in, in the words of its version.
func (p *Point) rateUnit() string {
	v16 := p.o.Version == ocpp.V16
	switch {
	case p.has(OnlyWatts) && v16:
		return "Power"
	case p.has(OnlyWatts):
		return "W"
	case v16:
		return "Current,Power"
	}
	return "A,W"
}

// longInterval is the least sample interval of a point that takes no short one.
const longInterval = 20 * time.Second

// each is what one ampere a phase is in a unit of limits.
func (p *Point) each(unit string) float64 {
	if unit == "W" {
		return float64(p.o.Voltage) * float64(p.o.Phases)
	}
	return 1
}

// sign is that of the power it tells.
func (p *Point) sign() float64 {
	if p.has(NegativePower) {
		return -1
	}
	return 1
}

// written is a payload as the point writes it.
func (p *Point) written(payload any) any {
	if !p.has(Unclean) {
		return payload
	}
	text, err := json.Marshal(payload)
	if err != nil {
		return payload
	}
	return json.RawMessage(regexp.MustCompile(`"(connectorId|id|seqNo|evseId)":(\d+)`).ReplaceAllString(string(text), `"$1":"$2"`))
}

// told are the settings it tells when it is asked for all of them.
func (p *Point) told() map[string]string {
	if !p.has(FewSettings) {
		return p.set
	}
	few := map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(p.set))[:2] {
		few[name] = p.set[name]
	}
	return few
}

// change sets a setting and says whether it is known and may be set.
func (p *Point) change(name, value string) (known, allowed bool) {
	if _, known = p.set[name]; !known {
		return false, false
	}
	if readOnly(name) || p.has(LongInterval) && name == p.key(ocpp.SampleEvery) && p.inSeconds(value) < longInterval {
		return true, false
	}
	if !p.has(ForgetsSettings) {
		p.set[name] = value
	}
	return true, true
}

// composite is what the limits add up to from now on, a step for every change.
func (p *Point) composite(over time.Duration) (time.Time, []ocpp.Period) {
	start := p.now().Truncate(time.Second)
	step := 5 * time.Minute
	var out []ocpp.Period
	for at := time.Duration(0); at < over && len(out) < 200; at += step {
		t := start.Add(at)
		id := ""
		if p.session != nil {
			id = p.session.id
		}
		limit, session, found := p.limits.limit(t, id, p.o.Voltage, p.o.Phases)
		if !found || limit > p.o.Current {
			limit = p.o.Current
		}
		if !session && !p.has(NoDefaultHours) && ocpp.InPeak(t) {
			limit = 0
		}
		if n := len(out); n == 0 || out[n-1].Limit != float64(limit) {
			out = append(out, ocpp.Period{From: at, Limit: float64(limit)})
		}
	}
	return start, out
}

// takeProfile puts a limit into the point's store, or says why not.
func (p *Point) takeProfile(q profile) string {
	switch {
	case p.has(NoLimits):
		return "NotSupported"
	case p.has(OnlyWatts) && !q.watts:
		return "Rejected"
	case q.purpose == ocpp.NoPurpose || len(q.periods) == 0 || q.periods[0].From != 0:
		return "Rejected"
	case q.purpose == ocpp.OneSession && (p.session == nil || p.session.id != q.transaction):
		return "Rejected"
	}
	const mostProfiles = 20
	if len(p.limits) >= mostProfiles {
		return "Rejected"
	}
	p.limits.put(q)
	return "Accepted"
}

// schedule is the part of a charging profile that both versions write alike.
type schedule struct {
	Duration int    `json:"duration"`
	Start    string `json:"startSchedule"`
	Unit     string `json:"chargingRateUnit"`
	Periods  []struct {
		Start int     `json:"startPeriod"`
		Limit float64 `json:"limit"`
	} `json:"chargingSchedulePeriod"`
}

// into puts the schedule into a profile.
func (s schedule) into(q profile) profile {
	q.from, q.lasts, q.watts = ocpp.ReadTime(s.Start), time.Duration(s.Duration)*time.Second, s.Unit == "W"
	for _, one := range s.Periods {
		q.periods = append(q.periods, ocpp.Period{From: time.Duration(one.Start) * time.Second, Limit: one.Limit})
	}
	return q
}

// booted takes the answer to an introduction.
func (p *Point) booted(f ocpp.Frame) {
	var a struct {
		Time string `json:"currentTime"`
	}
	if json.Unmarshal(f.Payload, &a) == nil {
		p.takeTime(a.Time)
	}
}

// refused ends a session whose card was refused after it had begun.
func (p *Point) refused(s *session) {
	if !p.has(AcceptsAnyCard) && p.session == s {
		s.allowed = false
		p.endSession("DeAuthorized")
	}
}

// request is a question put to the point. Its methods answer what both
// versions ask in other words and mean alike.
type request struct {
	p *Point
	f ocpp.Frame
}

func (r request) read(into any) { _ = json.Unmarshal(r.f.Payload, into) }

func (r request) payload(fields map[string]any) ocpp.Answer {
	return ocpp.Answer{Frame: r.f.Reply(fields)}
}

// status answers with a word, and does what follows from it once the answer is
// on its way.
func (r request) status(word string, after func()) ocpp.Answer {
	payload := map[string]any{"status": word}
	if word == "Accepted" && r.p.o.Version != ocpp.V16 { // which lets a reason stand beside any status
		payload["statusInfo"] = map[string]any{"reasonCode": "NoError"}
	}
	a := r.payload(payload)
	if after != nil {
		a.After = r.p.later(after)
	}
	return a
}

// refuse refuses a question, in the way its answer has.
func (r request) refuse() ocpp.Answer {
	switch r.f.Action {
	case "GetConfiguration", "GetLocalListVersion", "SetVariables":
		return ocpp.Answer{Frame: r.f.Refuse("GenericError", "not now")}
	case "SendLocalList":
		return r.payload(map[string]any{"status": "Failed"})
	}
	return r.payload(map[string]any{"status": "Rejected"})
}

// takeList stores a list of cards, whole or as an addition.
func (p *Point) takeList(number int, how string, cards []string) {
	if p.has(OldList) {
		return
	}
	if how == "Full" {
		p.cards = nil
	}
	p.listNo, p.cards = number, append(p.cards, cards...)
}

func (r request) start(token string) ocpp.Answer {
	if r.p.session != nil || !r.p.plugged {
		return r.status("Rejected", nil)
	}
	return r.status("Accepted", func() { r.p.startOn(token, r.p.set[r.p.key(ocpp.AskRemote)] == "true", false) })
}

func (r request) stop(session string) ocpp.Answer {
	if r.p.session == nil || r.p.session.id != session {
		return r.status("Rejected", nil)
	}
	return r.status("Accepted", func() {
		if !r.p.has(NeverStops) {
			r.p.endSession("Remote")
		}
	})
}

func (r request) clear(profile int) ocpp.Answer {
	if r.p.limits.drop(profile) {
		return r.status("Accepted", nil)
	}
	return r.status("Unknown", nil)
}

// composite answers what the limits add up to; lay puts it into the words of
// the version.
func (r request) composite(lay func(start string, seconds int, unit string, periods []any) map[string]any) ocpp.Answer {
	if r.p.has(NoLimits) {
		return ocpp.Answer{Frame: r.f.Refuse(ocpp.NotSupported, "")}
	}
	var q struct {
		Duration int
		Unit     string `json:"chargingRateUnit"`
	}
	r.read(&q)
	if r.p.has(OnlyWatts) && q.Unit == "A" {
		return r.payload(map[string]any{"status": "Rejected"})
	}
	start, periods := r.p.composite(time.Duration(q.Duration) * time.Second)
	list := []any{}
	for _, one := range periods {
		list = append(list, map[string]any{"startPeriod": int(one.From / time.Second), "limit": one.Limit * r.p.each(q.Unit)})
	}
	return r.payload(lay(ocpp.WriteTime(start), q.Duration, q.Unit, list))
}

func (r request) trigger() ocpp.Answer {
	var q struct {
		Message string `json:"requestedMessage"`
	}
	r.read(&q)
	switch q.Message {
	case "BootNotification":
		return r.status("Accepted", func() { r.p.voice.boot(r.p) })
	case "StatusNotification":
		return r.status("Accepted", func() { r.p.voice.tellStatus(r.p) })
	case "Heartbeat":
		return r.status("Accepted", func() { r.p.send(letter{action: "Heartbeat", payload: map[string]any{}}) })
	}
	return r.status("NotImplemented", nil)
}

// later has what follows from an answer done once the answer is on its way.
func (p *Point) later(do func()) func() {
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		do()
	}
}

// energy is what the meter's register shows.
func (p *Point) energy() ocpp.Measured {
	return ocpp.Measured{Measurand: "Energy.Active.Import.Register", Unit: "Wh", Value: strconv.FormatInt(whole(float64(p.bench.register)), 10)}
}

// values are what the point samples: what its setting asks for, of what it has.
func (p *Point) values() []ocpp.Measured {
	asked := "," + p.set[p.key(ocpp.SampleWhat)] + ","
	wants := func(measurand string) bool { return strings.Contains(asked, ","+measurand+",") }
	var out []ocpp.Measured
	if wants("Energy.Active.Import.Register") {
		out = append(out, p.energy())
	}
	if p.has(NoMeter) {
		return out
	}
	var sum quantity.Amperes
	for k, i := range p.currents() {
		sum += i
		if k >= p.o.Phases && i == 0 {
			continue
		}
		line := "L" + strconv.Itoa(k+1)
		if wants("Current.Import") {
			out = append(out, ocpp.Measured{Measurand: "Current.Import", Phase: line, Unit: "A",
				Value: strings.TrimSuffix(strconv.FormatFloat(float64(i), 'f', 1, 64), ".0")})
		}
		if wants("Voltage") {
			out = append(out, ocpp.Measured{Measurand: "Voltage", Phase: line + "-N", Unit: "V", Value: strconv.FormatFloat(float64(p.o.Voltage), 'f', -1, 64)})
		}
	}
	if wants("Power.Active.Import") {
		out = append(out, ocpp.Measured{Measurand: "Power.Active.Import", Unit: "W", Value: strconv.FormatInt(whole(p.sign()*float64(sum)*float64(p.o.Voltage)), 10)})
	}
	return out
}
