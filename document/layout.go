package document

import (
	"cmp"
	"fmt"

	"chargewright/drawing"
)

// Sizes of type, in mm: 10 point text, 9 point tables, their leading.
const (
	point       = 25.4 / 72
	textSize    = 10 * point
	TableSize   = 9 * point
	titleSize   = 19 * point
	headingSize = 12.5 * point
	subSize     = 10.5 * point
	smallSize   = 8.5 * point // running head and foot alone
	leadingOf   = 1.28

	closeLeading = 1.17 // of what is small
)

// Margins of a page, in mm.
const (
	marginSide   = 15.0
	marginCard   = 11.0 // at the sides of a card, and of a sheet that asks for it
	marginTop    = 18.5
	marginBottom = 16.0
)

// Page is one page laid out: its shapes and the headings that start on it.
type Page struct {
	Scene    drawing.Scene
	Headings []Heading
	owners   []int // the element of each shape
}

// Heading is a place a reader may jump to.
type Heading struct {
	Text  string
	Level int
	Y     float64
}

// OpensPage reports whether nothing stands above the heading on its page.
func (h Heading) OpensPage() bool { return h.Y <= marginTop }

// Pages lays the document out.
func (d *Document) Pages() []Page {
	pages, _ := d.lay()
	return pages
}

// Structure is the elements of the document, each behind the one it lies in.
func (d *Document) Structure() []Element {
	_, elements := d.lay()
	return elements
}

func (d *Document) lay() ([]Page, []Element) {
	w, h := d.Sheet.size()
	l := &layout{doc: d, width: w, height: h, now: furniture}
	if d.Sheet == A5 {
		l.compact = true
	}
	l.newPage()
	l.title()
	for i, s := range d.Sections {
		l.section(s, i)
	}
	for i := range l.pages {
		l.furnish(i)
	}
	return l.pages, l.elements
}

// layout places blocks one below the other, page after page.
type layout struct {
	doc           *Document
	width, height float64
	compact       bool
	pages         []Page
	y             float64 // top of what comes next
	elements      []Element
	now           int     // the element that is being set
	aside         float64 // width taken at the right by what stands beside
}

func (l *layout) page() *Page { return &l.pages[len(l.pages)-1] }

func (l *layout) left() float64 {
	if l.compact || l.doc.Narrow {
		return marginCard
	}
	return marginSide
}
func (l *layout) right() float64  { return l.width - l.left() - l.aside }
func (l *layout) across() float64 { return l.right() - l.left() }
func (l *layout) bottom() float64 { return l.height - marginBottom }
func (l *layout) room() float64   { return l.bottom() - l.y }
func (l *layout) empty() bool     { return l.y <= l.top() }

func (l *layout) top() float64 {
	if l.compact {
		return marginTop - 2
	}
	return marginTop
}

func (l *layout) newPage() {
	l.pages = append(l.pages, Page{Scene: drawing.Scene{Width: l.width, Height: l.height}})
	l.y = l.top()
}

// need starts a new page unless height is left on this one.
func (l *layout) need(height float64) {
	if l.room() < height && !l.empty() {
		l.newPage()
	}
}

func (l *layout) add(shapes ...drawing.Shape) {
	p := l.page()
	p.Scene.Shapes = append(p.Scene.Shapes, shapes...)
	for _, s := range shapes {
		p.owners = append(p.owners, l.owner(s))
	}
}

// style is how a text is set.
type style struct {
	size float64
	bold bool
	ink  drawing.Ink
}

func (s style) leading() float64 {
	if s.size <= smallSize {
		return s.size * closeLeading
	}
	return s.size * leadingOf
}

var (
	plain      = style{textSize, false, drawing.Black}
	strong     = style{textSize, true, drawing.Black}
	inTable    = style{TableSize, false, drawing.Black}
	inHead     = style{TableSize, true, drawing.Black}
	inField    = style{10 * point, false, drawing.Black}
	inTitle    = style{titleSize, true, drawing.Black}
	inHeading  = style{headingSize, true, drawing.Black}
	inSub      = style{subSize, true, drawing.Black}
	running    = style{smallSize, false, drawing.Black}
	runningBig = style{smallSize, true, drawing.Black}
)

