package job

// Photos: what each is of. A part is named as a person says it, circuit van
// point, leg yard wall, so that a photo's line in the file and its line on
// paper read the same.

import (
	"slices"
	"strings"

	"chargewright/reading"
)

// Parts of the job that a photo can be of without an item of their own.
const (
	OfJob      = "job"
	OfStreet   = "supply from the street"
	OfCutOut   = "cut-out"
	OfMeter    = "meter and tails"
	OfEarthing = "main earthing terminal"
)

// photos reports photos of parts that the job does not have. The part may have
// been taken out since: nothing written is wrong.
func (c *checker) photos() {
	if len(c.job.Photos) == 0 {
		return
	}
	parts := rollOf("part", append([]string{OfJob, OfStreet, OfCutOut, OfMeter, OfEarthing}, partsUnder(c.root, jobShape, "")...))
	for i, p := range c.job.Photos {
		if p.Of == "" || parts.has[p.Of] {
			continue
		}
		s := c.whole().item("photos", i).field("of")
		if near := reading.Near(p.Of, parts.names); near != "" {
			s.missing("the job has no %s; the nearest is %s", p.Of, near)
			continue
		}
		s.missing("the job has no %s; a photo is of %s, or of a part by its name, like circuit van point", p.Of, oneOf(parts.names[:5]))
	}
}

// partsUnder returns what the parts and the items under n are called, each
// within what holds it.
func partsUnder(n *node, s *Part, within string) []string {
	var out []string
	for _, f := range s.Fields {
		p := n.get(f)
		switch {
		case f.form == recordForm && !f.Of.isStated():
			inner := nothing
			if out = append(out, within+f.Name); p != nil {
				inner = p.value
			}
			out = append(out, partsUnder(inner, f.Of, within+f.Name+", ")...)
		case f.form == listForm && p != nil:
			for _, item := range p.value.items {
				if name := textAt(item, f.Of.Key); f.Of.Key != nil && name != "" && f.Name != "photos" {
					at := within + f.One + " " + name
					out = append(append(out, at), partsUnder(item, f.Of, at+", ")...)
				}
			}
		}
	}
	return out
}

// LineOf returns the line that a photo's field stands on, that of the photo
// where it has no such field, and 0 where the file has no such photo.
func (f *File) LineOf(photo, field string) int {
	p := f.root.get(jobShape.byName["photos"])
	if p == nil {
		return 0
	}
	of := jobShape.byName["photos"].Of
	i := slices.IndexFunc(p.value.items, func(item *node) bool { return strings.EqualFold(textAt(item, of.Key), photo) })
	if i < 0 {
		return 0
	}
	item := p.value.items[i]
	if at := item.get(of.byName[field]); at != nil {
		return at.at.line
	}
	return item.at.line
}
