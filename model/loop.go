package model

import (
	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// LoopPart is one stretch of a fault loop.
type LoopPart struct {
	What      string
	Impedance quantity.Impedance
	Citation  standard.Citation
}

// Loop is a closed path of current: its parts in order from the source.
type Loop struct {
	Parts []LoopPart
	Lacks finding.Lacks // what keeps it from being known
}

// Known reports whether every part is known.
func (l Loop) Known() bool { return len(l.Lacks) == 0 }

// Magnitude returns the arithmetic sum of the parts' magnitudes, in Ω. The
// phase angle of Ze is seldom known; adding magnitudes errs on the high side
// for Zs and is what the trade does: Zs = Ze + (R1+R2).
func (l Loop) Magnitude() quantity.Ohms {
	var sum quantity.Ohms
	for _, p := range l.Parts {
		sum += p.Impedance.Magnitude()
	}
	return sum
}

// TestTemperature returns the temperature of the day; 20 °C where it is not
// said, which stands among the assumptions.
func (m *Model) TestTemperature() quantity.Celsius { return m.Job.Site.Temperature.Or(20) }

// R1R2 returns line and cpc of the circuit alone, in series.
func (c *Circuit) R1R2(at Temperature) Loop { return c.loop("R1+R2", at, line, cpc) }

// R1Rn returns line and neutral of the circuit alone, in series.
func (c *Circuit) R1Rn(at Temperature) Loop { return c.loop("R1+Rn", at, line, neutral) }

// R1 returns one line conductor of the circuit alone.
func (c *Circuit) R1(at Temperature) Loop { return c.loop("R1", at, line) }

// R2 returns the cpc of the circuit alone.
func (c *Circuit) R2(at Temperature) Loop { return c.loop("R2", at, cpc) }

// loop returns conductors of the circuit in series, as one part.
func (c *Circuit) loop(what string, at Temperature, picks ...conductorOf) Loop {
	part := LoopPart{What: c.Name() + ": " + what}
	var out Loop
	for _, pick := range picks {
		z := c.along(pick, at)
		part.Impedance += z.Value
		part.Citation = z.Cite
		out.Lacks = finding.Gather(out.Lacks, z.Lacks)
	}
	if out.Known() {
		out.Parts = []LoopPart{part}
	}
	return out
}

// OwnElectrode returns the electrode that earths a point instead of the
// supply, if its earthing measure is a separate electrode.
func (m *Model) OwnElectrode(p *Point) (*works.Electrode, bool) {
	measure, ok := p.Record.Earthing.Measure.Get()
	if !ok || measure != trade.SeparateElectrode {
		return nil, false
	}
	return m.electrode(p.Record.Earthing.Electrode), true
}

func (m *Model) electrode(name string) *works.Electrode {
	for i := range m.Job.Electrodes {
		if m.Job.Electrodes[i].Name == name {
			return &m.Job.Electrodes[i]
		}
	}
	return nil
}

// ElectrodeResistance returns RA of an electrode: as entered; else from its
// shape and the soil (BS 7430).
func (m *Model) ElectrodeResistance(e *works.Electrode) Answer[quantity.Ohms] {
	if e == nil {
		return lacking[quantity.Ohms](finding.Lacks{{Path: "electrodes", Of: "electrode", What: "which one is used"}})
	}
	if r := m.enteredElectrode(e); r.Known() {
		r.Lacks = m.Doubted(e.Thing().Path + "/resistance")
		return r
	}
	return m.electrodeByShape(e)
}

// enteredElectrode returns RA as entered, else as last read.
func (m *Model) enteredElectrode(e *works.Electrode) Answer[quantity.Ohms] {
	if r, ok := e.Resistance.Value.Get(); ok {
		return Answer[quantity.Ohms]{Value: r, How: e.Resistance.KnownBy.Or(trade.Assumed)}
	}
	if _, r, ok := m.lastRead("RA", e.Name); ok && e.Name != "" {
		return Answer[quantity.Ohms]{Value: quantity.Ohms(r), How: trade.Measured, Why: "as read"}
	}
	return lacking[quantity.Ohms](e.Thing().Lack("resistance", "measured resistance"))
}

// electrodeByShape returns RA from the shape of an electrode and the soil.
func (m *Model) electrodeByShape(e *works.Electrode) Answer[quantity.Ohms] {
	wants := func(field, what string, or ...string) Answer[quantity.Ohms] {
		return lacking[quantity.Ohms](e.Thing().Lack(field, what, or...))
	}
	kind, known := e.Kind.Get()
	length, hasLength := e.Length.Get()
	soil, hasSoil := e.Soil.Get()
	switch {
	case !known:
		return wants("resistance", "measured resistance, or its kind, length and soil", "kind", "length", "soil")
	case !hasLength:
		return wants("length", "length", "resistance")
	case !hasSoil:
		return wants("resistance", "measured resistance, or the resistivity of the soil", "soil")
	}
	diameter, hasDiameter := e.Diameter.Get()
	if kind != trade.Plate && !hasDiameter {
		return wants("diameter", "diameter of the rod, or width of the tape", "resistance")
	}
	var r quantity.Ohms
	var cite standard.Citation
	var err error
	switch kind {
	case trade.Rod:
		r, cite, err = m.Rules.Rod(soil, length, diameter)
		if n := e.Number.Or(1); err == nil && n > 1 {
			spacing, ok := e.Spacing.Get()
			if !ok {
				return wants("spacing", "distance between the rods", "resistance")
			}
			r, cite, err = m.Rules.ParallelRods(soil, length, diameter, spacing, n, standard.InLine)
		}
	case trade.Tape:
		depth, ok := e.Depth.Get()
		if !ok {
			return wants("depth", "depth of the tape", "resistance")
		}
		r, cite, err = m.Rules.Tape(soil, length, diameter, depth)
	default:
		r, cite, err = m.Rules.Plate(soil, float64(length*length))
	}
	if err != nil {
		return wants("resistance", err.Error(), "length", "diameter", "spacing", "number")
	}
	return Answer[quantity.Ohms]{Value: r, How: trade.Calculated, Cite: cite}
}

// PointElectrode returns RA of the electrode that earths a point.
func (m *Model) PointElectrode(p *Point, e *works.Electrode) Answer[quantity.Ohms] {
	if e == nil {
		return lacking[quantity.Ohms](finding.Lacks{{Path: p.Record.Thing().Path + "/earthing/electrode", Or: []string{"electrodes"}, Of: "electrode",
			What: "which one is used"}})
	}
	return m.ElectrodeResistance(e)
}

// Ze returns the external earth fault loop impedance: as entered, else as last
// read at the supply.
func (m *Model) Ze() Answer[quantity.Ohms] {
	if lacks := m.Doubted("supply/Ze"); len(lacks) > 0 {
		return lacking[quantity.Ohms](lacks)
	}
	s := &m.Job.Supply
	if ze, ok := s.Ze.Value.Get(); ok {
		return Answer[quantity.Ohms]{Value: ze, How: s.Ze.KnownBy.Or("")}
	}
	if _, ze, ok := m.lastRead("Ze", "supply"); ok {
		return Answer[quantity.Ohms]{Value: quantity.Ohms(ze), How: trade.Measured, Why: "as read"}
	}
	return lacking[quantity.Ohms](works.TheSupply.Lack("Ze", "Ze", "electrode"))
}

// External returns the part of an earth fault loop outside the installation:
// Ze; on a TT supply without a Ze, the installation's own electrode.
func (m *Model) External() Loop {
	var out Loop
	ze := m.Ze()
	if ze.Known() {
		what := "Ze"
		if ze.Why != "" {
			what += " " + ze.Why
		}
		out.Parts = []LoopPart{{what, quantity.Impedance(complex(float64(ze.Value), 0)), standard.Citation{}}}
		return out
	}
	if out.Lacks = m.Doubted("supply/Ze"); len(out.Lacks) > 0 {
		return out
	}
	if system, ok := m.Job.Supply.Earthing.Get(); ok && system == trade.TT && m.Job.Supply.Electrode != "" {
		r := m.ElectrodeResistance(m.electrode(m.Job.Supply.Electrode))
		if out.Lacks = r.Lacks; r.Known() {
			out.Parts = []LoopPart{{"installation electrode RA (the source electrode comes on top)", quantity.Impedance(complex(float64(r.Value), 0)), r.Cite}}
		}
		return out
	}
	out.Lacks = ze.Lacks
	return out
}

// OperatingLoop returns the earth fault loop at operating temperature.
func (c *Circuit) OperatingLoop() Loop { return c.earth }

// EarthLoop returns the earth fault loop from the source to the far end of
// circuit c and back: Ze and R1+R2 of every circuit on the way. A point on an
// electrode of its own returns through that electrode instead of the cpcs.
func (m *Model) EarthLoop(c *Circuit, at Temperature) Loop {
	if c.Point != nil {
		if e, own := m.OwnElectrode(c.Point); own {
			return m.electrodeLoop(c, e, at)
		}
	}
	out := m.External()
	out.Lacks = finding.Gather(out.Lacks, c.NoOrigin())
	for _, part := range c.Path() {
		out.join(part.R1R2(at))
	}
	return out
}

func (l *Loop) join(o Loop) {
	l.Parts = append(l.Parts, o.Parts...)
	l.Lacks = append(l.Lacks, o.Lacks...)
}

func (m *Model) electrodeLoop(c *Circuit, e *works.Electrode, at Temperature) Loop {
	var out Loop
	r := m.PointElectrode(c.Point, e)
	if out.Lacks = r.Lacks; r.Known() {
		out.Parts = append(out.Parts, LoopPart{"electrode " + e.Name + " RA (the source electrode comes on top)",
			quantity.Impedance(complex(float64(r.Value), 0)), r.Cite})
	}
	for _, part := range c.Path() {
		out.join(part.R1(at))
	}
	return out
}

// FaultCurrent is a prospective fault current and how it was found.
type FaultCurrent struct {
	Current quantity.Amperes
	Most    quantity.Amperes // that at the origin: it is no more than this wherever it is
	Why     string
	Lacks   finding.Lacks
}

// Known reports whether the current is known.
func (f FaultCurrent) Known() bool { return len(f.Lacks) == 0 }