// wrap breaks a text to a width.
func wrap(text string, width float64, s style) []string {
	return drawing.Wrap(drawing.Printable(text), width, s.size, s.bold)
}

// write sets one line with its top at y and returns it as a shape.
func write(text string, x, y float64, s style, anchor drawing.Anchor) drawing.Shape {
	baseline := y + (s.leading()+0.7*s.size)/2
	return drawing.Text{At: drawing.XY{X: x, Y: baseline}, Text: text, Size: s.size, Anchor: anchor, Bold: s.bold, Ink: s.ink}
}

// SetLines sets a text from y down, broken to a width, in bold or as a table is
// set, and says where it ends.
func SetLines(text string, x, y, width float64, bold bool) (set []drawing.Shape, below float64) {
	s := inTable
	if bold {
		s = strong
	}
	for _, line := range wrap(text, width, s) {
		set = append(set, write(line, x, y, s, drawing.Start))
		y += s.leading()
	}
	return set, y
}

// SetSmall sets a text from y down in small letters, broken to a width, and says
// where it ends.
func SetSmall(text string, x, y, width float64) (set []drawing.Shape, below float64) {
	for _, line := range wrap(text, width, running) {
		set = append(set, write(line, x, y, running, drawing.Start))
		y += running.leading()
	}
	return set, y
}

// CloseGap is how far pictures set close overlap, in mm.
const CloseGap = 4.0

// lines sets lines from the cursor on, at x, and moves the cursor.
func (l *layout) lines(text string, x, width float64, s style) {
	for _, line := range wrap(text, width, s) {
		l.need(s.leading())
		l.add(write(line, x, l.y, s, drawing.Start))
		l.y += s.leading()
	}
}

func rule(x1, y1, x2, y2, width float64) drawing.Shape {
	return drawing.Line{From: drawing.XY{X: x1, Y: y1}, To: drawing.XY{X: x2, Y: y2}, Stroke: drawing.Stroke{Ink: drawing.Black, Width: width}}
}

// title opens the document: its name, the job, what it is for.
func (l *layout) title() {
	d := l.doc
	l.heading(d.Title, 0)
	size := inTitle
	if l.compact {
		size = inHeading
	}
	width, below := l.across(), l.y
	if c := d.Corner; c != nil {
		width, below = width-c.Width-6, l.y+c.Height
		defer func(y float64) { l.scene(*c, l.right()-c.Width, y) }(l.y)
	}
	under := inTable
	l.within(Element{Kind: "H1"}, func() { l.lines(d.Title, l.left(), width, size) })
	l.paragraph(d.Job, width, inSub)
	if d.Invented && l.compact {
		l.paragraph("An invented job, for training and show.", l.across(), under)
	} else if d.Invented {
		l.paragraph("An invented job, for training and show: no such place, people or work exist.", width, under)
	}
	if d.Subject != "" {
		l.paragraph(d.Subject, width, under)
	}
	l.y = max(l.y+1.4, below)
}

// paragraph sets running text from the left.
func (l *layout) paragraph(text string, width float64, s style) {
	l.within(Element{Kind: "P"}, func() { l.lines(text, l.left(), width, s) })
}

// scene sets a picture, told in its words.
func (l *layout) scene(s drawing.Scene, x, y float64) {
	l.within(Element{Kind: figure, Alt: cmp.Or(s.Description, s.Title, s.Name)}, func() { l.add(s.At(x, y)...) })
}

func (l *layout) heading(text string, level int) {
	p := l.page()
	p.Headings = append(p.Headings, Heading{Text: drawing.Printable(text), Level: level, Y: l.y})
}

// whole starts a new page where a section would be cut and one page can hold it.
func (l *layout) whole(s Section) {
	trial := &layout{doc: l.doc, width: l.width, height: l.height, compact: l.compact, now: furniture}
	trial.newPage()
	s.Whole, s.NewPage = false, false
	trial.section(s, 1)
	if len(trial.pages) == 1 {
		l.need(trial.y - trial.top())
	}
}

// turn lays the page on its side for a section, and back for the next. A page
// on which nothing stands yet is turned, else another is begun.
func (l *layout) turn(across bool) {
	sheet := l.doc.Sheet
	if across {
		sheet = A4Across
	}
	w, h := sheet.size()
	if w == l.width && h == l.height {
		return
	}
	if l.empty() {
		l.pages = l.pages[:len(l.pages)-1]
	}
	l.width, l.height = w, h
	l.newPage()
}

