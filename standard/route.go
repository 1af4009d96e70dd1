package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// outline is a cable's overall width and thickness; a round cable has both alike.
type outline struct{ Width, Thickness quantity.Metres }

// spacingRow is the greatest distance between supports.
type spacingRow struct{ Horizontal, Vertical quantity.Metres }

type outlineKey struct {
	construction Construction
	cores        int
}

type supportKey struct{ what, material string }

// routes is what is needed to plan where cables run.
type routes struct {
	outlines  map[outlineKey]column[outline]
	glands    map[int]column[string]
	bends     map[string]column[float64]
	clips     map[string]column[spacingRow]
	supports  map[supportKey]column[spacingRow]
	terms     map[string]column[float64]
	conduits  map[int]column[column[float64]] // bends; length; size → factor
	straights column[float64]
	trunkings map[string]cell[float64]
}

func metres(r *record, name string) quantity.Metres { return quantity.Metres(r.filled(name) / 1000) }

func (t *tables) readRoutes(l *loader) {
	s := &routes{outlines: map[outlineKey]column[outline]{}, glands: map[int]column[string]{}, bends: map[string]column[float64]{},
		clips: map[string]column[spacingRow]{}, supports: map[supportKey]column[spacingRow]{}, terms: map[string]column[float64]{},
		conduits: map[int]column[column[float64]]{}, trunkings: map[string]cell[float64]{}}
	t.routes = s
	l.each("cable-outlines.csv", "construction,cores,mm2,width_mm,thickness_mm", func(r *record) {
		k := outlineKey{Construction(r.text("construction")), r.whole("cores")}
		c := s.outlines[k]
		c.add(r, r.filled("mm2"), outline{metres(r, "width_mm"), metres(r, "thickness_mm")})
		s.outlines[k] = c
	})
	l.each("glands.csv", "cores,mm2,gland", func(r *record) {
		n := r.whole("cores")
		c := s.glands[n]
		c.add(r, r.filled("mm2"), r.text("gland"))
		s.glands[n] = c
	})
	l.each("bends.csv", "cable,diameter_up_to_mm,times_diameter", func(r *record) {
		c := s.bends[r.text("cable")]
		c.add(r, upTo(r, "diameter_up_to_mm"), r.filled("times_diameter"))
		s.bends[r.text("cable")] = c
	})
	l.each("clips.csv", "cable,diameter_up_to_mm,horizontal_mm,vertical_mm", func(r *record) {
		c := s.clips[r.text("cable")]
		c.add(r, r.filled("diameter_up_to_mm"), spacingRow{metres(r, "horizontal_mm"), metres(r, "vertical_mm")})
		s.clips[r.text("cable")] = c
	})
	l.each("supports.csv", "what,material,up_to,horizontal_m,vertical_m", func(r *record) {
		k := supportKey{r.text("what"), r.text("material")}
		c := s.supports[k]
		c.add(r, upTo(r, "up_to"), spacingRow{quantity.Metres(r.filled("horizontal_m")), quantity.Metres(r.filled("vertical_m"))})
		s.supports[k] = c
	})
	l.each("space-terms.csv", "for,mm2,term", func(r *record) {
		c := s.terms[r.text("for")]
		c.add(r, r.filled("mm2"), r.filled("term"))
		s.terms[r.text("for")] = c
	})
	l.each("conduits.csv", "size_mm,bends,length_m,factor", func(r *record) {
		bends := r.whole("bends")
		c := s.conduits[bends]
		size := r.filled("size_mm")
		if n := len(c); n == 0 || c[n-1].at != size {
			c.add(r, size, nil)
		}
		c[len(c)-1].value.add(r, r.filled("length_m"), r.filled("factor"))
		s.conduits[bends] = c
	})
	l.each("conduits-short.csv", "size_mm,factor", func(r *record) { s.straights.add(r, r.filled("size_mm"), r.filled("factor")) })
	l.each("trunkings.csv", "size_mm,factor", func(r *record) {
		s.trunkings[r.text("size_mm")] = cell[float64]{value: r.filled("factor"), row: r.row}
	})
}

// outline returns a cable's nominal overall measures; makers vary.
func (b *Rulebook) Outline(c Construction, cores int, csa quantity.SquareMillimetres) (outline, Citation, error) {
	col := b.routes.outlines[outlineKey{c, cores}]
	if o, ok := col.exact(float64(csa)); ok {
		return o.value, b.cite(o.row), nil
	}
	return outline{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("overall size of %d-core %v %v cable", cores, csa, c), Known: sizes(col)}
}

