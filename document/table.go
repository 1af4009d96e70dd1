package document

import "chargewright/drawing"

const (
	cellPad  = 0.9 // above and below the text of a cell
	closePad = 0.4 // in a table that is set close
	cellGap  = 2.0 // to the right of it
	rightGap = 4.0 // to the right of figures
	closeGap = 2.0 // in a table that is set close
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
	l.need(g.headHeight + min(g.height(first), l.bottom()-l.top()-g.headHeight))
	l.within(Element{Kind: "Table"}, func() {
		if g.headHeight > 0 {
			l.within(Element{Kind: "TR"}, g.head)
		}
		for i, r := range t.Rows {
			row := g.measure(r)
			if i > 0 && g.height(row) > l.room() && !l.empty() {
				l.newPage()
				g.again()
			}
			l.within(Element{Kind: "TR"}, func() { g.row(row) })
		}
	})
	l.y += 2
}

// again sets the head on another page, where it is furniture.
func (g *grid) again() {
	g.repeated = true
	g.l.in(furniture, g.head)
	g.repeated = false
}

// grid is the columns of a table on a page.
type grid struct {
	l          *layout
	columns    []Column
	x, width   []float64
	headLines  [][]string
	headHeight float64
	notesFrom  int // the column under which notes start
	text, bold style
	pad, gap   float64
	heads      bool // the first cell of a row is its head
	repeated   bool // the head stands on an earlier page as well
}

func newGrid(l *layout, t Table) *grid {
	columns := t.Columns
	g := &grid{l: l, columns: columns, notesFrom: min(1, len(columns)-1), text: inTable, bold: inHead, pad: cellPad, gap: rightGap, heads: t.heads}
	if t.Small {
		g.text, g.bold, g.pad, g.gap = running, runningBig, closePad, closeGap
	}
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
			head = wrap(c.Head, g.textWidth(i), g.bold)
		}
		g.headLines = append(g.headLines, head)
		lines = max(lines, len(head))
	}
	if lines > 0 {
		g.headHeight = float64(lines)*g.bold.leading() + 2*g.pad
	}
	return g
}

func (g *grid) textWidth(i int) float64 {
	if g.columns[i].Right {
		return g.width[i] - g.gap
	}
	return g.width[i] - cellGap
}

// place returns where a text of column i stands, and its anchor.
func (g *grid) place(i int) (float64, drawing.Anchor) {
	if g.columns[i].Right {
		return g.x[i] + g.width[i] - g.gap, drawing.End
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
		y := l.y + g.headHeight - g.pad - float64(len(lines))*g.bold.leading()
		set := func() {
			for _, line := range lines {
				l.add(write(line, x, y, g.bold, anchor))
				y += g.bold.leading()
			}
		}
		if g.repeated {
			set()
		} else {
			l.within(Element{Kind: "TH", Scope: "Column"}, set)
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
	of    []int // the element of each cell
}

// noteLine is one line under a row; the label stands before the first.
type noteLine struct {
	label, text string
	indent      float64
}

func (g *grid) height(m measured) float64 {
	h := m.cells + float64(len(m.notes))*g.text.leading()
	if len(m.notes) > 0 {
		h += g.pad
	}
	return max(h, m.row.Least)
}

const markRoom = drawing.MarkWidth + 1.5

func (g *grid) measure(r Row) measured {
	m := measured{row: r}
	for i, c := range r.Cells {
		s := g.text
		s.bold = c.Bold
		width := g.textWidth(i)
		for k := range c.Over {
			width += g.width[i+k+1]
		}
		height := 0.0
		var lines []string
		if c.Verdict != nil {
			lines = wrap(c.Verdict.String(), width-markRoom, g.bold)
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
		m.cells = max(m.cells, max(height, float64(len(lines))*g.text.leading())+2*g.pad)
	}
	from, to := g.noteSpan()
	for _, n := range r.Under {
		indent := 0.0
		if n.Label != "" {
			indent = drawing.Measure(n.Label+" ", g.text.size, true)
		}
		for k, line := range drawing.WrapAfter(indent, drawing.Printable(n.Text), to-from, g.text.size, false) {
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
	end := top + g.height(m)
	for i, c := range m.row.Cells {
		e := Element{Kind: "TD"}
		if i == 0 && g.heads {
			e.Kind, e.Scope = "TH", "Row"
		}
		if c.Over > 0 {
			e.Span = 1 + c.Over
		}
		if i > 0 && m.row.Cells[i-1].Over > 0 {
			e.Kind = "" // it is run over
		}
		at := furniture
		if e.Kind != "" {
			at = l.element(e)
		}
		m.of = append(m.of, at)
	}
	carry := func() {
		g.boxes(top, l.y)
		l.newPage()
		g.again()
		top, end = l.y, 0
	}
	for from := 0; ; {
		most := max(1, int((l.room()-2*g.pad)/g.text.leading()+1e-6))
		if !g.cells(m, from, most) {
			break
		}
		from += most
		carry()
	}
	for _, n := range m.notes {
		if l.room() < g.text.leading() {
			carry()
		}
		x, _ := g.noteSpan()
		l.in(m.of[min(g.notesFrom, len(m.of)-1)], func() {
			if n.label != "" {
				l.add(write(n.label, x, l.y, g.bold, drawing.Start))
			}
			l.add(write(n.text, x+n.indent, l.y, g.text, drawing.Start))
		})
		l.y += g.text.leading()
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
		height = max(height, float64(len(lines))*g.text.leading()+2*g.pad)
		x, anchor := g.place(i)
		y := l.y + g.pad
		if c.Verdict != nil && from == 0 {
			l.in(furniture, func() { l.add(drawing.Mark(*c.Verdict).At(x, y+(g.text.leading()-drawing.MarkHeight)/2)...) })
			height = max(height, drawing.MarkHeight+2*g.pad)
		}
		if c.Picture != nil && from == 0 {
			l.in(m.of[i], func() { l.scene(*c.Picture, x, y) })
			height = max(height, c.Picture.Height+2*g.pad)
		}
		l.in(m.of[i], func() {
			for k, line := range lines {
				s, at := g.text, x
				s.bold = c.Bold
				if from+k < m.words[i] {
					s.bold, at = true, x+markRoom
				}
				l.add(write(line, at, y, s, anchor))
				y += g.text.leading()
			}
		})
	}
	l.y += height
	return more
}