func (l *layout) section(s Section, index int) {
	l.turn(s.Across)
	if s.Whole {
		l.whole(s)
	}
	if s.NewPage && !(index == 0 && len(l.pages) == 1) {
		if !l.empty() {
			l.newPage()
		}
	}
	if s.Heading != "" {
		size := inHeading
		if l.compact {
			size = inSub
		}
		l.need(size.leading() + 4 + leastBelow(s.Blocks))
		if !l.empty() {
			l.y += 2.2
		}
		l.heading(s.Heading, 1)
		l.within(Element{Kind: "H2"}, func() { l.lines(s.Heading, l.left(), l.across(), size) })
		l.add(rule(l.left(), l.y+0.4, l.right(), l.y+0.4, 0.4))
		l.y += 1.6
	}
	if c := s.Corner; c != nil {
		l.need(c.Height)
		l.scene(*c, l.right()-c.Width, l.y)
		l.aside = c.Width + 6
		defer func(page int, below float64) {
			l.aside = 0
			if len(l.pages) == page {
				l.y = max(l.y, below)
			}
		}(len(l.pages), l.y+c.Height)
	}
	for i, b := range s.Blocks {
		l.block(b, s.Blocks[i+1:])
	}
}

// leastBelow is the room a heading wants under it, so that it does not stand
// alone at the foot of a page.
func leastBelow(blocks []Block) float64 {
	if len(blocks) == 0 {
		return 0
	}
	switch blocks[0].(type) {
	case Picture:
		return 90
	case Prints:
		return 130
	}
	return 26
}

func (l *layout) block(b Block, after []Block) {
	switch b := b.(type) {
	case Paragraph:
		s := plain
		switch {
		case b.Small:
			s = running
		case l.compact:
			s = inTable
		}
		l.paragraph(b.Text, l.across(), s)
		l.y += 1.4
	case Subheading:
		l.need(inSub.leading() + leastBelow(after))
		l.y += 1
		l.heading(b.Text, 2)
		l.within(Element{Kind: "H3"}, func() { l.lines(b.Text, l.left(), l.across(), inSub) })
		l.y += 0.6
	case Facts:
		l.facts(b)
	case Fields:
		l.within(Element{Kind: "L"}, func() { l.fields(b) })
	case Table:
		l.table(b)
	case Picture:
		l.picture(b)
	case Prints:
		l.prints(b)
	case Caution:
		l.within(Element{Kind: "Div"}, func() { l.caution(b) })
	case Lines:
		l.within(Element{Kind: "Div"}, func() { l.blanks(b) })
	}
}

// facts sets a list of facts: name, value, and what backs it.
func (l *layout) facts(facts Facts) {
	t := Table{Columns: []Column{{Share: 28}, {Share: 46}, {Share: 46}}, heads: true}
	noted := false
	for _, f := range facts {
		noted = noted || f.Note != ""
	}
	if !noted {
		t.Columns = []Column{{Share: 28}, {Share: 92}}
	}
	for _, f := range facts {
		row := Row{Cells: []Cell{{Text: f.What}, {Text: f.Value, Bold: f.Value != unknown}}}
		switch {
		case f.Note != "":
			row.Cells = append(row.Cells, Cell{Text: f.Note})
		case noted:
			row.Cells[1].Over = 1
		}
		t.Rows = append(t.Rows, row)
	}
	l.table(t)
}

