package standard

import "fmt"

// uncertainty is what a reading may be wrong by: a share of the reading, a
// number of digits, and the value of one digit in the unit of the reading.
type uncertainty struct{ Relative, Digits, Resolution float64 }

func (t *tables) readInstruments(l *loader) {
	t.uncertainties = map[string]cell[uncertainty]{}
	l.each("instruments.csv", "kind,relative,digits,resolution,unit", func(r *record) {
		t.uncertainties[r.text("kind")] = cell[uncertainty]{row: r.row, value: uncertainty{r.filled("relative"), r.filled("digits"), r.filled("resolution")}}
	})
}

// InstrumentUncertainty returns the greatest operating uncertainty its product
// standard allows an instrument, by kind: "insulation", "loop", "continuity",
// "electrode", "rcd time", "voltage". The certificate of the instrument at
// hand goes before it.
//
//	source  BS EN 61557 by part
func (b *Rulebook) InstrumentUncertainty(kind string) (uncertainty, Citation, error) {
	if c := b.uncertainties[kind]; c.row != nil {
		return c.value, b.cite(c.row), nil
	}
	return uncertainty{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("uncertainty of an instrument for %q", kind), Known: sorted(b.uncertainties)}
}
