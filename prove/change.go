package prove

import (
	"slices"

	"chargewright/quantity"
	"chargewright/standard"
)

// A change makes the wiring faulty: the physical meaning of a cause. x is how
// large it is. It reports false where the cause cannot be.
type change func(s *state, at where, x float64) bool

var changes = map[string]change{
	"line joint":     func(s *state, at where, x float64) bool { s.add(at.run.lines[at.phase], x); return true },
	"line broken":    func(s *state, at where, x float64) bool { s.add(at.run.lines[at.phase], x); return true },
	"neutral joint":  func(s *state, at where, x float64) bool { s.add(at.run.neutral, x); return true },
	"neutral broken": func(s *state, at where, x float64) bool { s.add(at.run.neutral, x); return true },
	"cpc joint":      inCPC,
	"cpc broken":     inCPC,
	"main earth": func(s *state, at where, x float64) bool {
		s.add(s.wiring.earthing, x)
		if at.terminal {
			s.beyond += x
		}
		return true
	},
	"earth terminal":  func(s *state, _ where, x float64) bool { s.add(s.wiring.earthTerminal, x); return true },
	"service line":    func(s *state, _ where, x float64) bool { s.add(s.wiring.lineSource, x); return true },
	"pen":             func(s *state, _ where, x float64) bool { s.add(s.wiring.pen, x); return true },
	"service neutral": func(s *state, _ where, x float64) bool { s.add(s.wiring.neutralSource, x); return true },
	"sheath":          func(s *state, _ where, x float64) bool { s.add(s.wiring.earthSource, x); return true },
	"no supply earth": func(s *state, _ where, x float64) bool {
		if s.wiring.earthTerminal >= 0 {
			s.add(s.wiring.earthTerminal, x)
		} else {
			s.add(s.wiring.earthSource, x)
		}
		return true
	},
	"electrode open": func(s *state, _ where, x float64) bool {
		s.add(s.wiring.earthSource, x)
		return true
	},
	"tail line":    func(s *state, _ where, x float64) bool { return s.inTails(x, true) },
	"tail neutral": func(s *state, _ where, x float64) bool { return s.inTails(x, false) },
	"other earthing system": func(s *state, _ where, x float64) bool {
		s.join(s.wiring.means, s.wiring.cutOut.n, x)
		return true
	},
	"weak supply": func(s *state, _ where, x float64) bool {
		s.add(s.wiring.lineSource, x)
		s.add(s.wiring.neutralSource, x)
		s.loose = s.loose[:len(s.loose)-2] // it does not move
		return true
	},
	"bonded services": func(s *state, _ where, x float64) bool {
		s.join(s.wiring.met, s.wiring.star.n, x)
		return true
	},
	"hidden path": func(s *state, _ where, x float64) bool {
		s.join(s.wiring.means, s.wiring.star.n, x)
		return s.ohms[s.wiring.earthSource] > 1.5*x
	},
	"dry electrode": func(s *state, _ where, x float64) bool {
		if !s.wiring.soilRead { // else what was read of it is in the wiring
			s.times(s.wiring.earthSource, x)
		}
		return true
	},
	"spike near":       inSpikes(func(w *spiked, x float64) { w.times = x }),
	"spike far":        inSpikes(func(w *spiked, x float64) { w.times = x }),
	"electrode joined": inSpikes(func(w *spiked, x float64) { w.beside = x }),
	"spike lead":       inSpikes(func(w *spiked, x float64) { w.lead = x }),
	"parallel path": func(s *state, at where, x float64) bool {
		s.join(at.run.to.e, s.wiring.met, x)
		return true
	},
	"leads": func(s *state, at where, x float64) bool {
		s.leads, s.leadsAll = with(s.leads, at.instrument, x), at.nulled
		s.alter("low ohm", nil)
		return true
	},
	"wrong null": func(s *state, at where, x float64) bool {
		s.leads, s.leadsAll = with(s.leads, at.instrument, -x), at.nulled
		s.alter("low ohm", nil)
		return true
	},
	"fused leads": func(s *state, at where, x float64) bool {
		s.fused = with(s.fused, at.instrument, x)
		s.alter("loop", nil)
		return true
	},
	"meter gain": func(s *state, at where, x float64) bool {
		s.gains = with(s.gains, at.instrument+"\x00"+at.class, x)
		s.alter(at.class, nil)
		return true
	},
	"no-trip": func(s *state, _ where, x float64) bool { s.noTrip += x; s.alter("loop", nil); return true },
	"wrong link": func(s *state, at where, _ float64) bool {
		s.alter("", at.run)
		s.swapped = with(s.swapped, at.run, true)
		return true
	},
	"small cpc":   func(s *state, at where, x float64) bool { return smaller(s, at.run, x, false, true) },
	"small cores": func(s *state, at where, x float64) bool { return smaller(s, at.run, x, true, false) },
	"small cable": func(s *state, at where, x float64) bool { return smaller(s, at.run, x, true, true) },
	"large cable": func(s *state, at where, x float64) bool { return smaller(s, at.run, -x, true, true) },
	"longer":      scaleRun,
	"shorter":     scaleRun,
	"aluminium": func(s *state, at where, x float64) bool {
		for _, i := range append([]int{at.run.neutral}, at.run.lines...) {
			s.times(i, x)
		}
		for _, i := range at.run.core {
			s.times(i, x)
		}
		return true
	},
	"warm": func(s *state, _ where, x float64) bool { return warmer(s, x) },
	"cold": func(s *state, _ where, x float64) bool { return warmer(s, -x) },
	"armour open": func(s *state, at where, _ float64) bool {
		s.set(at.run.beside[at.leg], openOhms)
		return true
	},
	"core open": func(s *state, at where, _ float64) bool {
		s.set(at.run.core[at.leg], openOhms)
		return true
	},
	"neutral earth exchanged": func(s *state, at where, _ float64) bool {
		s.exchanged = with(s.exchanged, at.run, true)
		s.alter("", at.run)
		return true
	},
	"neutral to earth": func(s *state, at where, x float64) bool { s.join(at.run.to.n, at.run.to.e, x); return true },
	"reversed at point": func(s *state, at where, _ float64) bool {
		s.reversed = with(s.reversed, at.run, true)
		s.alter("", at.run)
		return true
	},
	"reversed supply": func(s *state, _ where, _ float64) bool { s.reversedIn, s.whole = !s.reversedIn, true; return true },
	"rotated":         func(s *state, _ where, _ float64) bool { s.rotated = true; s.alter("seen", nil); return true },
	"contactor": func(s *state, at where, x float64) bool {
		s.dead = with(s.dead, at.run, true)
		s.alter("", at.run)
		switch x {
		case 2: // the dead tests were taken through it too
			s.shut = with(s.shut, at.run, true)
		case 3:
			s.never = with(s.never, at.run, true)
		}
		return true
	},
	"earth contact": func(s *state, at where, _ float64) bool {
		s.earthOff = with(s.earthOff, at.run, true)
		s.alter("", at.run)
		return true
	},
	"surge left": onLeak(func(x float64) leak {
		return leak{line: 0.5 / x, neutral: 0.5 / x, live: 0.5 / x, knee: 430, inSurge: true, wide: 0.2}
	}),
	"electronics": onLeak(func(x float64) leak { // between live conductors the supply of the electronics, to earth its filter
		return leak{line: 0.15 / x, neutral: 0.15 / x, live: 1 / x, inPoint: true, wide: 0.35}
	}),
	"moisture":            onLeak(func(x float64) leak { return leak{line: 0.55 / x, neutral: 0.45 / x, wide: 0.1} }),
	"damage":              onLeak(func(x float64) leak { return leak{line: 1 / x} }),
	"damage between live": onLeak(func(x float64) leak { return leak{live: 1 / x} }),
	"neutral left":        onLeak(func(x float64) leak { return leak{neutral: 1 / x, outside: true} }),
	"load left":           onLeak(func(x float64) leak { return leak{live: 1 / x, outside: true} }),
	"leakage":             onResidual(func(r *residual, x float64) { r.standing += x }),
	"blinded":             onResidual(func(r *residual, x float64) { r.blinded = x }),
	"RCD slow":            onResidual(func(r *residual, x float64) { r.slow = x }),
	"RCD early":           onResidual(func(r *residual, x float64) { r.early = x }),
	"RCD dead":            onResidual(func(r *residual, _ float64) { r.dead, r.buttonDead = true, true }),
	"button dead":         onResidual(func(r *residual, _ float64) { r.buttonDead = true }),
	"direct dead":         onDirect(func(float64) detector { return detector{dead: true} }),
	"direct late":         onDirect(func(x float64) detector { return detector{at: x} }),
	"direct early":        onDirect(func(x float64) detector { return detector{at: x} }),
	"tap high":            func(s *state, _ where, x float64) bool { s.volts += x; s.alter("voltage", nil); return true },
	"tap low":             func(s *state, _ where, x float64) bool { s.volts -= x; s.alter("voltage", nil); return true },
	"pilot open":          onPilot(func(p *pilot, _ float64) { p.open = true }),
	"pilot short":         onPilot(func(p *pilot, _ float64) { p.shorted = true }),
	"pilot switch":        onPilot(func(p *pilot, _ float64) { p.noSwitch = true }),
	"pilot diode":         onPilot(func(p *pilot, _ float64) { p.noDiode = true }),
	"pilot leak":          onPilot(func(p *pilot, x float64) { p.leak = x }),
	"wrong setting":       onPilot(func(p *pilot, x float64) { p.duty = x }),
	"set above":           onPilot(func(p *pilot, x float64) { p.duty = x }),
	"clamp reversed":      func(s *state, _ where, _ float64) bool { s.clamp = -s.clamp; s.alter("clamp", nil); return true },
	"clamp phase": func(s *state, _ where, _ float64) bool {
		s.clamp *= wrongPhase()
		s.alter("clamp", nil)
		return true
	},
	"clamp elsewhere": func(s *state, _ where, _ float64) bool { s.clamp = 0; s.alter("clamp", nil); return true },
	"clamp ratio":     func(s *state, _ where, x float64) bool { s.clamp *= x; s.alter("clamp", nil); return true },
	"slip":            func(*state, where, float64) bool { return true }, // nothing of the job changes
	"other place":     func(*state, where, float64) bool { return true }, // nor here
}