// fields sets facts side by side, each as wide as its words need.
func (l *layout) fields(facts Fields) {
	const gutter, between = 4.0, 1.6
	columns := 4
	if l.width > l.height {
		columns = 6
	}
	one := (l.across() - float64(columns-1)*gutter) / float64(columns)
	type set struct {
		name, value, note []string
		x, height         float64
	}
	measure := func(f Fact, places int) set {
		w := float64(places)*(one+gutter) - gutter
		s := set{name: wrap(f.What, w, running), value: wrap(f.Value, w, inField)}
		if f.Note != "" {
			s.note = wrap(f.Note, w, running)
		}
		s.height = float64(len(s.name)+len(s.note))*running.leading() + float64(len(s.value))*inField.leading()
		return s
	}
	var row []set
	taken := 0
	flush := func() {
		high := 0.0
		for _, s := range row {
			high = max(high, s.height)
		}
		l.need(high)
		for _, s := range row {
			y := l.y
			set := func(lines []string, st style) {
				for _, line := range lines {
					l.add(write(line, s.x, y, st, drawing.Start))
					y += st.leading()
				}
			}
			l.within(Element{Kind: "LI"}, func() {
				l.within(Element{Kind: "Lbl"}, func() { set(s.name, running) })
				l.within(Element{Kind: "LBody"}, func() { set(s.value, inField); set(s.note, running) })
			})
		}
		l.y += high + between
		row, taken = row[:0], 0
	}
	for _, f := range facts {
		places := 1
		s := measure(f, places)
		for places < columns && (len(s.value) > 2 || len(s.note) > 2 || len(s.name) > 2) {
			places++
			s = measure(f, places)
		}
		if taken+places > columns {
			flush()
		}
		s.x = l.left() + float64(taken)*(one+gutter)
		row, taken = append(row, s), taken+places
	}
	if len(row) > 0 {
		flush()
	}
	l.y++
}

// caution frames a warning.
func (l *layout) caution(c Caution) {
	const pad = 2.4
	width := l.across() - 2*pad - 2
	plain, strong := plain, strong
	if l.compact {
		plain, strong = inTable, inHead
	}
	type set struct {
		lines []string
		s     style
	}
	all := []set{{wrap(c.Head, width, strong), strong}}
	for _, text := range c.Lines {
		all = append(all, set{wrap(text, width, plain), plain})
	}
	height := 2 * pad
	for _, a := range all {
		height += a.s.leading() * float64(len(a.lines))
	}
	l.need(height + 3)
	l.add(drawing.Rectangle{At: drawing.XY{X: l.left(), Y: l.y}, Width: l.across(), Height: height, Stroke: drawing.Stroke{Ink: drawing.Black, Width: 0.5}},
		drawing.Rectangle{At: drawing.XY{X: l.left(), Y: l.y}, Width: 2, Height: height, Fill: drawing.Black})
	y := l.y + pad
	for _, a := range all {
		l.within(Element{Kind: "P"}, func() {
			for _, line := range a.lines {
				l.add(write(line, l.left()+pad+2, y, a.s, drawing.Start))
				y += a.s.leading()
			}
		})
	}
	l.y += height + 2.4
}

// blanks sets names with ruled lines to write on, two to a row.
func (l *layout) blanks(names Lines) {
	const height = 7.5
	half := (l.across() - 6) / 2
	for i, name := range names {
		if i%2 == 0 {
			l.need(height)
		}
		x := l.left() + float64(i%2)*(half+6)
		l.within(Element{Kind: "P"}, func() {
			l.add(write(drawing.Printable(name), x, l.y+height-inTable.leading()-1, inTable, drawing.Start))
		})
		from := x + drawing.Measure(name, TableSize, false) + 2
		l.add(rule(from, l.y+height-1.5, x+half, l.y+height-1.5, 0.2))
		if i%2 == 1 || i == len(names)-1 {
			l.y += height
		}
	}
	l.y += 2
}

// picture sets drawings in columns, each drawing from the top of one, a tall
// one cut and carried on into the next column or page.
func (l *layout) picture(p Picture) {
	gap := 4.0
	if p.Close {
		gap = -CloseGap
	}
	x, tallest := l.left(), 0.0
	for _, s := range p.Scenes {
		for more := true; more; {
			if x > l.left() && x+s.Width > l.right()+0.1 {
				l.y += tallest + gap
				x, tallest = l.left(), 0
			}
			shortest := s.Height
			if len(s.Breaks) > 0 {
				shortest = min(s.Height, 0.6*(l.bottom()-l.top()))
			}
			if shortest > l.room() && !l.empty() {
				l.newPage()
				x, tallest = l.left(), 0
			}
			var piece drawing.Scene
			piece, s, more = s.Cut(l.room())
			l.scene(piece, x, l.y)
			tallest = max(tallest, piece.Height)
			x += piece.Width + gap
		}
	}
	l.y += tallest + 3
}

