package prove

import (
	"fmt"
	"math"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
)

// spread is one part of a band: how far it may carry the reading down and up.
type spread struct {
	what     string
	down, up float64
	source   string
}

// band settles low, mid and high from the middle value and its spreads.
func band[Q quantity.Quantity](e *Expectation, mid Q, spreads ...spread) {
	var down, up float64
	for _, s := range spreads {
		down += s.down * s.down
		up += s.up * s.up
		if s.down != 0 || s.up != 0 {
			e.Parts = append(e.Parts, Part{What: s.what, Value: amount(Q(max(s.down, s.up))), Source: s.source})
		}
	}
	e.Low = amount(Q(max(0, float64(mid)-math.Sqrt(down))))
	e.Mid = amount(mid)
	e.High = amount(mid + Q(math.Sqrt(up)))
}

// share is a spread of the same share of v both ways.
func share(what string, v, of float64, source string) spread {
	return spread{what, v * of, v * of, source}
}

const judgement = "engineering judgement, no published source"

// lengthShare is how far a length may be out, by how it is known.
var lengthShare = map[trade.HowKnown]float64{trade.Measured: 0.02, trade.Declared: 0.05, trade.Calculated: 0.05, trade.Assumed: 0.15}

// lengthSpread returns how far the circuit's length may be out, as a share.
func lengthSpread(c *model.Circuit) (float64, string) {
	var out, whole float64
	for _, leg := range c.Legs {
		l := leg.Record.Length.Or(0)
		known, said := leg.LengthKnown().Get()
		of := 0.10
		if said {
			of = lengthShare[known]
		}
		out += of * float64(l)
		whole += float64(l)
	}
	if whole == 0 {
		return 0, ""
	}
	return out / whole, fmt.Sprintf("length %v ± %.0f %%", quantity.Metres(whole), 100*out/whole)
}

// instrument returns the spread that an instrument's standard allows it at v.
func (x *expecter) instrument(kind string, v float64) spread {
	u, cite, err := x.rules.InstrumentUncertainty(kind)
	if err != nil {
		return spread{}
	}
	by := u.Relative*math.Abs(v) + u.Digits*u.Resolution
	return spread{"instrument", by, by, cite.String()}
}

// meter is what a sound instrument in its calibration may be out by; the
// greatest its standard allows is 30 % of the reading, which would hide every
// fault worth finding.
func meter(v, resolution float64) spread {
	by := 0.03*v + 2*resolution
	return spread{"instrument, 3 % and two digits", by, by, judgement + "; BS EN 61557 allows up to 30 %"}
}

// meterOrLoop is what a sound loop tester may be out by.
func (x *expecter) meterOrLoop(v float64) spread {
	by := 0.05*v + 3*0.01
	return spread{"instrument, 5 % and three digits", by, by, judgement + "; BS EN 61557-3 allows up to 30 %"}
}
