package paper

import (
	"strconv"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/trade"
)

// itemData is one item of a paper as data.
type itemData struct {
	Part  string `json:"part,omitempty"`
	Field string `json:"field"`
	What  string `json:"what"`
	Value string `json:"value"`
	Note  string `json:"note,omitempty"`
}

func (list items) data(part string) []itemData {
	out := []itemData{}
	for _, i := range list {
		if i.what != "" {
			out = append(out, itemData{part, i.key, i.what, i.value, i.note})
		}
	}
	return out
}

// itemRows is items as a table.
func itemRows(list []itemData) [][]string {
	rows := [][]string{{"part", "field", "what", "value", "note"}}
	for _, i := range list {
		rows = append(rows, []string{i.Part, i.Field, i.What, i.Value, i.Note})
	}
	return rows
}

// certificateData is every item of the certificate as data.
func certificateData(m *model.Model, fs []finding.Finding, es []prove.Expectation) []itemData {
	c := newCertificate(m, fs, es, nil)
	if m.Job.Certificate.Work.Or("") == trade.MinorWorks {
		w := c.minor()
		out := append(w.general.data("the work"), w.earthing.data("earthing")...)
		for _, one := range w.circuits {
			out = append(append(out, one.circuit.data("circuit "+one.name)...), one.tests.data("circuit "+one.name)...)
		}
		return append(out, w.signing.data("declaration")...)
	}
	p := c.contents()
	out := p.particulars.data("the work")
	for _, more := range [][]itemData{p.signing.data("declarations"), p.supply.data("supply"), p.earthing.data("earthing"), p.decisions.data("decisions"),
		p.instruments.data("instruments"), p.copies.data("copies")} {
		out = append(out, more...)
	}
	for _, i := range p.inspections {
		out = append(out, itemData{"inspections", i.key, string(i.item), ifKnown("%v", i.found.Outcome), i.found.Note})
	}
	for _, s := range p.schedules {
		out = append(out, s.items.data("board "+s.board.Record.Name)...)
		for _, one := range s.circuits {
			about := "circuit " + one.circuit.Record.Name
			out = append(append(out, one.details.data(about)...), one.results.data(about)...)
		}
	}
	return out
}

// readingRows is the readings as they were entered.
func readingRows(j *job.Job) [][]string {
	rows := [][]string{{"at", "reading", "value", "function", "instrument", "leads nulled", "temperature", "who", "when", "note"}}
	for _, r := range j.Readings {
		rows = append(rows, []string{r.At, r.Reading, r.Value, r.Function, r.Instrument, known(r.LeadsNulled), ifKnown("%v", r.Temperature), r.Who, r.When,
			r.Note})
	}
	return rows
}

// circuitData is a circuit as the design sheet prints it.
type circuitData struct {
	Circuit string         `json:"circuit"`
	Facts   document.Facts `json:"facts"`
	Legs    []legData      `json:"legs"`
}

type legData struct {
	Leg    string   `json:"leg"`
	Length *float64 `json:"length"` // m
	Method string   `json:"method"`
}

func circuitsData(m *model.Model) []circuitData {
	out := []circuitData{}
	for _, c := range m.Circuits {
		d := circuitData{Circuit: c.Record.Name, Facts: circuitFacts([]*part{{circuit: c}}), Legs: []legData{}}
		for _, l := range c.Legs {
			leg := legData{Leg: l.ShortName(), Method: ifKnown("%s", l.Record.Method)}
			if length, ok := l.Record.Length.Get(); ok {
				metres := float64(length)
				leg.Length = &metres
			}
			d.Legs = append(d.Legs, leg)
		}
		out = append(out, d)
	}
	return out
}

// findingRows is findings as a table of plain numbers.
func findingRows(fs []finding.Finding) [][]string {
	rows := [][]string{{"clause", "subject", "what", "value", "limit", "unit", "margin", "margin unit", "verdict", "why", "next", "source"}}
	for _, f := range fs {
		unit := f.Value.Unit
		if f.Value.IsZero() {
			unit = f.Limit.Unit
		}
		rows = append(rows, []string{f.Clause.Name, f.Subject, f.What, figure(f.Value), figure(f.Limit), unit, figure(f.Margin), f.Margin.Unit,
			f.Words(), f.Why.String(), f.Next, f.Source.String()})
	}
	return rows
}

// expectationRows is expectations as a table of plain numbers, with empty
// columns for what will be read.
func expectationRows(es []prove.Expectation) [][]string {
	rows := [][]string{{"order", "stage", "reading", "at", "low", "mid", "high", "limit", "limit is", "unit", "clause", "tells", "how", "caution", "missing",
		"taken", "read", "instrument", "by", "time"}}
	for _, e := range es {
		rows = append(rows, []string{strconv.Itoa(e.Order), e.Stage, e.Reading, e.At, figure(e.Low), figure(e.Mid), figure(e.High), figure(e.Limit), e.LimitIs,
			e.Unit(),
			e.Clause.Name, e.Means, e.How, e.Caution, e.Missing.String(), e.Taken, "", "", "", ""})
	}
	return rows
}

func figure(a finding.Amount) string {
	n := a.Pointer()
	if n == nil {
		return ""
	}
	return strconv.FormatFloat(*n, 'g', -1, 64)
}
