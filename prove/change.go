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
	"line joint":      func(s *state, at where, x float64) bool { s.add(at.run.lines[at.phase], x); return true },
	"line broken":     func(s *state, at where, x float64) bool { s.add(at.run.lines[at.phase], x); return true },
	"neutral joint":   func(s *state, at where, x float64) bool { s.add(at.run.neutral, x); return true },
	"neutral broken":  func(s *state, at where, x float64) bool { s.add(at.run.neutral, x); return true },
	"cpc joint":       inCPC,
	"cpc broken":      inCPC,
	"main earth":      func(s *state, _ where, x float64) bool { s.add(s.wiring.earthing, x); return true },
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
	"hidden path": func(s *state, _ where, x float64) bool {
		s.join(s.wiring.means, s.wiring.star.n, x)
		return s.ohms[s.wiring.earthSource] > 3*x
	},
	"dry electrode": func(s *state, _ where, x float64) bool { s.times(s.wiring.earthSource, x); return true },
	"parallel path": func(s *state, at where, x float64) bool {
		s.join(at.run.to.e, s.wiring.met, x)
		return true
	},
	"leads": func(s *state, at where, x float64) bool {
		s.leads, s.leadsAll, s.special = with(s.leads, at.instrument, x), at.nulled, true
		return true
	},
	"no-trip": func(s *state, _ where, x float64) bool { s.noTrip += x; s.special = true; return true },
	"wrong link": func(s *state, at where, _ float64) bool {
		s.special = true
		s.swapped = with(s.swapped, at.run, true)
		return true
	},
	"small cpc":   func(s *state, at where, x float64) bool { return smaller(s, at.run, x, false, true) },
	"small cores": func(s *state, at where, x float64) bool { return smaller(s, at.run, x, true, false) },
	"small cable": func(s *state, at where, x float64) bool { return smaller(s, at.run, x, true, true) },
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
		open := at.run.beside[at.leg]
		s.ohms[open] = openOhms
		s.touched = append(s.touched, open)
		return true
	},
	"neutral to earth": func(s *state, at where, x float64) bool { s.join(at.run.to.n, at.run.to.e, x); return true },
	"reversed at point": func(s *state, at where, _ float64) bool {
		s.special = true
		s.reversed = with(s.reversed, at.run, true)
		return true
	},
	"reversed supply": func(s *state, _ where, _ float64) bool { s.reversedIn, s.special = !s.reversedIn, true; return true },
	"rotated":         func(s *state, _ where, _ float64) bool { s.rotated, s.special = true, true; return true },
	"contactor": func(s *state, at where, _ float64) bool {
		s.dead, s.special = with(s.dead, at.run, true), true
		return true
	},
	"earth contact": func(s *state, at where, _ float64) bool {
		s.earthOff, s.special = with(s.earthOff, at.run, true), true
		return true
	},
	"surge left": func(s *state, at where, x float64) bool {
		s.special = true
		s.leaks = with(s.leaks, at.run, leak{earth: x, live: x, knee: 430, inSurge: true})
		return true
	},
	"electronics": func(s *state, at where, x float64) bool {
		s.special = true
		s.leaks = with(s.leaks, at.run, leak{earth: x, live: x, inPoint: true})
		return true
	},
	"moisture": func(s *state, at where, x float64) bool {
		s.special = true
		s.leaks = with(s.leaks, at.run, leak{earth: x})
		return true
	},
	"damage": func(s *state, at where, x float64) bool {
		s.special = true
		s.leaks = with(s.leaks, at.run, leak{earth: x, lineOnly: true})
		return true
	},
	"leakage": func(s *state, at where, x float64) bool {
		r := s.residuals[at.name]
		r.standing += x
		s.special = true
		s.residuals = with(s.residuals, at.name, r)
		return true
	},
	"blinded": func(s *state, at where, x float64) bool {
		r := s.residuals[at.name]
		r.blinded = x
		s.special = true
		s.residuals = with(s.residuals, at.name, r)
		return true
	},
	"pilot open":     onPilot(func(p *pilot, _ float64) { p.open = true }),
	"pilot short":    onPilot(func(p *pilot, _ float64) { p.shorted = true }),
	"pilot switch":   onPilot(func(p *pilot, _ float64) { p.noSwitch = true }),
	"pilot diode":    onPilot(func(p *pilot, _ float64) { p.noDiode = true }),
	"pilot leak":     onPilot(func(p *pilot, x float64) { p.leak = x }),
	"wrong setting":  onPilot(func(p *pilot, x float64) { p.duty = x }),
	"clamp reversed": func(s *state, _ where, _ float64) bool { s.clamp, s.special = -s.clamp, true; return true },
	"clamp phase": func(s *state, _ where, _ float64) bool {
		s.clamp, s.special = s.clamp*wrongPhase(), true
		return true
	},
	"clamp elsewhere": func(s *state, _ where, _ float64) bool { s.clamp, s.special = 0, true; return true },
	"clamp ratio":     func(s *state, _ where, x float64) bool { s.clamp, s.special = s.clamp*x, true; return true },
	"slip":            func(*state, where, float64) bool { return true }, // nothing of the job changes
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
		p := s.pilots[at.name]
		set(&p, x)
		s.special = true
		s.pilots = with(s.pilots, at.name, p)
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
		if s != csa || i < steps {
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
