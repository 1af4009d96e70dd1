package model

import (
	"math"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
)

// Rated returns the current a circuit's device is rated for, or is set to.
func (c *Circuit) Rated() Answer[quantity.Amperes] {
	if lacks := c.model.Doubted(c.thing.Path + "/device"); len(lacks) > 0 {
		return lacking[quantity.Amperes](lacks)
	}
	if ir, ok := c.Record.Device.LongSetting.Get(); ok {
		return Answer[quantity.Amperes]{Value: ir}
	}
	in, ok := c.Record.Device.Rating.Get()
	return Answer[quantity.Amperes]{Value: in, Lacks: c.thing.Unless(ok, "device/rating", "rating of its device")}
}

// Device returns the circuit's overcurrent device as the rulebook knows it.
func (c *Circuit) Device() Answer[standard.Device] {
	d := &c.Record.Device
	family, ok := d.Type.Get()
	if !ok {
		return lacking[standard.Device](c.thing.Lack("device/type", "type of its device"))
	}
	in := c.Rated()
	return Answer[standard.Device]{Value: standard.Device{Family: family, Rating: d.Rating.Or(in.Value), Ir: d.LongSetting.Or(0), Im: d.ShortSetting.Or(0)},
		Lacks: in.Lacks}
}

// Earthing returns the earthing system that protects circuit c: that of the
// supply, or TT for a point on an electrode of its own.
func (c *Circuit) Earthing() Answer[job.EarthingSystem] {
	if c.Point != nil {
		if _, own := c.model.OwnElectrode(c.Point); own {
			return Answer[job.EarthingSystem]{Value: job.TT}
		}
	}
	return Answer[job.EarthingSystem]{Value: c.model.Job.Supply.Earthing.Or(""), Lacks: c.model.NoEarthing()}
}

// NoEarthing is the lack of the supply's earthing system.
func (m *Model) NoEarthing() finding.Lacks {
	return job.TheSupply.Unless(m.Job.Supply.Earthing.IsKnown(), "earthing", "earthing system")
}

// NoIpf is the lack of the fault current at the origin.
func (m *Model) NoIpf() finding.Lacks {
	return finding.Gather(job.TheSupply.Unless(m.Job.Supply.Ipf.Value.IsKnown(), "Ipf", "Ipf"), m.Doubted("supply/Ipf"))
}

// CarriedAt returns the current that a limiter's place carries: by the device
// of the circuit that feeds the board, or what the supply carries.
func (m *Model) CarriedAt(l *job.Limiter) Answer[quantity.Amperes] {
	if l.At == "" {
		return lacking[quantity.Amperes](l.Thing().Lack("at", "the supply or the board it is at"))
	}
	if b := m.board(l.At); b != nil && b.Feed != nil {
		in := b.Feed.Rated()
		in.Why = "device of " + b.Feed.Name()
		return in
	}
	return m.SupplyCarries()
}

// SupplyCarries returns the current that the supply carries: by the fuse or the
// agreed capacity, whichever is less.
func (m *Model) SupplyCarries() Answer[quantity.Amperes] {
	out := Answer[quantity.Amperes]{Value: m.Job.Supply.CutOut.Rating.Or(0), Why: "cut-out fuse", Lacks: finding.Gather(m.NoFuse(), m.NoCapacity())}
	if capacity, agreed := m.Job.Supply.Capacity.Get(); agreed && capacity <= out.Value {
		out.Value, out.Why = capacity, "agreed capacity of the supply"
	}
	return out
}

// NoCapacity is the lack of the capacity agreed with the network operator,
// unless none is.
func (m *Model) NoCapacity() finding.Lacks {
	s := &m.Job.Supply
	return job.TheSupply.Unless(s.Capacity.IsKnown() || !s.CapacityAgreed.Or(true), "agreed capacity",
		"capacity agreed with the network operator, or that none is", "capacity agreed")
}

// NoFuse is the lack of the rating of the fuse at the origin.
func (m *Model) NoFuse() finding.Lacks {
	return job.TheSupply.Unless(m.Job.Supply.CutOut.Rating.IsKnown(), "cut-out/rating", "rating of the cut-out fuse")
}

