package document

import "chargewright/drawing"

// Element is a part of a document as one who listens to it goes through it:
// a heading, a table, a cell. What is on a page and in no element is furniture
// (ISO 32000-1, 14.8: structure types and artifacts).
type Element struct {
	Kind  string // "H1", "P", "Table", "TR", "TH", "TD", "L", "LI", "Lbl", "LBody", "Figure", "Div"
	Of    int    // the element that it lies in, -1 for the document itself
	Alt   string // a picture in words
	Scope string // of a TH: "Column" or "Row"
	Span  int    // columns that a cell runs over, where they are several
}

// figure is the kind of an element whose every stroke belongs to it.
const figure = "Figure"

// within sets what belongs to an element.
func (l *layout) within(e Element, set func()) {
	before := l.now
	l.now = l.element(e)
	set()
	l.now = before
}

// element adds an element to the present one, to be filled later.
func (l *layout) element(e Element) int {
	e.Of = l.now
	l.elements = append(l.elements, e)
	return len(l.elements) - 1
}

// in sets more of an element that was begun before.
func (l *layout) in(element int, set func()) {
	before := l.now
	l.now = element
	set()
	l.now = before
}

// owner is the element that a shape belongs to: of a picture all of it, else
// words and photos alone; rules and frames are furniture.
func (l *layout) owner(s drawing.Shape) int {
	if l.now < 0 || l.elements[l.now].Kind == figure {
		return l.now
	}
	switch s.(type) {
	case drawing.Text, drawing.Image:
		return l.now
	}
	return furniture
}

// furniture is no element, and the document itself.
const furniture = -1
