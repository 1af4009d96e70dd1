package model

// What stands outside the installation, between the source's voltage and the
// means of earthing. It is decided here, once; check, demand and proving take
// it from here.

import (
	"fmt"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Part is one conductor of the supply.
type Part struct {
	Ohms   quantity.Ohms
	Spread quantity.Ohms  // one standard deviation of what it may be out by
	How    trade.HowKnown // empty where a usual value stands in
}

// Outside is the supply as the record has it. Where the record does not say,
// usual values stand in, and Assumed says so: they serve to predict a reading,
// never to meet a rule.
type Outside struct {
	System    trade.EarthingSystem
	Volts     quantity.Volts // line to neutral, nominal
	Lines     []network.Conductor
	Line      Part
	Neutral   Part             // on TN-C-S the PEN conductor
	Earth     Part             // sheath or separate earth; on TT the electrode with the source's own; on TN-C-S the PEN conductor again
	Electrode *works.Electrode // of a TT installation, where it is described
	Loop      string           // how the loop of line and neutral was found, in words
	Assumed   []string         // what stands in for what the record does not say
	Lacks     finding.Lacks    // what keeps the job from being laid out as a network
	Unknown   finding.Lacks    // impedances for which usual ones stand in

	greatest [3]float64 // line, neutral and earth as the greatest fault current has them
}

// sourceAngle says what the impedance outside the installation is taken to be.
// Only its magnitude is known; each study takes the angle that is worse for it.
type sourceAngle complex128

const (
	resistive sourceAngle = 1  // adds most to the resistance of cables: greatest Zs, least fault
	reactive  sourceAngle = 1i // adds least: greatest fault
)

// impedances returns line, neutral and earth for a study.
func (o *Outside) impedances(angle sourceAngle) [3]quantity.Impedance {
	ohms := [3]float64{float64(o.Line.Ohms), float64(o.Neutral.Ohms), float64(o.Earth.Ohms)}
	if angle == reactive {
		ohms = o.greatest
	}
	var z [3]quantity.Impedance
	for i, r := range ohms {
		z[i] = quantity.Impedance(complex(r, 0) * complex128(angle))
	}
	return z
}

// Usual values where nothing is entered (engineering judgement, no published
// source).
const usualVolts, usualLoop, usualLoopSpread = 230, 0.25, 0.1

var usualZe = map[trade.EarthingSystem]float64{trade.TNCS: 0.18, trade.TNS: 0.35, trade.TT: 80}

// knownWithin is how far an impedance of the supply may be out as a share, by
// how it is known: what is declared is a greatest value, and the true one is
// mostly well below it (engineering judgement, no published source).
var knownWithin = map[trade.HowKnown]float64{trade.Measured: 0.08, trade.Declared: 0.45, trade.Calculated: 0.3, trade.Assumed: 0.45}

// entered is a value of the record with its band.
func entered(ohms float64, how quantity.Maybe[trade.HowKnown]) Part {
	known := how.Or(trade.Declared)
	return Part{quantity.Ohms(ohms), quantity.Ohms(knownWithin[known]*ohms + 0.01), known}
}

// of returns what r is of a part, with the same share of its band.
func (p Part) of(r quantity.Ohms) Part {
	if p.Ohms <= 0 {
		return Part{How: p.How}
	}
	return Part{r, p.Spread * r / p.Ohms, p.How}
}

// outside shares out what is known of the supply. Its loops come out as
// entered: line and earth as Ze, line and neutral as the line-neutral loop or
// as Ipf has it, and on TN-C-S, where they are one, as Ze.
func (m *Model) outside() Outside {
	s := &m.Job.Supply
	o := Outside{System: s.Earthing.Or(trade.TNCS), Lines: conductors(trade.L1)}
	phases, phasesKnown := s.Phases.Get()
	if phases == 3 {
		o.Lines = conductors(trade.ThreePhase)
	}
	if !s.Earthing.IsKnown() {
		o.Assumed = append(o.Assumed, "assumed: the earthing system is not recorded; TN-C-S stands in for it")
	}
	u0 := m.U0()
	if o.Volts = u0.Value; !u0.Known() {
		o.Volts = usualVolts
		o.Assumed = append(o.Assumed, "assumed: the nominal voltage is not recorded; 230 V stands in for it")
	}
	o.Lacks = finding.Gather(u0.Lacks, works.TheSupply.Unless(phasesKnown, "phases", "phases"), m.NoEarthing(),
		works.TheSupply.Unless(o.System != trade.IT, "earthing", "an IT supply cannot be modelled"))
	ze := m.earthLoop(&o)
	loop := m.neutralLoop(&o, ze)
	line := loop.Ohms / 2
	if ipf, ok := m.believedIpf(); ok {
		line = o.lineOf(ipf)
	}
	line = min(line, ze.Ohms/2, loop.Ohms)
	o.Line, o.Neutral, o.Earth = loop.of(line), loop.of(loop.Ohms-line), Part{ze.Ohms - line, ze.Spread, ze.How}
	if o.System == trade.TNCS {
		o.Earth = o.Neutral
	} else {
		o.Line.Spread, o.Neutral.Spread = loop.Spread/2, loop.Spread/2
	}
	if o.System == trade.TT {
		o.Electrode = m.electrode(s.Electrode)
	}
	o.findGreatest(m, ze)
	return o
}

// lineOf is the impedance of one line that a greatest fault current makes: of
// the line alone for a fault of three lines, of half the loop for one.
func (o *Outside) lineOf(ipf quantity.Amperes) quantity.Ohms {
	z := quantity.Ohms(float64(o.Volts) / float64(ipf))
	if len(o.Lines) == 1 {
		z /= 2
	}
	return z
}

// believedIpf is the greatest fault current entered, unless the record contradicts it.
func (m *Model) believedIpf() (quantity.Amperes, bool) {
	ipf, ok := m.Job.Supply.Ipf.Value.Get()
	return ipf, ok && ipf > 0 && len(m.Doubted("supply/Ipf")) == 0
}

// findGreatest shares the supply out as the greatest fault current has it.
func (o *Outside) findGreatest(m *Model, ze Part) {
	s := &m.Job.Supply
	ipf, ok := m.believedIpf()
	if !ok {
		o.greatest = [3]float64{float64(o.Line.Ohms), float64(o.Neutral.Ohms), float64(o.Earth.Ohms)}
		return
	}
	line := o.lineOf(ipf)
	neutral := line
	if loop, ok := s.LineNeutralLoop.Value.Get(); ok && o.System != trade.TNCS {
		neutral = max(0, loop-line)
	}
	earth := neutral
	if o.System == trade.TT {
		earth = max(0, ze.Ohms-line)
	}
	o.greatest = [3]float64{float64(line), float64(neutral), float64(earth)}
}

// earthLoop returns Ze.
func (m *Model) earthLoop(o *Outside) Part {
	s := &m.Job.Supply
	if v, ok := s.Ze.Value.Get(); ok && len(m.Doubted("supply/Ze")) == 0 {
		return entered(float64(v), s.Ze.KnownBy)
	}
	if ze := m.Ze(); ze.Known() {
		return entered(float64(ze.Value), quantity.Known(ze.How))
	}
	if l := m.External(); l.Known() {
		ohms := l.Magnitude()
		return Part{ohms, 0.3 * ohms, trade.Calculated}
	}
	o.Unknown = append(o.Unknown, m.External().Lacks...)
	usual := quantity.Ohms(usualZe[o.System])
	o.Assumed = append(o.Assumed, fmt.Sprintf("assumed: Ze is not recorded; the usual %v of a %s supply stands in for it, within a half", usual, o.System))
	return Part{usual, usual / 2, ""}
}

// neutralLoop returns the loop of line and neutral at the origin.
func (m *Model) neutralLoop(o *Outside, ze Part) Part {
	s := &m.Job.Supply
	loop, measured := s.LineNeutralLoop.Value.Get()
	ipf, hasIpf := m.believedIpf()
	switch {
	case o.System == trade.TNCS:
		o.Loop = "as Ze"
		return ze
	case measured:
		o.Loop = "as entered"
		return entered(float64(loop), s.LineNeutralLoop.KnownBy)
	case hasIpf:
		o.Loop = "as Ipf has it"
		return entered(2*float64(o.lineOf(ipf)), s.Ipf.KnownBy)
	case o.System == trade.TNS:
		o.Loop = "as Ze, half of it in the line and half in the neutral"
		return Part{ze.Ohms, ze.Ohms / 4, ze.How}
	}
	o.Loop = "the usual one"
	o.Unknown = append(o.Unknown, works.TheSupply.Lack("line-neutral loop", "line-neutral loop, or Ipf", "Ipf")...)
	return Part{usualLoop, usualLoopSpread, ""}
}
