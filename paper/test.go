package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
)

// testSheet is every reading in the order it is taken, with what it should be
// and room to write down what it is. Points that are read alike are told once,
// with a place for each reading of each.
func testSheet(m *model.Model, es []prove.Expectation, made time.Time) *document.Document {
	d := newDocument(m, made, "Test sheet", "Every reading in the order it is taken, dead before live: what it should be, its limit, and room for what it is.")
	d.Sections = []document.Section{
		{Blocks: []document.Block{
			document.Caution{Head: "First: make it dead, and prove it", Lines: []string{
				"Find the right point of isolation. Switch off, lock off, keep the key, hang the notice.",
				"Prove the two-pole tester on a known source or proving unit. Test every pair: line to neutral, line to earth, neutral to earth; on three phases all " +
					"ten pairs. Prove the tester again.",
				"Electricity at Work Regulations 1989 regulations 12 to 14; probes and leads to HSE guidance GS38 (from memory). Only a person competent for it " +
					"tests, and live tests only where they cannot be done dead."}},
			document.Paragraph{Small: true, Text: "A band is where the reading should lie, the stroke in it the most likely value, the post the limit with its foot " +
				"on the side that is allowed, a dot a reading already entered. Two strokes across the line: not to scale beyond. A reading outside its band is " +
				"not yet a failure and one inside it is no pass: it says whether this is the circuit that was designed."},
			instruments(m),
			document.Lines{"Tested by, date", "Air temperature, proving unit checked"},
		}},
	}
	methods := &methodList{}
	like := likePlaces(m, es)
	for _, stage := range []struct{ key, heading string }{{"dead", "Dead tests"}, {"live", "Live tests: only when every dead test is done and met"}} {
		t := readingTable()
		from := len(methods.rows)
		var grids []document.Block
		for _, places := range like {
			if g := readingGrid(es, stage.key, places, methods); len(g.Rows) > 0 {
				grids = append(grids, document.Subheading{Text: drawing.Names(places) + ": alike, a place for each reading"}, g)
			}
		}
		for _, e := range es {
			if e.Stage == stage.key && !slices.ContainsFunc(like, func(places []string) bool { return contains(places, e.At) }) {
				t.Rows = append(t.Rows, readingRow(e, methods.letter(e)))
			}
		}
		if len(t.Rows)+len(grids) == 0 {
			continue
		}
		var blocks []document.Block
		if len(methods.rows) > from {
			blocks = append(blocks, methods.table(from))
		}
		if len(t.Rows) > 0 {
			blocks = append(blocks, t)
		}
		d.Sections = append(d.Sections, document.Section{Heading: stage.heading, Blocks: blocks})
		if len(grids) > 0 {
			d.Sections = append(d.Sections, document.Section{Across: true, Blocks: grids})
		}
	}
	return d
}

// fewAlike is how many places that are read alike are told one by one.
const fewAlike = 2

// likePlaces is the points of which the very same readings are taken, where they
// are more than a few.
func likePlaces(m *model.Model, es []prove.Expectation) [][]string {
	read := map[string]string{}
	for _, e := range es {
		read[e.At] += e.Stage + " " + e.Reading + "\n"
	}
	var out [][]string
	at := map[string]int{}
	for _, p := range m.Points {
		name := p.Record.Name
		i, met := at[read[name]]
		switch {
		case read[name] == "":
		case met:
			out[i] = append(out[i], name)
		default:
			at[read[name]] = len(out)
			out = append(out, []string{name})
		}
	}
	return slices.DeleteFunc(out, func(places []string) bool { return len(places) <= fewAlike })
}

// mostColumns is how many readings stand side by side in a grid.
const mostColumns = 8

