package prove

// Where a cause can be in a job.

import (
	"slices"

	"chargewright/job"
	"chargewright/standard"
)

// where is the place a cause is supposed at.
type where struct {
	name       string
	run        *run
	instrument string
	nulled     bool // every reading with it says that its leads were nulled
	phase      int
	leg        int    // of those with core and armour side by side
	reading    int    // index of the reading, for a slip
	about      string // its name
}

// placesOf lists where a cause can be in a job.
func (b *bench) placesOf(c *cause) []where {
	w := b.wiring
	var out []where
	supply := func(is bool) []where {
		if is {
			return []where{{name: "supply"}}
		}
		return nil
	}
	system := w.model.Job.Supply.Earthing.Or(job.TNCS)
	phases := w.model.Job.Supply.Phases.Or(1)
	circuits := func(fits func(*run) bool) []where {
		for _, r := range w.runs {
			if len(r.gap) == 0 && fits(r) {
				out = append(out, where{name: farEnd(r.circuit), run: r})
			}
		}
		return out
	}
	final := func(r *run) bool { return !r.circuit.IsDistribution() }
	point := func(r *run) bool { return r.circuit.Point != nil }
	coreCPC := func(r *run) bool {
		return len(r.core) > 0
	}
	switch c.places {
	case "circuit":
		return circuits(func(*run) bool { return true })
	case "line":
		for _, r := range w.runs {
			for phase := range r.lines {
				if len(r.gap) == 0 && (phase == 0 || b.reads(r, phase)) {
					out = append(out, where{name: farEnd(r.circuit), run: r, phase: phase})
				}
			}
		}
	case "cpc":
		return circuits(func(r *run) bool { return r.earthed() })
	case "core cpc":
		return circuits(coreCPC)
	case "copper":
		return circuits(func(r *run) bool { return r.circuit.Legs[0].Line.Material == standard.Copper })
	case "unequal cpc":
		return circuits(func(r *run) bool {
			if !r.earthed() {
				return false
			}
			back, _ := w.sound().between(r.to.e, r.from.e, r.neutral)
			ratio := back / w.stretches[r.neutral].ohms
			return ratio > 1.1 || ratio < 0.9
		})
	case "core and armour":
		for _, r := range w.runs {
			for leg := range r.beside {
				out = append(out, where{name: farEnd(r.circuit), run: r, leg: leg})
			}
		}
	case "final":
		return circuits(func(r *run) bool { return final(r) && r.earthed() })
	case "final tn":
		return circuits(func(r *run) bool { return final(r) && r.earthed() && system.IsTN() })
	case "single final":
		return circuits(func(r *run) bool { return final(r) && len(r.lines) == 1 })
	case "point":
		return circuits(point)
	case "opens earth":
		return circuits(func(r *run) bool { return point(r) && r.circuit.Point.Record.Earthing.Opens.Or(false) })
	case "rcd point":
		return circuits(func(r *run) bool { return r.fitted })
	case "surge":
		return circuits(func(r *run) bool { return r.circuit.From != nil && len(r.circuit.From.Record.Surge) > 0 })
	case "supply":
		return supply(true)
	case "tn-c-s":
		return supply(system == job.TNCS)
	case "not tn-c-s":
		return supply(system != job.TNCS)
	case "tn-s":
		return supply(system == job.TNS)
	case "tn":
		return supply(system.IsTN())
	case "tt":
		return supply(system == job.TT)
	case "single supply":
		return supply(phases == 1)
	case "three supply":
		return supply(phases == 3)
	case "site":
		return []where{{name: "site"}}
	case "no-trip":
		for _, q := range b.asked {
			if q.noTrip {
				return []where{{name: "no-trip readings"}}
			}
		}
	case "clamp":
		return supply(b.hasClamp())
	case "clamp three":
		return supply(b.hasClamp() && phases == 3)
	case "instrument":
		for _, name := range b.lowOhmMeters() {
			out = append(out, where{name: name, instrument: name, nulled: b.nulledAll(name)})
		}
	case "reading":
		for i, q := range b.asked {
			if !q.kind.Seen() {
				out = append(out, where{name: q.at, reading: i, about: q.kind.Name + " at " + q.at})
			}
		}
	}
	return out
}

// reads reports whether a reading was taken through one line of a run.
func (b *bench) reads(r *run, phase int) bool {
	return slices.ContainsFunc(b.asked, func(q *question) bool { return slices.Contains(b.supportOf(q), r.lines[phase]) })
}
