package trainer

import (
	"context"
	"slices"
	"strings"
	"time"

	"chargewright/meter"
	"chargewright/ocpp"
	"chargewright/pilot"
	"chargewright/quantity"
)

// bench is the pretended vehicle and meter: what current flows, and what it
// adds up to.
type bench struct {
	current  quantity.Amperes   // in each line that carries
	register quantity.WattHours // of the point
	beside   quantity.WattHours // of a meter beside it
	at       time.Time
	offered  quantity.Amperes
	since    time.Time // when the offer changed
}

func newBench(now time.Time) bench { return bench{at: now, register: 41_250} }

// followIn is how long the pretended vehicle takes to follow a changed offer.
const (
	followIn   = 2 * time.Second
	slowFollow = 45 * time.Second
	vanishesIn = 3 * time.Second
	noticesIn  = 10 * time.Second // that its link is lost
)

// live lets the point live up to now: the meter counts, the current follows
// the limit, samples fall due. It reports whether the link is to be dropped.
func (p *Point) live() (drop bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	p.count(now)
	p.offer(now)
	if p.session != nil {
		p.sampleIfDue(now)
	}
	if !p.cardAt.IsZero() && now.After(p.cardAt) {
		p.cardAt = time.Time{}
		p.presentCard()
	}
	if p.has(Vanishes) && p.online != nil && now.Sub(p.suffered) > vanishesIn {
		return true
	}
	if p.reboot && p.online != nil && len(p.outbox) == 0 {
		return true
	}
	if p.has(DropsLink) && p.session != nil && !p.dropped && p.online != nil && now.Sub(p.session.began) > 20*time.Second {
		p.dropped = true
		return true
	}
	return false
}

// count adds up energy since the last look.
func (p *Point) count(now time.Time) {
	dt := now.Sub(p.bench.at)
	p.bench.at = now
	if dt <= 0 || dt > time.Minute { // the clock was set
		return
	}
	wh := float64(p.bench.current) * float64(p.o.Voltage) * float64(p.o.Phases) * dt.Hours()
	p.bench.beside += quantity.WattHours(wh)
	if p.has(WrongEnergy) {
		wh *= 1.25
	}
	p.bench.register += quantity.WattHours(wh)
}

// offer works out what may be drawn, and lets the vehicle follow.
func (p *Point) offer(now time.Time) {
	allowed := p.allowedNow(now)
	if allowed != p.bench.offered {
		p.bench.offered, p.bench.since = allowed, now
	}
	lag := followIn
	if p.has(Slow) && p.bench.current > 0 {
		lag = slowFollow
	}
	if now.Sub(p.bench.since) >= lag || allowed == 0 {
		p.bench.current = min(allowed, p.o.Vehicle)
	}
	status := p.statusNow(now)
	if status != p.status {
		p.status = status
		p.voice.tellStatus(p)
	}
}

// allowedNow is the current the point offers.
func (p *Point) allowedNow(now time.Time) quantity.Amperes {
	if p.session == nil || !p.session.allowed || !p.plugged || now.Before(p.session.waits) {
		return 0
	}
	if p.has(IgnoresLimit) {
		return p.o.Current
	}
	if p.has(NoFailSafe) && p.online == nil {
		return p.bench.offered
	}
	if p.has(StaysDown) && p.bench.offered > 0 && p.bench.offered < p.o.Current {
		return p.bench.offered
	}
	limit, _, found := p.limits.limit(now, p.session.id, p.o.Voltage, p.o.Phases)
	if safe, set := p.o.FailSafe.Get(); set && p.online == nil && now.Sub(p.lost) >= noticesIn && (!found || limit > safe) {
		limit, found = safe, true
	}
	if !found || limit > p.o.Current {
		limit = p.o.Current
	}
	if limit < pilot.LeastOffer {
		return 0
	}
	return limit
}

