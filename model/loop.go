package model

import (
	"fmt"
	"slices"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
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
	Gaps  []string // what keeps it from being known
}

// Known reports whether every part is known.
func (l Loop) Known() bool { return len(l.Gaps) == 0 }

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
		z, cite, gaps := c.along(pick, at)
		part.Impedance += z
		part.Citation = cite
		for _, g := range gaps {
			out.gap(g)
		}
	}
	if out.Known() {
		out.Parts = []LoopPart{part}
	}
	return out
}

// gap notes what is missing, once.
func (l *Loop) gap(text string) {
	if text != "" && !slices.Contains(l.Gaps, text) {
		l.Gaps = append(l.Gaps, text)
	}
}

// OwnElectrode returns the electrode that earths a point instead of the
// supply, if its earthing measure is a separate electrode.
func (m *Model) OwnElectrode(p *Point) (*job.Electrode, bool) {
	measure, ok := p.Record.Earthing.Measure.Get()
	if !ok || measure != job.SeparateElectrode {
		return nil, false
	}
	return m.electrode(p.Record.Earthing.Electrode), true
}

func (m *Model) electrode(name string) *job.Electrode {
	for i := range m.Job.Electrodes {
		if m.Job.Electrodes[i].Name == name {
			return &m.Job.Electrodes[i]
		}
	}
	return nil
}

// ElectrodeResistance returns RA of an electrode: as entered; else from its
// shape and the soil (BS 7430); else a gap.
func (m *Model) ElectrodeResistance(e *job.Electrode) (quantity.Ohms, job.HowKnown, standard.Citation, string) {
	if e == nil {
		return 0, "", standard.Citation{}, "electrode: which one is used"
	}
	if r, ok := e.Resistance.Value.Get(); ok {
		return r, e.Resistance.KnownBy.Or(job.Assumed), standard.Citation{}, ""
	}
	name := "electrode " + e.Name
	kind, known := e.Kind.Get()
	length, hasLength := e.Length.Get()
	soil, hasSoil := e.Soil.Get()
	switch {
	case !known:
		return 0, "", standard.Citation{}, name + ": measured resistance, or its kind, length and soil"
	case !hasLength:
		return 0, "", standard.Citation{}, name + ": length"
	case !hasSoil:
		return 0, "", standard.Citation{}, name + ": measured resistance, or the resistivity of the soil"
	}
	diameter, hasDiameter := e.Diameter.Get()
	if kind != job.Plate && !hasDiameter {
		return 0, "", standard.Citation{}, name + ": diameter of the rod, or width of the tape"
	}
	var r quantity.Ohms
	var cite standard.Citation
	var err error
	switch kind {
	case job.Rod:
		r, cite, err = m.Rules.Rod(soil, length, diameter)
		if n := e.Number.Or(1); err == nil && n > 1 {
			spacing, ok := e.Spacing.Get()
			if !ok {
				return 0, "", standard.Citation{}, name + ": distance between the rods"
			}
			r, cite, err = m.Rules.ParallelRods(soil, length, diameter, spacing, n, standard.InLine)
		}
	case job.Tape:
		depth, ok := e.Depth.Get()
		if !ok {
			return 0, "", standard.Citation{}, name + ": depth of the tape"
		}
		r, cite, err = m.Rules.Tape(soil, length, diameter, depth)
	default:
		r, cite, err = m.Rules.Plate(soil, float64(length*length))
	}
	if err != nil {
		return 0, "", standard.Citation{}, fmt.Sprintf("%s: %v", name, err)
	}
	return r, job.Calculated, cite, ""
}

// External returns the part of an earth fault loop outside the installation:
// Ze; on a TT supply without a Ze, the installation's own electrode.
func (m *Model) External() Loop {
	var out Loop
	if ze, ok := m.Job.Supply.Ze.Value.Get(); ok {
		out.Parts = []LoopPart{{"Ze", quantity.Impedance(complex(float64(ze), 0)), standard.Citation{}}}
		return out
	}
	if system, ok := m.Job.Supply.Earthing.Get(); ok && system == job.TT && m.Job.Supply.Electrode != "" {
		r, _, cite, gap := m.ElectrodeResistance(m.electrode(m.Job.Supply.Electrode))
		out.gap(gap)
		if gap == "" {
			out.Parts = []LoopPart{{"installation electrode RA (the source electrode comes on top)", quantity.Impedance(complex(float64(r), 0)), cite}}
		}
		return out
	}
	out.gap("supply: Ze")
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
	for _, part := range c.Path() {
		out.join(part.R1R2(at))
	}
	return out
}

func (l *Loop) join(o Loop) {
	l.Parts = append(l.Parts, o.Parts...)
	l.Gaps = append(l.Gaps, o.Gaps...)
}

func (m *Model) electrodeLoop(c *Circuit, e *job.Electrode, at Temperature) Loop {
	var out Loop
	r, _, cite, gap := m.ElectrodeResistance(e)
	out.gap(gap)
	if gap == "" {
		out.Parts = append(out.Parts, LoopPart{"electrode " + e.Name + " RA (the source electrode comes on top)", quantity.Impedance(complex(float64(r), 0)), cite})
	}
	for _, part := range c.Path() {
		out.join(part.R1(at))
	}
	return out
}

// FaultCurrent is a prospective fault current and how it was found.
type FaultCurrent struct {
	Current quantity.Amperes
	Why     string
	Gaps    []string
}

// Known reports whether the current is known.
func (f FaultCurrent) Known() bool { return len(f.Gaps) == 0 }