// Gland returns the size of the gland for a steel-wire-armoured cable.
func (b *Rulebook) Gland(cores int, csa quantity.SquareMillimetres) (string, Citation, error) {
	col := b.routes.glands[cores]
	if g, ok := col.exact(float64(csa)); ok {
		return g.value, b.cite(g.row), nil
	}
	return "", Citation{}, &notTabulated{Wanted: fmt.Sprintf("gland of a %d-core %v armoured cable", cores, csa), Known: sizes(col)}
}

// BendRadius returns the least internal radius of a bend in a cable of a kind:
// "non-armoured", "armoured", "armoured, shaped conductors" or "mineral
// insulated".
func (b *Rulebook) BendRadius(cable string, diameter quantity.Metres) (quantity.Metres, Citation, error) {
	c, ok := b.routes.bends[cable].upward(millimetres(diameter))
	if !ok || !(diameter > 0) {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("bend radius of %s cable of %v", cable, diameter), Known: sorted(b.routes.bends)}
	}
	return diameter * quantity.Metres(c.value), b.cite(c.row), nil
}

// millimetres rounds to the micrometre, so that 9 mm given in metres is 9.
func millimetres(m quantity.Metres) float64 { return math.Round(float64(m)*1e6) / 1e3 }

// ClipSpacing returns the greatest distance between clips of an accessible
// cable, "non-armoured" or "armoured"; the larger measure of a flat cable counts.
func (b *Rulebook) ClipSpacing(cable string, diameter quantity.Metres) (spacingRow, Citation, error) {
	c, ok := b.routes.clips[cable].upward(millimetres(diameter))
	if !ok || !(diameter > 0) {
		return spacingRow{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("clip spacing of %s cable of %v", cable, diameter), Known: sorted(b.routes.clips)}
	}
	return c.value, b.cite(c.row), nil
}

// ConduitSupport returns the greatest distance between supports of a conduit
// of a material: "rigid metal", "rigid insulating" or "pliable".
func (b *Rulebook) ConduitSupport(material string, sizeMM float64) (spacingRow, Citation, error) {
	return b.support(supportKey{"conduit", material}, sizeMM)
}

// TrunkingSupport returns the greatest distance between supports of a trunking
// of a material, "metal" or "insulating", by its inner area in mm².
func (b *Rulebook) TrunkingSupport(material string, areaMM2 float64) (spacingRow, Citation, error) {
	return b.support(supportKey{"trunking", material}, areaMM2)
}

func (b *Rulebook) support(k supportKey, size float64) (spacingRow, Citation, error) {
	c, ok := b.routes.supports[k].upward(size)
	if !ok || !(size > 0) {
		return spacingRow{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("support of %s %s of %v", k.material, k.what, size)}
	}
	return c.value, b.cite(c.row), nil
}

// Kinds of space term: how much of a conduit's or trunking's factor one
// single-core cable takes.
const (
	ShortConduitSolid    = "conduit to 3 m, straight, solid"
	ShortConduitStranded = "conduit to 3 m, straight, stranded"
	ConduitRun           = "conduit longer or with bends"
	TrunkingSolid70      = "trunking, solid, thermoplastic"
	TrunkingSolid90      = "trunking, solid, thermosetting"
	TrunkingStranded70   = "trunking, stranded, thermoplastic"
	TrunkingStranded90   = "trunking, stranded, thermosetting"
)

// SpaceTerm returns what one single-core cable takes of a factor.
func (b *Rulebook) SpaceTerm(kind string, csa quantity.SquareMillimetres) (float64, Citation, error) {
	col := b.routes.terms[kind]
	if c, ok := col.exact(float64(csa)); ok {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("term of a %v cable, %s", csa, kind), Known: sizes(col)}
}

// ConduitFactor returns the factor of a conduit for a run between draw-in
// points, with a number of bends of 90°. Between rows the next longer run is
// taken.
func (b *Rulebook) ConduitFactor(sizeMM float64, length quantity.Metres, bends int) (float64, Citation, error) {
	if bends == 0 && length <= 3 {
		if c, ok := b.routes.straights.exact(sizeMM); ok {
			return c.value, b.cite(c.row), nil
		}
	}
	if size, ok := b.routes.conduits[bends].exact(sizeMM); ok {
		if c, ok := size.value.upward(float64(length)); ok {
			if c.at == float64(length) {
				return c.value, b.cite(c.row), nil
			}
			return c.value, b.cite(c.row).with(nextLonger), nil
		}
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor of a %v mm conduit over %v with %d bends", sizeMM, length, bends),
		Why: "draw the cables in from a point between"}
}

// TrunkingFactor returns the factor of a trunking by its size, such as "50x50".
func (b *Rulebook) TrunkingFactor(size string) (float64, Citation, error) {
	if c := b.routes.trunkings[size]; c.row != nil {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor of a %s trunking", size), Known: sorted(b.routes.trunkings)}
}