// alter says which classes of readings something besides stretches is changed
// for; none of them is all.
func (s *state) alter(class string, on *run) {
	s.alters = append(s.alters[:len(s.alters):len(s.alters)], altered{class, on})
}

// inTails puts a resistance into the tails of the first board.
func (s *state) inTails(x float64, line bool) bool {
	t, ok := s.wiring.tailsOf()
	switch {
	case !ok:
		return false
	case line:
		s.add(t.line, x)
	default:
		s.add(t.neutral, x)
	}
	return true
}

func onLeak(of func(float64) leak) change {
	return func(s *state, at where, x float64) bool {
		s.alter("insulation", at.run)
		s.leaks = with(s.leaks, at.run, append(slices.Clone(s.leaks[at.run]), of(x)))
		return true
	}
}

func onResidual(set func(*residual, float64)) change {
	return func(s *state, at where, x float64) bool {
		r := s.residuals[at.run]
		set(&r, x)
		for _, class := range []string{"rcd time", "rcd current", "seen", "leakage clamp"} {
			s.alter(class, at.run)
		}
		s.residuals = with(s.residuals, at.run, r)
		return true
	}
}

func onDirect(of func(float64) detector) change {
	return func(s *state, at where, x float64) bool {
		s.alter("rcd current", at.run)
		s.directs = with(s.directs, at.run, of(x))
		return true
	}
}