// readingGrid is the readings of one stage at places alike: a line for each
// place, a column for each reading with its limit, and in each cell what is
// expected there, or what was read. Where the readings are many, a place has
// several lines.
func readingGrid(es []prove.Expectation, stage string, places []string, methods *methodList) document.Table {
	var kinds []string
	by := map[[2]string]prove.Expectation{}
	for _, e := range es {
		if e.Stage != stage || !contains(places, e.At) {
			continue
		}
		if by[[2]string{e.Reading, e.At}] = e; !contains(kinds, e.Reading) {
			kinds = append(kinds, e.Reading)
		}
	}
	t := document.Table{Small: true, Columns: []document.Column{{Head: "At", Share: 16}}}
	if len(kinds) == 0 {
		return t
	}
	turns := (len(kinds) + mostColumns - 1) / mostColumns
	across := (len(kinds) + turns - 1) / turns
	for range across {
		t.Columns = append(t.Columns, document.Column{Share: 30, Boxed: true})
	}
	for turn := range turns {
		here := kinds[turn*across : min(len(kinds), (turn+1)*across)]
		head := document.Row{Cells: make([]document.Cell, across+1)}
		for i, k := range here {
			e := by[[2]string{k, places[0]}]
			head.Cells[i+1] = document.Cell{Text: capital(k) + before(" (", closing(methods.letter(e))) + before(", ", commonLimit(by, k, places)), Bold: true}
		}
		t.Rows = append(t.Rows, head)
		for _, place := range places {
			row := document.Row{Cells: make([]document.Cell, across+1), Least: 9}
			row.Cells[0] = document.Cell{Text: place, Bold: true}
			for i, k := range here {
				e := by[[2]string{k, place}]
				said := expectedText(e)
				if commonLimit(by, k, places) == "" {
					said = join(said, limitText(e))
				}
				if e.Taken != "" {
					said = join("read "+e.Taken, said)
				}
				row.Cells[i+1] = document.Cell{Text: said}
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// commonLimit is the limit of a reading where it is the same at all places.
func commonLimit(by map[[2]string]prove.Expectation, kind string, places []string) string {
	first := limitText(by[[2]string{kind, places[0]}])
	for _, p := range places {
		if limitText(by[[2]string{kind, p}]) != first {
			return ""
		}
	}
	return first
}

func limitText(e prove.Expectation) string {
	if e.Limit.IsZero() {
		return ""
	}
	return e.LimitIs + " " + e.Limit.String()
}

// instruments is the test instruments of the record.
func instruments(m *model.Model) document.Block {
	if len(m.Job.Instruments) == 0 {
		return document.Lines{"Instrument, serial number", "Calibrated until", "Instrument, serial number", "Calibrated until"}
	}
	t := document.Table{Columns: []document.Column{{Head: "Instrument", Share: 60}, {Head: "Kind", Share: 40}, {Head: "Serial number", Share: 40},
		{Head: "Calibrated until", Share: 40}, {Head: "Leads nulled", Share: 30}}}
	for i := range m.Job.Instruments {
		n := &m.Job.Instruments[i]
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(n.Name, written(n.Kind), written(n.Serial), written(n.CalibratedUntil), yesNo(n.LeadsNulled))})
	}
	return t
}

func readingTable() document.Table {
	return document.Table{Small: true, Columns: []document.Column{{Head: "", Share: 8, Right: true}, {Head: "Reading, and how", Share: 34},
		{Head: "Expected: low – most likely – high, and what it tells", Share: 63}, {Head: "Band", Share: 47},
		{Head: "Read", Share: 20, Boxed: true}, {Head: "With, by, time", Share: 20, Boxed: true}}}
}

func readingRow(e prove.Expectation, letter string) document.Row {
	band := drawing.BandPicture(e)
	read := document.Cell{}
	if e.Taken != "" {
		read.Text = "entered: " + e.Taken
	}
	said := join(expectedText(e), limitText(e))
	if said == noNumber && e.Means != "" {
		said = ""
	}
	if !e.Known() {
		said += ": " + e.Missing.String()
	}
	if e.Means != "" {
		said = capital(strings.TrimPrefix(said+". "+capital(e.Means), ". "))
	}
	return document.Row{Cells: []document.Cell{{Text: fmt.Sprint(e.Order)}, {Text: capital(e.Reading) + ", " + e.At + before(" (", closing(letter)), Bold: true},
		{Text: said}, {Picture: &band}, read, {}}, Least: 9}
}

// expectedText is the band in figures, the unit once.
func expectedText(e prove.Expectation) string {
	switch {
	case !e.Known():
		return notKnown
	case !e.Low.IsZero() && !e.High.IsZero():
		return span(e.Low, e.Mid, e.High)
	case !e.Low.IsZero():
		return e.Low.String() + " or more"
	case !e.High.IsZero():
		return "up to " + e.High.String()
	case !e.Mid.IsZero():
		return e.Mid.String()
	}
	return noNumber
}

// noNumber is what is expected of a thing seen.
const noNumber = "no number"

// span joins amounts with dashes and takes the unit out of all but the last
// where they share it.
func span(amounts ...finding.Amount) string {
	var texts, units []string
	for _, a := range amounts {
		if a.IsZero() {
			continue
		}
		number, unit, _ := strings.Cut(a.String(), " ")
		texts, units = append(texts, number), append(units, unit)
	}
	same := true
	for _, u := range units {
		same = same && (u == units[len(units)-1])
	}
	for i := range texts {
		if !same || i == len(texts)-1 {
			texts[i] += " " + units[i]
		}
	}
	return strings.Join(texts, " – ")
}

// methodList is the ways readings are taken, each once, by letter.
type methodList struct {
	rows []method
	by   map[[2]string]string
}

type method struct{ letter, reading, how, caution string }

// letter returns the letter of the way a reading is taken.
func (l *methodList) letter(e prove.Expectation) string {
	if e.How == "" && e.Caution == "" {
		return ""
	}
	if l.by == nil {
		l.by = map[[2]string]string{}
	}
	key := [2]string{e.How, e.Caution}
	if letter, ok := l.by[key]; ok {
		return letter
	}
	letter := letterOf(len(l.rows))
	l.by[key] = letter
	l.rows = append(l.rows, method{letter, e.Reading, e.How, e.Caution})
	return letter
}

func (l *methodList) table(from int) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Share: 6}, {Share: 174}}}
	for _, m := range l.rows[from:] {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: m.letter, Bold: true},
			{Text: capital(m.reading) + before(": ", m.how) + before(". Care: ", m.caution) + "."}}})
	}
	return t
}
