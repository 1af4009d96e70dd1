package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

type diversityKey struct{ premises, load string }

// Diversity is how the loads of one kind in one kind of premises add up.
//
//	demand = Largest × greatest + Second × second greatest + Rest × all others
//
// Where FirstAmperes is set, the demand is that current in full, Excess of
// what is above it, and WithSocket more if there is a socket-outlet.
type Diversity struct {
	Largest, Second, Rest float64
	FirstAmperes          quantity.Amperes
	Excess                float64
	WithSocket            quantity.Amperes
}

func (t *tables) readDemand(l *loader) {
	t.diversities = map[diversityKey]cell[Diversity]{}
	l.each("diversity.csv", "premises,loads,largest,second,rest,first_a,excess,with_socket_a", func(r *record) {
		v := Diversity{Largest: r.filled("largest"), Second: r.filled("second"), Rest: r.filled("rest")}
		if first := r.number("first_a"); !math.IsNaN(first) {
			v.FirstAmperes, v.Excess = quantity.Amperes(first), r.filled("excess")
		}
		if extra := r.number("with_socket_a"); !math.IsNaN(extra) {
			v.WithSocket = quantity.Amperes(extra)
		}
		for _, p := range r.listed("premises") {
			for _, load := range r.listed("loads") {
				k := diversityKey{p, load}
				if t.diversities[k].row != nil {
					l.fault("%s:%d: %s, %s is there twice", r.file, r.line, p, load)
				}
				t.diversities[k] = cell[Diversity]{value: v, row: r.row}
			}
		}
	})
	t.loadings = map[string]column[float64]{}
	l.each("assumed-loading.csv", "assembly,circuits_from,factor", func(r *record) {
		k := r.text("assembly")
		c := t.loadings[k]
		c.add(r, r.filled("circuits_from"), r.filled("factor"))
		t.loadings[k] = c
	})
}

// Diversity returns the allowance for one kind of load in one kind of
// premises, in the words of the job file.
//
//	source  IET On-Site Guide
//
// These are allowances for a first estimate. Charge points take none: each
// counts in full, or together at the limit of their load control.
func (b *Rulebook) Diversity(premises, load string) (Diversity, Citation, error) {
	if c := b.diversities[diversityKey{premises, load}]; c.row != nil {
		return c.value, b.cite(c.row), nil
	}
	e := &notTabulated{Wanted: fmt.Sprintf("diversity of %s in a %s", load, premises)}
	others := map[string]bool{}
	for k := range b.diversities {
		if k.premises == premises {
			others[k.load] = true
		}
	}
	if e.Known = sorted(others); len(others) == 0 {
		e.Why = "there is no table for these premises"
	}
	return Diversity{}, Citation{}, e
}

// AssumedLoading returns the share of their rated current that the outgoing
// circuits of a distribution board operated by ordinary persons are assumed to
// carry together, where its maker states no rated diversity factor.
//
//	source  BS EN 61439-3
//
// One circuit alone has no reduction.
func (b *Rulebook) AssumedLoading(circuits int) (float64, Citation) {
	return b.AssumedLoadingOf("ordinary persons", circuits)
}

// AssumedLoadingOf is AssumedLoading for another kind of assembly: "ordinary
// persons" (BS EN 61439-3) or "power switchgear" (BS EN 61439-2).
func (b *Rulebook) AssumedLoadingOf(assembly string, circuits int) (float64, Citation) {
	col := b.loadings[assembly]
	if len(col) == 0 || circuits < 1 {
		return math.NaN(), Citation{}
	}
	c, ok := col.downward(float64(circuits))
	if !ok {
		return 1, b.cite(col[0].row).with(oneAlone)
	}
	return c.value, b.cite(c.row)
}