// statusNow is the outlet's status in the words of the version.
func (p *Point) statusNow(now time.Time) string {
	v16 := p.o.Version == ocpp.V16
	switch {
	case p.has(Unplugged):
		return "Available"
	case p.session != nil && !v16, p.plugged && p.session == nil && !v16:
		return "Occupied"
	case p.session != nil && p.bench.offered > 0:
		return "Charging"
	case p.session != nil:
		return "SuspendedEVSE"
	case p.plugged:
		return "Preparing"
	}
	return "Available"
}

// currents are what the meter shows, by the point's own lines.
func (p *Point) currents() []quantity.Amperes {
	out := make([]quantity.Amperes, 3)
	for k := range p.o.Phases {
		out[k] = p.bench.current
	}
	if p.has(WrongPhase) && p.o.Phases == 3 {
		out[2] = 0 // one line is lost; which line of the supply one phase stands on it cannot tell
	}
	return out
}

// Meter is what a reference meter on the point's circuit shows, by the lines of
// the supply: it is no part of the point, and tells none of its lies.
func (p *Point) Meter(context.Context) (meter.Reading, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.count(p.now())
	out := meter.Reading{At: p.now(), Energy: quantity.Known(p.bench.beside)}
	for k := range out.Current {
		out.Current[k] = quantity.Known[quantity.Amperes](0)
		out.Voltage[k] = quantity.Known(p.o.Voltage)
	}
	for k := range p.o.Phases {
		at := strings.IndexByte("RST", p.o.Rotation[k])
		if p.has(WrongPhase) {
			at = (at + 1) % 3
			if p.o.Phases == 3 && k == 2 {
				continue
			}
		}
		out.Current[at] = quantity.Known(p.bench.current)
	}
	return out, nil
}

// whole is a register or power as a whole number.
func whole(n float64) int64 { return int64(n + 0.5) }

func (p *Point) sampleIfDue(now time.Time) {
	every := p.interval(p.key(ocpp.SampleEvery))
	if every == 0 || now.Sub(p.sampled) < every {
		return
	}
	p.sampled = now
	if p.online == nil && p.has(KeepsNothing) {
		return
	}
	p.voice.sample(p, now)
}

// key is what the point's version calls a setting.
func (p *Point) key(of ocpp.SettingName) string { return p.o.Version.Name(of) }

// startOn begins a session on a card, after asking where it must.
func (p *Point) startOn(token string, ask, local bool) {
	if p.session != nil {
		return
	}
	begin := func(allowed bool) {
		if p.has(NeverStarts) {
			return
		}
		if !allowed && !p.has(AcceptsAnyCard) || p.session != nil {
			return
		}
		now := p.now()
		p.number++
		s := &session{token: token, began: now, from: p.bench.register, allowed: true}
		if local && !p.has(NoDelay) {
			s.waits = now.Add(p.o.Delay)
		}
		p.session, p.sampled = s, now
		p.voice.begin(p)
		p.say("a session begins on card " + token)
	}
	if !ask {
		begin(true)
		return
	}
	p.voice.authorise(p, token, begin)
}

// presentCard is a person with the card at the point.
func (p *Point) presentCard() {
	if p.o.Card == "" {
		return
	}
	p.say("the card is presented at the point")
	if p.online == nil { // only a stored card starts without the link
		if slices.Contains(p.cards, p.o.Card) && p.set[p.key(ocpp.KnownOffline)] == "true" {
			p.startOn(p.o.Card, false, true)
		}
		return
	}
	p.startOn(p.o.Card, true, true)
}

// endSession stops the charge.
func (p *Point) endSession(reason string) {
	if p.session == nil {
		return
	}
	p.count(p.now())
	p.bench.current = 0
	p.voice.finish(p, reason)
	p.limits.end(p.session.id)
	p.session = nil
	p.say("the session ends")
}

// restart ends the session, drops the link and comes back.
func (p *Point) restart() {
	if p.session != nil {
		p.endSession("SoftReset")
	}
	if p.has(ForgetsAtBoot) {
		p.set = p.factorySettings()
	}
	p.reboot = true
	p.restarts++
	p.cardAt = p.now().Add(restartTakes + 15*time.Second)
}
