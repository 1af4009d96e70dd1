package prove

// Where a cause can be in a job.

import (
	"slices"

	"chargewright/standard"
	"chargewright/trade"
)

// where is the place a cause is supposed at.
type where struct {
	name       string
	run        *run
	instrument string
	class      string // of its readings, where one range of it is out
	nulled     bool   // every reading with it says that its leads were nulled
	phase      int
	terminal   bool      // beyond what a reading of the earthing conductor takes in
	leg        int       // of those with core and armour side by side
	reading    int       // index of the reading, for a slip
	about      string    // its name
	instead    *question // what was read in fact, where it was taken or written at another place
	other      int       // the reading it was exchanged with, −1 for none
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
	system := w.model.Job.Supply.Earthing.Or(trade.TNCS)
	phases := w.model.Job.Supply.Phases.Or(1)
	circuits := func(fits func(*run) bool) []where {
		for _, r := range w.runs {
			guessed := w.guessed[r.circuit.Record.Name] && (c.key == "longer" || c.key == "shorter") // it cannot be out
			if len(r.gap) == 0 && fits(r) && !guessed {
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
		return circuits(point)
	case "rcd point":
		return circuits(func(r *run) bool { return r.fitted })
	case "surge":
		return circuits((*run).surge)
	case "supply":
		return supply(true)
	case "tn-c-s":
		return supply(system == trade.TNCS)
	case "not tn-c-s":
		return supply(system != trade.TNCS)
	case "tn-s":
		return supply(system == trade.TNS)
	case "tn":
		return supply(system.IsTN())
	case "earthing":
		return []where{{name: "earthing conductor"}, {name: "main earthing terminal", terminal: true}}
	case "tails":
		_, laid := w.tailsOf()
		return supply(laid)
	case "declared":
		return supply(w.declared)
	case "bonded":
		return supply(system == trade.TT || b.earthHigh())
	case "tt":
		return supply(system == trade.TT)
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
		for _, name := range b.metersOf("low ohm") {
			out = append(out, where{name: name, instrument: name, nulled: b.nulledAll(name)})
		}
	case "loop instrument":
		for _, name := range b.metersOf("loop") {
			out = append(out, where{name: name, instrument: name})
		}
	case "range":
		for _, class := range []string{"low ohm", "loop"} {
			for _, name := range b.metersOf(class) {
				out = append(out, where{name: name + ", " + class, instrument: name, class: class})
			}
		}
	case "reading":
		for i, q := range b.asked {
			out = append(out, where{name: q.at, reading: i, about: q.kind.Name + " at " + q.at, other: -1})
		}
	case "spikes":
		return b.bySpikes()
	case "misplaced":
		out = b.misplaced()
	}
	return out
}

// earthHigh reports whether something was read that a TN supply with its earth
// would not show: then whatever else earths the installation matters.
func (b *bench) earthHigh() bool {
	for i, q := range b.asked {
		if q.run != nil && q.run.ownEarth { // it has an electrode of its own
			continue
		}
		if i < len(b.values) && (q.kind.Name == "Ze" || q.kind.Name == "Zs" || q.kind.Name == "line-neutral loop") && b.values[i].amount > 3 {
			return true
		}
	}
	return false
}

// reads reports whether a reading was taken through one line of a run.
func (b *bench) reads(r *run, phase int) bool {
	return slices.ContainsFunc(b.asked, func(q *question) bool { return slices.Contains(b.supportOf(q), r.lines[phase]) })
}

// surge reports whether a surge device stands on a board that feeds a run:
// nothing opens between a circuit and the boards further up.
func (r *run) surge() bool {
	for ; r != nil; r = r.feed {
		if r.circuit.From != nil && len(r.circuit.From.Record.Surge) > 0 {
			return true
		}
	}
	return false
}
