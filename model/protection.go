package model

import (
	"fmt"
	"math"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
)

// Rated returns the current a circuit's device is rated for, or is set to.
func (c *Circuit) Rated() (quantity.Amperes, string) {
	if ir, ok := c.Record.Device.LongSetting.Get(); ok {
		return ir, ""
	}
	if in, ok := c.Record.Device.Rating.Get(); ok {
		return in, ""
	}
	return 0, c.Name() + ": rating of its device"
}

// Device returns the circuit's overcurrent device as the rulebook knows it.
func (c *Circuit) Device() (standard.Device, string) {
	d := &c.Record.Device
	family, ok := d.Type.Get()
	if !ok {
		return standard.Device{}, c.Name() + ": type of its device"
	}
	in, gap := c.Rated()
	if gap != "" {
		return standard.Device{}, gap
	}
	return standard.Device{Family: family, Rating: d.Rating.Or(in), Ir: d.LongSetting.Or(0), Im: d.ShortSetting.Or(0)}, ""
}

// Earthing returns the earthing system that protects circuit c: that of the
// supply, or TT for a point on an electrode of its own.
func (c *Circuit) Earthing() (job.EarthingSystem, string) {
	if c.Point != nil {
		if _, own := c.model.OwnElectrode(c.Point); own {
			return job.TT, ""
		}
	}
	if system, ok := c.model.Job.Supply.Earthing.Get(); ok {
		return system, ""
	}
	return "", "supply: earthing system"
}

// DisconnectionTime returns the longest time a fault may last in circuit c,
// with where that stands, or the gap.
//
// A charge point's circuit is held to the final-circuit time up to 63 A,
// whether it ends in a socket or a lead: the vehicle's metal is held by people
// standing on the ground.
func (c *Circuit) DisconnectionTime() (quantity.Seconds, standard.Citation, string) {
	system, gap := c.Earthing()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	kind := "tn"
	if system == job.TT {
		kind = "tt"
	}
	use := " distribution"
	if !c.IsDistribution() {
		in, gap := c.Rated()
		if gap != "" {
			return 0, standard.Citation{}, gap
		}
		key := "tn final fixed greatest"
		if c.Point != nil || c.Load != nil && c.Load.Kind.Or("") == job.Sockets {
			key = "tn final socket greatest"
		}
		if greatest, _, err := c.model.Rules.Limit(key); err != nil || float64(in) <= greatest {
			use = " final"
		}
	}
	t, cite, err := c.model.Rules.Limit("disconnection " + kind + use)
	if err != nil {
		return 0, cite, err.Error()
	}
	return quantity.Seconds(t), cite, ""
}

// GreatestZs returns the greatest earth fault loop impedance at which the
// circuit's overcurrent device disconnects in time, conductors at operating
// temperature.
func (c *Circuit) GreatestZs() (quantity.Ohms, standard.Citation, string) {
	within, _, gap := c.DisconnectionTime()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	d, gap := c.Device()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	u0, gap := c.model.U0()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	z, cite, err := c.model.Rules.MaxZs(d, within, u0)
	if err != nil {
		return 0, cite, c.Name() + ": " + err.Error()
	}
	return z, cite, ""
}

// GreatestZsByRCD returns the greatest loop impedance at which the RCD that
// protects circuit c gives fault protection:
//
//	formula  Zs ≤ 50 V / IΔn
//	clause   BS 7671 411.5.3
func (c *Circuit) GreatestZsByRCD() (quantity.Ohms, standard.Citation, string) {
	rcd, ok := c.RCD()
	residual, known := rcd.Residual.Get()
	if !ok || !known || residual <= 0 {
		return 0, standard.Citation{}, c.Name() + ": the RCD that protects it, and its IΔn"
	}
	touch, cite, err := c.model.Rules.Limit("touch voltage")
	if err != nil {
		return 0, cite, err.Error()
	}
	return quantity.Ohms(touch / float64(residual)), cite, ""
}

// ColdZsLimit returns the limit for a reading of Zs taken cold: by the
// overcurrent device, rounded down to the hundredth a meter shows; by the RCD
// where the earthing is TT.
func (c *Circuit) ColdZsLimit() (quantity.Ohms, standard.Citation, string) {
	system, gap := c.Earthing()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	if system == job.TT {
		return c.GreatestZsByRCD()
	}
	z, _, gap := c.GreatestZs()
	if gap != "" {
		return 0, standard.Citation{}, gap
	}
	cold, cite, err := c.model.Rules.Limit("cold zs factor")
	if err != nil {
		return 0, cite, err.Error()
	}
	return RoundDown(z * quantity.Ohms(cold)), cite, ""
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
	Name     string
	RCD      job.RCD
	Circuits []*Circuit
	BuiltIn  bool // inside the point
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
		out = append(out, Protecting{Name: "built-in RCD", RCD: p.Record.BuiltInRCD, BuiltIn: true})
	}
	for c := p.Circuit; c != nil; c = c.Feed() {
		if stated(c.Record.RCD) {
			out = append(out, Protecting{Name: "RCD of " + c.Name(), RCD: c.Record.RCD, Circuits: c.Finals()})
		}
		if shared, ok := c.SharedRCD(); ok {
			r := Protecting{Name: fmt.Sprintf("RCD %s of board %s", shared.Name, c.From.Record.Name), RCD: shared.RCD}
			for _, other := range c.From.Circuits {
				if other.Record.SharedRCD == shared.Name {
					r.Circuits = append(r.Circuits, other.Finals()...)
				}
			}
			out = append(out, r)
		}
	}
	return out
}

// OwnRCD returns the RCD that serves this point alone, the most sensitive one
// if there are several.
func (p *Point) OwnRCD() (Protecting, bool) {
	var own Protecting
	found := false
	for _, r := range p.RCDs() {
		if r.Alone() && (!found || moreSensitive(r.RCD, own.RCD)) {
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
