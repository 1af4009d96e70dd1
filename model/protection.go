package model

import (
	"math"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
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
func (c *Circuit) Earthing() Answer[trade.EarthingSystem] {
	out := Answer[trade.EarthingSystem]{Value: c.model.Job.Supply.Earthing.Or(""), Lacks: c.model.NoEarthing()}
	switch {
	case c.Record.To == "":
		out.Lacks = append(out.Lacks, c.thing.Lack("to", "what it feeds")...)
	case c.Point != nil:
		if _, own := c.model.OwnElectrode(c.Point); own {
			return Answer[trade.EarthingSystem]{Value: trade.TT}
		}
		out.Lacks = append(out.Lacks, c.Point.NoMeasure()...)
	}
	return out
}

// NoMeasure is the lack of how a point is earthed, where the record says
// something of it. A point of which nothing is said has the supply's earthing.
func (p *Point) NoMeasure() finding.Lacks {
	e := &p.Record.Earthing
	return p.Record.Thing().Unless(e.Measure.IsKnown() || *e == (works.PointEarthing{}), "earthing/measure",
		"how it is earthed: its measure against a lost PEN, or the earthing used instead")
}

// NoEarthing is the lack of the supply's earthing system.
func (m *Model) NoEarthing() finding.Lacks {
	return works.TheSupply.Unless(m.Job.Supply.Earthing.IsKnown(), "earthing", "earthing system")
}

// NoIpf is the lack of the fault current at the origin.
func (m *Model) NoIpf() finding.Lacks {
	return finding.Gather(works.TheSupply.Unless(m.Job.Supply.Ipf.Value.IsKnown(), "Ipf", "Ipf"), m.Doubted("supply/Ipf"))
}

// CarriedAt returns the current that a limiter's place carries: by the device
// of the circuit that feeds the board, or what the supply carries.
func (m *Model) CarriedAt(l *works.Limiter) Answer[quantity.Amperes] {
	if l.At == "" {
		return lacking[quantity.Amperes](l.Thing().Lack("at", "the supply or the board it is at"))
	}
	switch b := m.board(l.At); {
	case b != nil && b.Feed != nil:
		in := b.Feed.Rated()
		in.Why = "device of " + b.Feed.Name()
		return in
	case b != nil && b.Record.FedFrom == "":
		return lacking[quantity.Amperes](m.Unfed(b))
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
	return works.TheSupply.Unless(s.Capacity.IsKnown() || !s.CapacityAgreed.Or(true), "agreed capacity",
		"capacity agreed with the network operator, or that none is", "capacity agreed")
}

// NoFuse is the lack of the rating of the fuse at the origin.
func (m *Model) NoFuse() finding.Lacks {
	return works.TheSupply.Unless(m.Job.Supply.CutOut.Rating.IsKnown(), "cut-out/rating", "rating of the cut-out fuse")
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
	if system.Value == trade.TT {
		kind = "tt"
	}
	use := " distribution"
	if !c.IsDistribution() {
		in := c.Rated()
		if !in.Known() {
			return lacking[quantity.Seconds](in.Lacks)
		}
		key := "tn final fixed greatest"
		if c.Point != nil || c.Load != nil && c.Load.Kind.Or("") == trade.Sockets {
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
	if c.Earthing().Value == trade.TT {
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
func (c *Circuit) RCD() (works.RCD, bool) {
	for up := c; up != nil; up = up.Feed() {
		if own, ok := up.BoardRCD(); ok {
			return own, true
		}
		if up.From != nil && up.From.Record.MainSwitch.RCD.Residual.IsKnown() {
			return up.From.Record.MainSwitch.RCD, true
		}
	}
	return works.RCD{}, false
}

// BoardRCD returns the RCD at the board that circuit c starts from: its own or
// one it shares there.
func (c *Circuit) BoardRCD() (works.RCD, bool) {
	if c.Record.RCD.Residual.IsKnown() {
		return c.Record.RCD, true
	}
	if shared, ok := c.SharedRCD(); ok {
		return shared.RCD, true
	}
	return works.RCD{}, false
}

// SharedRCD returns the RCD of the board that the circuit is behind, if any.
func (c *Circuit) SharedRCD() (*works.BoardRCD, bool) {
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
	works.Thing
	RCD      works.RCD
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
		if c.From != nil {
			out = append(out, c.From.mainRCD()...)
		}
	}
	return out
}

// mainRCD returns the RCD in the main switch of the board, where it has one.
func (b *Board) mainRCD() []Protecting {
	if !stated(b.Record.MainSwitch.RCD) {
		return nil
	}
	r := Protecting{Thing: b.Record.MainRCDThing(), RCD: b.Record.MainSwitch.RCD, Feeds: b.Circuits, Board: b, Main: true}
	for _, c := range b.Circuits {
		r.Circuits = append(r.Circuits, c.Finals()...)
	}
	return []Protecting{r}
}

// Alone returns the RCDs that serve this point and nothing else, nearest the
// vehicle first, but a main switch last.
func (p *Point) Alone() []Protecting {
	var out []Protecting
	for _, main := range []bool{false, true} {
		for _, r := range p.RCDs() {
			if r.Main == main && r.Alone() {
				out = append(out, r)
			}
		}
	}
	return out
}

// How an RCD stands to additional protection: it acts at once, at the current
// the rules allow, and opens every live conductor.
const (
	givesNone = iota
	mayGive   // for all that is said of it
	gives
)

func (p *Point) protection(r works.RCD) int {
	most, _, err := p.model.Rules.Limit("rcd point")
	i, rated := r.Residual.Get()
	delayed, timed := r.Delayed.Get()
	poles, said := r.Poles.Get()
	switch {
	case err != nil || float64(i) > most*(1+finding.Slack) || delayed || said && poles != trade.AllLive:
		return givesNone
	case rated && timed && said:
		return gives
	}
	return mayGive
}

// MoreBehind is what keeps it from being known what an RCD serves: circuits that
// do not say where they start or end, or which RCD of their board they are behind.
func (m *Model) MoreBehind(r Protecting) (lacks finding.Lacks) {
	own := len(r.Feeds) == 1 && r.Path == r.Feeds[0].Record.RCDThing().Path
	if r.BuiltIn || own && r.Feeds[0].Point != nil {
		return nil
	}
	for _, c := range m.Circuits {
		switch {
		case c.Record.From == "" && !(own && c == r.Feeds[0]):
			lacks = append(lacks, c.thing.Lack("from", "board it starts at")...)
		case !own && !r.Main && c.From == r.Board && c.Record.SharedRCD == "":
			lacks = append(lacks, c.thing.Lack("shared RCD", "the RCD of the board it is behind, or none")...)
		}
	}
	for _, c := range r.Circuits {
		lacks = append(lacks, c.thing.Unless(c.Record.To != "", "to", "what it feeds")...)
	}
	return lacks
}

// OwnRCD returns the RCD that serves this point alone. If there are several, one
// that gives additional protection is enough, whatever the others are, and of
// such the one that stands most smooth direct current; else one that may give it.
func (p *Point) OwnRCD() (own Protecting, found bool) {
	best := -1
	for _, r := range p.Alone() {
		how := 4 * p.protection(r.RCD)
		if how == 4*gives && len(p.model.MoreBehind(r)) == 0 {
			how += 4
			switch t, known := r.RCD.Type.Get(); {
			case t == trade.TypeB:
				how += 3
			case known && t != trade.TypeAC:
				how += 2
			case !known:
				how++
			}
		}
		if how > best {
			own, best, found = r, how, true
		}
	}
	return own, found
}

// UnsettledRCD is what keeps it from being known which RCD gives the point its
// additional protection: facts of those that may, where there are several, and a
// way to the point that may pass another.
func (p *Point) UnsettledRCD() (lacks finding.Lacks) {
	all := p.Alone()
	for _, r := range all {
		switch p.protection(r.RCD) {
		case gives:
			return nil
		case mayGive:
			lacks = append(lacks, r.Unless(r.RCD.Residual.IsKnown(), "IΔn", "IΔn")...)
			lacks = append(lacks, r.Unless(r.RCD.Delayed.IsKnown(), "time delayed", "whether it is time-delayed")...)
			lacks = append(lacks, r.Unless(r.RCD.Poles.IsKnown(), "poles", "which conductors it opens")...)
		}
	}
	way := p.NoWay()
	if len(all) < 2 && len(way) == 0 {
		return nil
	}
	return append(lacks, way...)
}

// NoWay is what keeps it from being known which RCDs the point's current passes.
func (p *Point) NoWay() finding.Lacks {
	if p.Circuit == nil {
		return p.model.NoCircuit(p)
	}
	return p.Circuit.noWay()
}

// noWay is what keeps it from being known which RCDs the circuit's current passes.
func (c *Circuit) noWay() (lacks finding.Lacks) {
	for _, up := range c.path {
		if up.From != nil && len(up.From.Record.RCDs) > 0 && up.Record.SharedRCD == "" {
			lacks = append(lacks, up.thing.Lack("shared RCD", "the RCD of the board it is behind, or none")...)
		}
	}
	return append(lacks, c.NoOrigin()...)
}

// NoWay is what keeps it from being known which RCDs the board is behind.
func (m *Model) NoWay(b *Board) finding.Lacks {
	switch {
	case b.Feed != nil:
		return b.Feed.noWay()
	case b.Record.FedFrom == "":
		return m.Unfed(b)
	}
	return nil
}

// stated reports whether anything is said of an RCD.
func stated(r works.RCD) bool {
	return r != (works.RCD{})
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
