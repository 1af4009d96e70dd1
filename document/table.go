package document

import "chargewright/drawing"

const (
	cellPad  = 1.2 // above and below the text of a cell
	cellGap  = 2.0 // to the right of it
	rightGap = 4.0 // to the right of figures
	hairline = 0.15
)

// table sets a table: its head repeated on every page, a row kept whole where
// a page can hold it, a longer one carried on.
func (l *layout) table(t Table) {
	if len(t.Rows) == 0 {
		return
	}
	g := newGrid(l, t)
	first := g.measure(t.Rows[0])
	l.need(g.headHeight + min(first.height(), l.bottom()-l.top()-g.headHeight))
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
	notesFrom  int // the column under which notes start
}

func newGrid(l *layout, t Table) *grid {
	columns := t.Columns
	g := &grid{l: l, columns: columns, notesFrom: min(1, len(columns)-1)}
	if t.NotesAtLeft {
		g.notesFrom = 0
	}
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

func (g *grid) textWidth(i int) float64 {
	if g.columns[i].Right {
		return g.width[i] - rightGap
	}
	return g.width[i] - cellGap
}

// place returns where a text of column i stands, and its anchor.
func (g *grid) place(i int) (float64, drawing.Anchor) {
	if g.columns[i].Right {
		return g.x[i] + g.width[i] - rightGap, drawing.End
	}
	if g.columns[i].Boxed {
		return g.x[i] + 1, drawing.Start
	}
	return g.x[i], drawing.Start
}

func (g *grid) head() {
	l := g.l
	if g.headHeight == 0 {
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
	words []int      // how many of them are a verdict's
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
	return max(h, m.row.Least)
}

const markRoom = drawing.MarkWidth + 1.5

func (g *grid) measure(r Row) measured {
	m := measured{row: r}
	for i, c := range r.Cells {
		s := inTable
		s.bold = c.Bold
		width := g.textWidth(i)
		for k := range c.Over {
			width += g.width[i+k+1]
		}
		height := 0.0
		var lines []string
		if c.Verdict != nil {
			lines = wrap(c.Verdict.String(), width-markRoom, inHead)
			height = drawing.MarkHeight
		}
		m.words = append(m.words, len(lines))
		if c.Text != "" {
			lines = append(lines, wrap(c.Text, width, s)...)
		}
		if c.Picture != nil {
			height = c.Picture.Height
		}
		m.lines = append(m.lines, lines)
		m.cells = max(m.cells, max(height, float64(len(lines))*inTable.leading())+2*cellPad)
	}
	from, to := g.noteSpan()
	for _, n := range r.Under {
		indent := 0.0
		if n.Label != "" {
			indent = drawing.Measure(n.Label+" ", TableSize, true)
		}
		for k, line := range drawing.WrapAfter(indent, drawing.Printable(n.Text), to-from, TableSize, false) {
			nl := noteLine{text: line}
			if k == 0 {
				nl.label, nl.indent = n.Label, indent
			}
			m.notes = append(m.notes, nl)
		}
	}
	return m
}

// noteSpan is where notes run: up to the first column that is written in by
// hand.
func (g *grid) noteSpan() (from, to float64) {
	from, to = g.x[g.notesFrom], g.l.right()
	for i, c := range g.columns {
		if c.Boxed {
			return from, g.x[i] - cellGap
		}
	}
	return from, to
}

// row sets a row. What is taller than the rest of the page is carried on, and
// so are notes.
func (g *grid) row(m measured) {
	l := g.l
	top := l.y
	end := top + m.height()
	carry := func() {
		g.boxes(top, l.y)
		l.newPage()
		g.head()
		top, end = l.y, 0
	}
	for from := 0; ; {
		most := max(1, int((l.room()-2*cellPad)/inTable.leading()+1e-6))
		if !g.cells(m, from, most) {
			break
		}
		from += most
		carry()
	}
	for _, n := range m.notes {
		if l.room() < inTable.leading() {
			carry()
		}
		x, _ := g.noteSpan()
		if n.label != "" {
			l.add(write(n.label, x, l.y, inHead, drawing.Start))
		}
		l.add(write(n.text, x+n.indent, l.y, inTable, drawing.Start))
		l.y += inTable.leading()
	}
	l.y = max(l.y, min(end, l.bottom()))
	g.boxes(top, l.y)
	l.add(rule(l.left(), l.y, l.right(), l.y, hairline))
}

// boxes draws the sides of the columns that are written in by hand.
func (g *grid) boxes(top, bottom float64) {
	for i, c := range g.columns {
		if !c.Boxed {
			continue
		}
		g.l.add(rule(g.x[i], top, g.x[i], bottom, hairline))
		if i == len(g.columns)-1 {
			g.l.add(rule(g.l.right(), top, g.l.right(), bottom, hairline))
		}
	}
}

// cells sets the lines of the cells from one line on, most lines of them, and
// reports whether more remain.
func (g *grid) cells(m measured, from, most int) bool {
	l := g.l
	more := false
	height := 0.0
	for i, c := range m.row.Cells {
		lines := m.lines[i][min(from, len(m.lines[i])):]
		if len(lines) > most {
			lines, more = lines[:most], true
		}
		height = max(height, float64(len(lines))*inTable.leading()+2*cellPad)
		x, anchor := g.place(i)
		y := l.y + cellPad
		if c.Verdict != nil && from == 0 {
			l.add(drawing.Mark(*c.Verdict).At(x, y+(inTable.leading()-drawing.MarkHeight)/2)...)
			height = max(height, drawing.MarkHeight+2*cellPad)
		}
		if c.Picture != nil && from == 0 {
			l.add(c.Picture.At(x, y)...)
			height = max(height, c.Picture.Height+2*cellPad)
		}
		for k, line := range lines {
			s, at := inTable, x
			s.bold = c.Bold
			if from+k < m.words[i] {
				s.bold, at = true, x+markRoom
			}
			l.add(write(line, at, y, s, anchor))
			y += inTable.leading()
		}
	}
	l.y += height
	return more
}
