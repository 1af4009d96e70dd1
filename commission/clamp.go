package commission

import (
	"fmt"
	"math"

	"chargewright/demand"
	"chargewright/finding"
	"chargewright/meter"
	"chargewright/quantity"
	"chargewright/works"
)

// ProveClamp holds two readings of a meter against a known load that was switched
// on one line between them. The sign of one reading proves nothing where there is
// solar; the step does.
func ProveClamp(before, after meter.Reading, load quantity.Amperes, line int) finding.Finding {
	return demand.OnSiteThree(signed(before), signed(after), load, line).Finding(works.Thing{Name: fmt.Sprintf("clamp on L%d", line+1)})
}

// signed is the currents with the signs of their powers, where the meter shows
// currents without one; NaN where it shows none.
func signed(m meter.Reading) (out [3]float64) {
	for k := range out {
		out[k] = math.NaN()
		if i, ok := m.Current[k].Get(); ok {
			out[k] = float64(i)
		}
		if m.Power[k].Or(0) < 0 && out[k] > 0 {
			out[k] = -out[k]
		}
	}
	return out
}