// DisconnectionTime returns the longest time a fault may last in circuit c.
//
// A charge point's circuit is held to the final-circuit time up to 63 A,
// whether it ends in a socket or a lead: the vehicle's metal is held by people
// standing on the ground.
func (c *Circuit) DisconnectionTime() Answer[quantity.Seconds] {
	system := c.Earthing()
	if !system.Known() {
		return lacking[quantity.Seconds](system.Lacks)
	}
	kind := "tn"
	if system.Value == job.TT {
		kind = "tt"
	}
	use := " distribution"
	if !c.IsDistribution() {
		in := c.Rated()
		if !in.Known() {
			return lacking[quantity.Seconds](in.Lacks)
		}
		key := "tn final fixed greatest"
		if c.Point != nil || c.Load != nil && c.Load.Kind.Or("") == job.Sockets {
			key = "tn final socket greatest"
		}
		if greatest, _, err := c.model.Rules.Limit(key); err != nil || float64(in.Value) <= greatest {
			use = " final"
		}
	}
	t, cite, err := c.model.Rules.Limit("disconnection " + kind + use)
	if err != nil {
		return lacking[quantity.Seconds](finding.Cannot(err.Error()))
	}
	return answer(quantity.Seconds(t), cite)
}

// GreatestZs returns the greatest earth fault loop impedance at which the
// circuit's overcurrent device disconnects in time, conductors at operating
// temperature.
func (c *Circuit) GreatestZs() Answer[quantity.Ohms] {
	within, d, u0 := c.DisconnectionTime(), c.Device(), c.model.U0()
	if lacks := finding.Gather(within.Lacks, d.Lacks, u0.Lacks); len(lacks) > 0 {
		return lacking[quantity.Ohms](lacks)
	}
	z, cite, err := c.model.Rules.MaxZs(d.Value, within.Value, u0.Value)
	if err != nil {
		return lacking[quantity.Ohms](c.OffCurve(err))
	}
	return answer(z, cite)
}

// GreatestZsByRCD returns the greatest loop impedance at which the RCD that
// protects circuit c gives fault protection:
//
//	formula  Zs ≤ 50 V / IΔn
//	clause   BS 7671 411.5.3
func (c *Circuit) GreatestZsByRCD() Answer[quantity.Ohms] {
	rcd, ok := c.RCD()
	residual, known := rcd.Residual.Get()
	if !ok || !known || residual <= 0 {
		return lacking[quantity.Ohms](c.thing.Lack("RCD/IΔn", "the RCD that protects it, and its IΔn", "shared RCD"))
	}
	touch, cite, err := c.model.Rules.Limit("touch voltage")
	if err != nil {
		return lacking[quantity.Ohms](finding.Cannot(err.Error()))
	}
	return answer(quantity.Ohms(touch/float64(residual)), cite)
}

// ColdZsLimit returns the limit for a reading of Zs taken cold: by the
// overcurrent device, rounded down to the hundredth a meter shows; by the RCD
// where the earthing is TT.
func (c *Circuit) ColdZsLimit() Answer[quantity.Ohms] {
	if c.Earthing().Value == job.TT {
		return c.GreatestZsByRCD()
	}
	z := c.GreatestZs()
	if !z.Known() {
		return z
	}
	cold, cite, err := c.model.Rules.Limit("cold zs factor")
	if err != nil {
		return lacking[quantity.Ohms](finding.Cannot(err.Error()))
	}
	return answer(RoundDown(z.Value*quantity.Ohms(cold)), cite)
}

// OffCurve is the lack of a time or current on the curve of the circuit's device.
func (c *Circuit) OffCurve(err error) finding.Lacks {
	return c.thing.Lack("device/type", err.Error(), "device/rating", "device/long-time setting", "device/short-time setting")
}

// RoundDown rounds a limit down to the hundredth of an ohm a meter shows.
func RoundDown(z quantity.Ohms) quantity.Ohms {
	return quantity.Ohms(math.Floor(float64(z)*100+1e-9) / 100)
}

// RCD returns the RCD that cuts off an earth fault in circuit c: its own, one
// it shares, or one further up.
func (c *Circuit) RCD() (job.RCD, bool) {
	for up := c; up != nil; up = up.Feed() {
		if own, ok := up.BoardRCD(); ok {
			return own, true
		}
		if up.From != nil && up.From.Record.MainSwitch.RCD.Residual.IsKnown() {
			return up.From.Record.MainSwitch.RCD, true
		}
	}
	return job.RCD{}, false
}

// BoardRCD returns the RCD at the board that circuit c starts from: its own or
// one it shares there.
func (c *Circuit) BoardRCD() (job.RCD, bool) {
	if c.Record.RCD.Residual.IsKnown() {
		return c.Record.RCD, true
	}
	if shared, ok := c.SharedRCD(); ok {
		return shared.RCD, true
	}
	return job.RCD{}, false
}

