package paper

import "chargewright/drawing"

const (
	cellPad  = 1.2 // above and below the text of a cell
	cellGap  = 2.0 // to the right of it
	hairline = 0.15
)

// table sets a table: its head repeated on every page, a row kept whole where
// a page can hold it, a longer one carried on.
func (l *layout) table(t Table) {
	if len(t.Rows) == 0 {
		return
	}
	g := newGrid(l, t.Columns)
	first := g.measure(t.Rows[0])
	l.need(g.headHeight + min(first.height(), l.bottom()-marginTop-g.headHeight))
	g.head()
	for i, r := range t.Rows {
		row := g.measure(r)
		if i > 0 && row.height() > l.room() && !l.empty() {
			l.newPage()
			g.head()
		}
		g.row(row)
	}
	l.y += 3
}

// grid is the columns of a table on a page.
type grid struct {
	l          *layout
	columns    []Column
	x, width   []float64
	headLines  [][]string
	headHeight float64
}

func newGrid(l *layout, columns []Column) *grid {
	g := &grid{l: l, columns: columns}
	var all float64
	for _, c := range columns {
		all += c.Share
	}
	x := l.left()
	for _, c := range columns {
		w := l.across() * c.Share / all
		g.x, g.width = append(g.x, x), append(g.width, w)
		x += w
	}
	lines := 0
	for i, c := range columns {
		var head []string
		if c.Head != "" {
			head = wrap(c.Head, g.textWidth(i), inHead)
		}
		g.headLines = append(g.headLines, head)
		lines = max(lines, len(head))
	}
	if lines > 0 {
		g.headHeight = float64(lines)*inHead.leading() + 2*cellPad
	}
	return g
}

func (g *grid) textWidth(i int) float64 { return g.width[i] - cellGap }

// place returns where a text of column i stands, and its anchor.
func (g *grid) place(i int) (float64, drawing.Anchor) {
	if g.columns[i].Right {
		return g.x[i] + g.width[i] - cellGap, drawing.End
	}
	if g.columns[i].Boxed {
		return g.x[i] + 1, drawing.Start
	}
	return g.x[i], drawing.Start
}

func (g *grid) head() {
	l := g.l
	if g.headHeight == 0 {
		l.add(rule(l.left(), l.y, l.right(), l.y, hairline))
		return
	}
	for i, lines := range g.headLines {
		x, anchor := g.place(i)
		y := l.y + g.headHeight - cellPad - float64(len(lines))*inHead.leading()
		for _, line := range lines {
			l.add(write(line, x, y, inHead, anchor))
			y += inHead.leading()
		}
	}
	l.y += g.headHeight
	l.add(rule(l.left(), l.y, l.right(), l.y, 0.4))
}

// measured is a row broken into lines.
type measured struct {
	row   Row
	lines [][]string // of each cell
	cells float64    // height of the cells
	notes []noteLine
}

// noteLine is one line under a row; the label stands before the first.
type noteLine struct {
	label, text string
	indent      float64
}

func (m measured) height() float64 {
	h := m.cells + float64(len(m.notes))*inTable.leading()
	if len(m.notes) > 0 {
		h += cellPad
	}
	return h
}

const markRoom = drawing.MarkWidth + 1.5

func (g *grid) measure(r Row) measured {
	m := measured{row: r}
	for i, c := range r.Cells {
		s := inTable
		s.bold = c.Bold
		width := g.textWidth(i)
		height := 0.0
		var lines []string
		if c.Verdict != nil {
			lines = wrap(c.Verdict.String(), width-markRoom, inHead)
			height = drawing.MarkHeight
		}
		if c.Text != "" {
			lines = append(lines, wrap(c.Text, width, s)...)
		}
		if c.Picture != nil {
			height = c.Picture.Height
		}
		m.lines = append(m.lines, lines)
		m.cells = max(m.cells, max(height, float64(len(lines))*inTable.leading())+2*cellPad)
	}
	m.cells = max(m.cells, r.Least)
	width := g.l.right() - g.noteX()
	for _, n := range r.Under {
		indent := 0.0
		if n.Label != "" {
			indent = drawing.Measure(n.Label+" ", tableSize, true)
		}
		for k, line := range drawing.WrapAfter(indent, drawing.Printable(n.Text), width, tableSize, false) {
			nl := noteLine{text: line}
			if k == 0 {
				nl.label, nl.indent = n.Label, indent
			}
			m.notes = append(m.notes, nl)
		}
	}
	return m
}

// noteX is where notes start: under the second column.
func (g *grid) noteX() float64 {
	if len(g.x) > 1 {
		return g.x[1]
	}
	return g.x[0]
}

// row sets a row. Cells taller than what is left of the page are carried on,
// and so are notes.
func (g *grid) row(m measured) {
	l := g.l
	for from := 0; ; {
		most := max(1, int((l.room()-2*cellPad)/inTable.leading()))
		more := g.cells(m, from, most)
		if !more {
			break
		}
		from += most
		g.carry()
	}
	for _, n := range m.notes {
		if l.room() < inTable.leading()+cellPad {
			g.carry()
		}
		x := g.noteX()
		if n.label != "" {
			l.add(write(n.label, x, l.y, inHead, drawing.Start))
		}
		l.add(write(n.text, x+n.indent, l.y, inTable, drawing.Start))
		l.y += inTable.leading()
	}
	if len(m.notes) > 0 {
		l.y += cellPad
	}
	l.add(rule(l.left(), l.y, l.right(), l.y, hairline))
}

// carry goes on with the table on a new page.
func (g *grid) carry() {
	g.l.newPage()
	g.head()
}

// cells sets the lines of the cells from one line on, most lines of them, and
// reports whether more remain.
func (g *grid) cells(m measured, from, most int) bool {
	l := g.l
	more := false
	height := 0.0
	top := l.y
	for i, c := range m.row.Cells {
		lines := m.lines[i]
		if from >= len(lines) {
			lines = nil
		} else {
			lines = lines[from:]
		}
		if len(lines) > most {
			lines, more = lines[:most], true
		}
		height = max(height, float64(len(lines))*inTable.leading()+2*cellPad)
		x, anchor := g.place(i)
		y := top + cellPad
		if c.Verdict != nil && from == 0 {
			l.add(drawing.Mark(*c.Verdict).At(x, y+(inTable.leading()-drawing.MarkHeight)/2)...)
		}
		if c.Picture != nil && from == 0 {
			l.add(c.Picture.At(x, y)...)
		}
		words := 0
		if c.Verdict != nil {
			words = len(wrap(c.Verdict.String(), g.textWidth(i)-markRoom, inHead))
		}
		for k, line := range lines {
			s, at := inTable, x
			s.bold = c.Bold
			if from+k < words {
				s.bold, at = true, x+markRoom
			}
			l.add(write(line, at, y, s, anchor))
			y += inTable.leading()
		}
	}
	if !more {
		height = max(height, min(m.cells, l.room()))
		if from == 0 {
			height = m.cells
		}
	}
	for i, c := range g.columns {
		if c.Boxed {
			l.add(rule(g.x[i], top, g.x[i], top+height, hairline))
			if i == len(g.columns)-1 {
				l.add(rule(l.right(), top, l.right(), top+height, hairline))
			}
		}
	}
	l.y = top + height
	return more
}