// prints sets photos in rows. A row is not cut, and its captions start on one
// line.
func (l *layout) prints(all Prints) {
	const gap, under, between, rim = 6.0, 1.5, 5.0, 0.2
	columns, tallest := 2, 78.0 // two rows to a page
	switch len(all) {
	case 1:
		columns, tallest = 1, 150
	case 2:
		columns = 1
	}
	width := (l.across() - gap*float64(columns-1)) / float64(columns)
	size := func(p Print) (w, h float64) {
		w, h = width, width*float64(p.Height)/float64(p.Width)
		if h > tallest {
			w, h = w*tallest/h, tallest
		}
		return w, h
	}
	type line struct {
		text string
		s    style
	}
	below := func(p Print) []line {
		var out []line
		add := func(text string, s style) {
			for _, one := range wrap(text, width, s) {
				out = append(out, line{one, s})
			}
		}
		add(p.Caption, strong)
		for _, text := range p.Lines {
			add(text, inTable)
		}
		for _, text := range p.Small {
			add(text, running)
		}
		return out
	}
	for len(all) > 0 {
		row := all[:min(columns, len(all))]
		all = all[len(row):]
		high, text := 0.0, 0.0
		for _, p := range row {
			_, h := size(p)
			high = max(high, h)
			t := 0.0
			for _, one := range below(p) {
				t += one.s.leading()
			}
			text = max(text, t)
		}
		l.need(high + under + text + between)
		for i, p := range row {
			x := l.left() + float64(i)*(width+gap)
			w, h := size(p)
			top := l.y + high - h
			l.within(Element{Kind: figure, Alt: p.Caption}, func() {
				l.add(drawing.Image{At: drawing.XY{X: x, Y: top}, Width: w, Height: h, JPEG: p.JPEG, Title: drawing.Printable(p.Caption)},
					drawing.Rectangle{At: drawing.XY{X: x, Y: top}, Width: w, Height: h, Stroke: drawing.Stroke{Ink: drawing.Grey, Width: rim}})
			})
			y := l.y + high + under
			l.within(Element{Kind: "P"}, func() {
				for _, one := range below(p) {
					l.add(write(one.text, x, y, one.s, drawing.Start))
					y += one.s.leading()
				}
			})
		}
		l.y += high + under + text + between
	}
}

// furnish writes the running head and foot of page i.
func (l *layout) furnish(i int) {
	d := l.doc
	s := &l.pages[i].Scene
	l.width, l.height = s.Width, s.Height
	head := d.Title + " · " + d.Job
	if d.Invented {
		head += " · invented"
	}
	mark := cmp.Or(d.Mark, Draft)
	width := l.across() - drawing.Measure(mark, smallSize, true) - 6
	if l.compact {
		width = l.across()
	}
	y := 8.0
	s.Shapes = append(s.Shapes, write(shorten(head, width, running), l.left(), y, running, drawing.Start), rule(l.left(), y+6, l.right(), y+6, 0.2))
	if !l.compact {
		s.Shapes = append(s.Shapes, write(mark, l.right(), y, runningBig, drawing.End))
	}
	y = l.height - 12.5
	foot := "designed to " + d.Edition + " · made " + d.Made.Format("2 January 2006 15:04 MST")
	if d.Edition == "" {
		foot = "made " + d.Made.Format("2 January 2006 15:04 MST")
	}
	if l.compact {
		s.Shapes = append(s.Shapes, write(mark, l.left(), y+4, runningBig, drawing.Start))
	}
	count := fmt.Sprintf("page %d of %d", i+1, len(l.pages))
	s.Shapes = append(s.Shapes, rule(l.left(), y-1, l.right(), y-1, 0.2),
		write(shorten(foot, l.across()-drawing.Measure(count, smallSize, false)-6, running), l.left(), y, running, drawing.Start),
		write(count, l.right(), y, running, drawing.End))
}

// shorten cuts a text to one line.
func shorten(text string, width float64, s style) string {
	lines := wrap(text, width, s)
	if len(lines) == 1 {
		return lines[0]
	}
	return wrap(text, width-drawing.Measure(" …", s.size, s.bold), s)[0] + " …"
}
