package prove

// What a sound installation most probably is, where the record gives the
// greatest it may be. Expectations for limits use the record; the comparison of
// readings uses what is likely. All of it is engineering judgement.

import (
	"math"

	"chargewright/trade"
)

// Usual values of what a record gives a bound of.
const (
	coreShare      = 0.965 // of the greatest resistance of IEC 60228: cable is drawn near the bound, and below it
	armourShare    = 0.965
	usualService   = 0.105 // Ω of the line of a service, and its neutral alike
	serviceSpread  = 0.06
	serviceApart   = 0.08 // line and neutral apart from each other, as a share
	sheathShare    = 0.32 // of a declared greatest Ze, the earth of a separate service
	sheathSpread   = 0.2
	groundEarth    = 3.0 // Ω, the transformer's own earth
	groundSpread   = 2.0
	usualVolts     = 238.0 // V, line to neutral: the old nominal voltage still shows
	voltSpread     = 6.5
	leadOhms       = 0.037 // Ω, line and neutral of a tethered lead of 6 m of 6 mm²
	leadOhmsSpread = 0.012
)

// believe works out what each stretch most probably is.
func (w *wiring) believe() {
	w.belief = make([]float64, len(w.stretches))
	for i := range w.stretches {
		w.belief[i] = w.stretches[i].ohms
	}
	share := func(by float64, of ...int) {
		for _, i := range of {
			w.belief[i] *= by
			for k := range w.stretches[i].drift {
				w.stretches[i].drift[k].by *= by
			}
		}
	}
	for _, r := range w.runs {
		if len(r.gap) > 0 {
			continue
		}
		share(coreShare, append([]int{r.neutral}, r.lines...)...)
		share(coreShare, r.core...)
		share(armourShare, r.armour...)
	}
	w.believeService()
}

// believeService: a declared Ze is the most that the network operator promises,
// not what is there; line and neutral of a service are of one cable.
func (w *wiring) believeService() {
	o := &w.model.Outside
	record := &w.model.Job.Supply
	if record.LineNeutralLoop.Value.IsKnown() || record.Ipf.Value.IsKnown() && record.Ipf.KnownBy.Or(trade.Declared) == trade.Measured {
		return
	}
	loop := o.Line.How
	if loop == trade.Measured || loop == trade.Calculated {
		if o.System == trade.TNCS {
			return
		}
	}
	w.declared = true
	line, spread := usualService, serviceSpread
	if ze, ok := record.Ze.Value.Get(); ok && o.System == trade.TNCS {
		line, spread = min(line, 0.4*float64(ze)), min(spread, 0.25*float64(ze))
	}
	by := w.unknown()
	put := func(i int, ohms, spread float64) {
		if i >= 0 {
			w.belief[i] = ohms
			w.stretches[i].drift = []drift{{by, spread}, {w.unknown(), serviceApart * ohms}}
		}
	}
	put(w.lineSource, line, spread)
	put(w.neutralSource, line, spread)
	if o.System != trade.TNS || w.earthSource < 0 {
		return
	}
	switch ze := float64(o.Line.Ohms + o.Earth.Ohms); o.Earth.How {
	case trade.Measured, trade.Calculated: // the sum is known, whatever the line takes of it
		w.belief[w.earthSource] = max(ze-line, 0.1*ze)
		w.stretches[w.earthSource].drift = []drift{{by, -spread}, {w.unknown(), float64(o.Earth.Spread)}}
	default:
		w.belief[w.earthSource] = sheathShare * ze
		w.stretches[w.earthSource].drift = []drift{{w.unknown(), sheathSpread * ze}}
	}
}

// believed is the wiring with nothing wrong, as it most probably is.
func (w *wiring) believed() *state {
	s := w.sound()
	copy(s.ohms, w.belief)
	s.today = true
	return s
}

// Where nobody has measured the soil, electrodes stand about a middle value,
// within a factor; a dry one or one with a bad joint lies further up.
const (
	soilMiddle = 45.0 // Ω
	soilFactor = 0.33 // decades, one deviation
)

// readSoil takes an electrode that the record does not know as what was read of
// it: the readings are then straight lines about the right place.
func (b *bench) readSoil() {
	w := b.wiring
	if w.model.Outside.System != trade.TT || w.earthSource < 0 || w.model.Outside.Earth.How == trade.Measured {
		return
	}
	for i, q := range b.asked {
		v := b.values[i]
		if v.above || v.below || v.amount < 8 || v.amount > 2000 || q.kind.Name != "RA" && q.kind.Name != "Ze" {
			continue
		}
		if q.kind.Name == "RA" && q.at != w.model.Job.Supply.Electrode {
			continue
		}
		if q.byClamp() { // it takes in all the rest of the earth
			continue
		}
		b.soil = v.amount
		if q.kind.Name == "RA" {
			for e := range w.electrodes {
				if e.Name == q.at {
					share, _ := w.spikes(e, q.how)
					b.soil /= share
				}
			}
			b.soil += min(groundEarth, 0.2*v.amount)
			break
		}
	}
	if b.soil > 0 {
		w.soilRead = true
		w.belief[w.earthSource] = b.soil
		w.stretches[w.earthSource].drift = []drift{{w.unknown(), 0.3 * b.soil}}
	}
}

// drier is the log of how much better a dry electrode explains what was read of
// one than the usual soil does.
func (b *bench) drier(c *cause) float64 {
	decades := math.Log10(b.soil / soilMiddle)
	low, high := math.Log10(c.low), math.Log10(c.high)
	if decades < low {
		return math.Inf(-1)
	}
	return math.Log(1/(high-low)) - math.Log(normal(decades, 0, soilFactor))
}