func inCPC(s *state, at where, x float64) bool {
	if !at.run.earthed() {
		return false
	}
	s.add(at.run.joint, x)
	return true
}

func onPilot(set func(*pilot, float64)) change {
	return func(s *state, at where, x float64) bool {
		p := s.pilots[at.run]
		set(&p, x)
		s.alter("pilot", at.run)
		s.alter("duty", at.run)
		s.pilots = with(s.pilots, at.run, p)
		return true
	}
}

// conductorsOf returns every stretch of a run.
func (r *run) conductorsOf() []int {
	return slices.Concat([]int{r.neutral}, r.lines, r.core, r.armour)
}

func scaleRun(s *state, at where, x float64) bool {
	for _, i := range at.run.conductorsOf() {
		s.times(i, x)
	}
	return true
}

func warmer(s *state, kelvin float64) bool {
	for _, r := range s.wiring.runs {
		if len(r.gap) == 0 {
			scaleRun(s, where{run: r}, 1+perDegree*kelvin)
		}
	}
	return true
}

// smaller puts conductors of the next nominal size, or the one after, in the
// place of those recorded.
func smaller(s *state, r *run, steps float64, cores, cpc bool) bool {
	done := false
	if cores {
		f, ok := sizeFactor(s.wiring, r.circuit.Legs[0].Line.Material, r.circuit.Legs[0].Line.CSA, int(steps))
		if ok {
			for _, i := range append([]int{r.neutral}, r.lines...) {
				s.times(i, f)
			}
			done = true
		}
	}
	if !cpc || !r.earthed() {
		return done
	}
	for _, leg := range r.circuit.Legs {
		if c := leg.CPC; c.Role != standard.ArmourAsCPC {
			f, ok := sizeFactor(s.wiring, c.Material, c.CSA, int(steps))
			for _, i := range r.core {
				if ok {
					s.times(i, f)
				}
			}
			return ok
		}
	}
	return false
}

// Nominal sizes in order, mm² (BS EN 60228).
var sizesMade = []quantity.SquareMillimetres{1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400}

// sizeFactor is the resistance of the conductor some sizes smaller over that
// of the one recorded.
func sizeFactor(w *wiring, m standard.Material, csa quantity.SquareMillimetres, steps int) (float64, bool) {
	for i, s := range sizesMade {
		if s != csa || i < steps || i-steps >= len(sizesMade) {
			continue
		}
		have, _, err := w.model.Rules.Resistance(m, standard.Stranded, csa)
		less, _, err2 := w.model.Rules.Resistance(m, standard.Stranded, sizesMade[i-steps])
		if err != nil || err2 != nil {
			return 0, false
		}
		return float64(less) / float64(have), true
	}
	return 0, false
}
