package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
)

// testSheet is every reading in the order it is taken, with what it should be
// and room to write down what it is.
func testSheet(m *model.Model, es []prove.Expectation, made time.Time) *document.Document {
	d := newDocument(m, made, "Test sheet", "Every reading in the order it is taken, dead before live: what it should be, its limit, and room for what it is.")
	d.Sheet = document.A4Across
	d.Sections = []document.Section{
		{Heading: "First: make it dead, and prove it", Blocks: []document.Block{
			document.Caution{Head: "Safe isolation", Lines: []string{
				"Find the right point of isolation. Switch off, lock off, keep the key, hang the notice.",
				"Prove the two-pole tester on a known source or proving unit. Test every pair: line to neutral, line to earth, neutral to earth; on three phases all " +
					"ten pairs. Prove the tester again.",
				"Electricity at Work Regulations 1989 regulations 12 to 14; probes and leads to HSE guidance GS38 (from memory). Only a person competent for it " +
					"tests, and live tests only where they cannot be done dead."}},
			document.Paragraph{Text: "A band is where the reading should lie, the stroke in it the most likely value, the post the limit with its foot on the " +
				"side that is allowed, a dot a reading already entered. Two strokes across the line: not to scale beyond. A reading outside its band is not yet a " +
				"failure and one inside it is no pass: it says whether this is the circuit that was designed."},
			instruments(m),
			document.Lines{"Tested by", "Date", "Air temperature", "Proving unit checked"},
		}},
	}
	methods := &methodList{}
	for _, stage := range []struct{ key, heading string }{{"dead", "Dead tests"}, {"live", "Live tests: only when every dead test is done and met"}} {
		t := readingTable()
		from := len(methods.rows)
		for _, e := range es {
			if e.Stage == stage.key {
				t.Rows = append(t.Rows, readingRow(e, methods.letter(e)))
			}
		}
		if len(t.Rows) == 0 {
			continue
		}
		blocks := []document.Block{}
		if len(methods.rows) > from {
			blocks = append(blocks, document.Subheading{Text: "How they are taken"}, methods.table(from), document.Subheading{Text: "Readings"})
		}
		d.Sections = append(d.Sections, document.Section{Heading: stage.heading, NewPage: stage.key == "live", Blocks: append(blocks, t)})
	}
	return d
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
	return document.Table{Columns: []document.Column{{Head: "No.", Share: 11, Right: true}, {Head: "Reading", Share: 38}, {Head: "How", Share: 10},
		{Head: "Where", Share: 34},
		{Head: "Expected: low – most likely – high", Share: 44}, {Head: "Limit", Share: 24}, {Head: "Band", Share: 50},
		{Head: "Read", Share: 30, Boxed: true}, {Head: "Instrument, by, time", Share: 38, Boxed: true}}}
}

func readingRow(e prove.Expectation, letter string) document.Row {
	band := drawing.BandPicture(e)
	limit := ""
	if !e.Limit.IsZero() {
		limit = e.LimitIs + " " + e.Limit.String()
	}
	read := document.Cell{}
	if e.Taken != "" {
		read.Text = "entered: " + e.Taken
	}
	row := document.Row{Cells: []document.Cell{{Text: fmt.Sprint(e.Order)}, {Text: capital(e.Reading), Bold: true}, {Text: letter}, {Text: e.At},
		{Text: expectedText(e)}, {Text: limit}, {Picture: &band}, read, {}}, Least: 11}
	if e.Means != "" {
		row.Under = append(row.Under, document.Note{Label: "tells", Text: e.Means})
	}
	if !e.Known() {
		row.Under = append(row.Under, document.Note{Label: "not known", Text: e.Missing.String()})
	}
	return row
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
	return "no number"
}

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
	n := len(l.rows)
	letter := string(rune('a' + n%26))
	if n >= 26 {
		letter += fmt.Sprint(n / 26)
	}
	l.by[key] = letter
	l.rows = append(l.rows, method{letter, e.Reading, e.How, e.Caution})
	return letter
}

func (l *methodList) table(from int) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "", Share: 8}, {Head: "Reading", Share: 44},
		{Head: "Instrument, and where to connect it", Share: 118}, {Head: "Care", Share: 100}}}
	for _, m := range l.rows[from:] {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: m.letter, Bold: true}, {Text: capital(m.reading)}, {Text: capital(m.how)},
			{Text: capital(m.caution)}}})
	}
	return t
}