// SharedRCD returns the RCD of the board that the circuit is behind, if any.
func (c *Circuit) SharedRCD() (*job.BoardRCD, bool) {
	if c.From == nil || c.Record.SharedRCD == "" {
		return nil, false
	}
	for i := range c.From.Record.RCDs {
		if c.From.Record.RCDs[i].Name == c.Record.SharedRCD {
			return &c.From.Record.RCDs[i], true
		}
	}
	return nil, false
}

// Protecting is an RCD and the final circuits behind it.
type Protecting struct {
	job.Thing
	RCD      job.RCD
	Circuits []*Circuit // final ones behind it
	Feeds    []*Circuit // circuits that start behind it; none of a built-in one
	Board    *Board     // it stands at; nil for a built-in one, or where a circuit starts nowhere
	BuiltIn  bool       // inside the point
	Main     bool       // the main switch of the board
}

// Alone reports whether the RCD serves one point and nothing else.
func (r Protecting) Alone() bool {
	return r.BuiltIn || len(r.Circuits) == 1 && r.Circuits[0].Point != nil
}

// Points returns the points behind the RCD; p itself for a built-in one.
func (r Protecting) Points(p *Point) []*Point {
	if r.BuiltIn {
		return []*Point{p}
	}
	var out []*Point
	for _, c := range r.Circuits {
		if c.Point != nil {
			out = append(out, c.Point)
		}
	}
	return out
}

// RCDs returns every RCD the point's current passes, nearest the vehicle first.
func (p *Point) RCDs() []Protecting {
	var out []Protecting
	if stated(p.Record.BuiltInRCD) {
		out = append(out, Protecting{Thing: p.Record.RCDThing(), RCD: p.Record.BuiltInRCD, BuiltIn: true})
	}
	return append(out, p.Circuit.RCDs()...)
}

// RCDs returns every RCD that the circuit's current passes, nearest its end
// first; none of no circuit.
func (c *Circuit) RCDs() []Protecting {
	var out []Protecting
	for ; c != nil; c = c.Feed() {
		if stated(c.Record.RCD) {
			out = append(out, Protecting{Thing: c.Record.RCDThing(), RCD: c.Record.RCD, Circuits: c.Finals(), Feeds: []*Circuit{c}, Board: c.From})
		}
		if shared, ok := c.SharedRCD(); ok {
			r := Protecting{Thing: c.From.Record.RCDThing(shared), RCD: shared.RCD, Board: c.From}
			for _, other := range c.From.Circuits {
				if other.Record.SharedRCD == shared.Name {
					r.Circuits = append(r.Circuits, other.Finals()...)
					r.Feeds = append(r.Feeds, other)
				}
			}
			out = append(out, r)
		}
		if c.From != nil && stated(c.From.Record.MainSwitch.RCD) {
			r := Protecting{Thing: c.From.Record.MainRCDThing(), RCD: c.From.Record.MainSwitch.RCD, Feeds: c.From.Circuits, Board: c.From, Main: true}
			for _, other := range c.From.Circuits {
				r.Circuits = append(r.Circuits, other.Finals()...)
			}
			out = append(out, r)
		}
	}
	return out
}

// OwnRCD returns the RCD that serves this point alone. If there are several, one
// that gives additional protection is enough, whatever the others are: it must
// act at once at the current the rules allow, and open every live conductor.
// Where none does, the most sensitive; a main switch only where there is no
// other.
func (p *Point) OwnRCD() (Protecting, bool) {
	var own Protecting
	found := false
	all := p.RCDs()
	if most, _, err := p.rules.Limit("rcd point"); err == nil {
		for _, delayed := range []bool{false, true} {
			for _, r := range all {
				if i, ok := r.RCD.Residual.Get(); r.Alone() && ok && float64(i) <= most && r.RCD.Delayed.Or(false) == delayed && r.RCD.Poles.Or("") == job.AllLive {
					return r, true
				}
			}
		}
	}
	for _, r := range all {
		if r.Alone() && (!found || !r.Main && moreSensitive(r.RCD, own.RCD)) {
			own, found = r, true
		}
	}
	return own, found
}

func moreSensitive(a, b job.RCD) bool {
	ia, ok := a.Residual.Get()
	ib, known := b.Residual.Get()
	return ok && (!known || ia < ib)
}

// stated reports whether anything is said of an RCD.
func stated(r job.RCD) bool {
	return r.Type.IsKnown() || r.Residual.IsKnown() || r.Rating.IsKnown() || r.Poles.IsKnown()
}

// Finals returns the final circuits fed through circuit c, c itself if final.
func (c *Circuit) Finals() []*Circuit {
	if c.Board == nil {
		return []*Circuit{c}
	}
	var out []*Circuit
	for _, down := range c.Board.Circuits {
		out = append(out, down.Finals()...)
	}
	return out
}
