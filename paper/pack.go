package paper

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
)

// File is one file of the pack.
type File struct {
	Name    string
	Content []byte
}

// Pack makes the papers of a job: design sheet, test sheet, settings card and
// job summary as PDF with their data beside them, and the drawings as SVG. It
// opens nothing and reads no clock; the same job at the same time makes the
// same bytes.
func Pack(m *model.Model, fs []finding.Finding, es []prove.Expectation, made time.Time) ([]File, error) {
	k := &packer{}
	head := header{Job: m.Job.Name, Edition: string(m.Job.Edition), Invented: m.Job.Invented, Made: made.Format(time.RFC3339), Draft: draft}
	cards := settings(m, fs)
	steps := nextSteps(fs)
	numbers := mainNumbers(m, parts(m, fs))

	k.pdf("design-sheet.pdf", designSheet(m, fs, made))
	k.csv("design-sheet.csv", findingRows(fs))
	k.json("design-sheet.json", struct {
		header
		Supply      Facts             `json:"supply"`
		Circuits    []circuitData     `json:"circuits"`
		Findings    []finding.Finding `json:"findings"`
		Assumptions []string          `json:"assumptions"`
		Assumed     Facts             `json:"assumedInTheRecord"`
	}{head, supplyFacts(m), circuitsData(m), orEmpty(fs), orEmpty(m.Assumptions), orEmpty(assumedFacts(m))})

	k.pdf("test-sheet.pdf", testSheet(m, es, made))
	k.csv("test-sheet.csv", expectationRows(es))
	k.json("test-sheet.json", struct {
		header
		Expectations []prove.Expectation `json:"expectations"`
	}{head, orEmpty(es)})

	k.pdf("settings-card.pdf", settingsCard(m, cards, made))
	k.json("settings-card.json", struct {
		header
		Cards []settingsOf `json:"cards"`
	}{head, orEmpty(cards)})

	k.pdf("job-summary.pdf", jobSummary(m, fs, steps, numbers, made))
	k.json("job-summary.json", struct {
		header
		Verdicts map[string]int `json:"verdicts"`
		Next     []next         `json:"next"`
		Points   []pointNumbers `json:"points"`
	}{head, counts(fs), orEmpty(steps), orEmpty(numbers)})

	k.json("findings.json", finding.Report{Job: m.Job.Name, Edition: string(m.Job.Edition), Findings: fs})
	k.json("expectations.json", prove.Report{Job: m.Job.Name, Expectations: es})
	for _, s := range drawing.StreetToVehicle(m, fs) {
		k.svg(s)
	}
	for _, p := range m.Points {
		k.svg(drawing.Elevation(m, p))
	}
	return k.files, k.err
}

// header opens every data file.
type header struct {
	Job      string `json:"job"`
	Edition  string `json:"edition"`
	Invented bool   `json:"invented"`
	Made     string `json:"made"`
	Draft    string `json:"draft"`
}

// packer gathers files until the first that cannot be made.
type packer struct {
	files []File
	err   error
}

func (k *packer) add(name string, content []byte, err error) {
	if err != nil && k.err == nil {
		k.err = fmt.Errorf("pack %s: %w", name, err)
	}
	for i := 2; k.has(name); i++ { // points whose names differ only in signs
		stem, ending, _ := strings.Cut(name, ".")
		if i > 2 {
			stem = stem[:strings.LastIndexByte(stem, '-')]
		}
		name = fmt.Sprintf("%s-%d.%s", stem, i, ending)
	}
	k.files = append(k.files, File{name, content})
}

func (k *packer) has(name string) bool {
	for _, f := range k.files {
		if f.Name == name {
			return true
		}
	}
	return false
}

func (k *packer) pdf(name string, d *Document) {
	var b bytes.Buffer
	err := d.PDF(&b)
	k.add(name, b.Bytes(), err)
}

func (k *packer) json(name string, v any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	k.add(name, b.Bytes(), err)
}

func (k *packer) csv(name string, rows [][]string) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	err := w.WriteAll(rows)
	k.add(name, b.Bytes(), err)
}

func (k *packer) svg(s drawing.Scene) { k.add(s.Name+".svg", s.SVG(), nil) }

func orEmpty[L ~[]E, E any](list L) L {
	if list == nil {
		return L{}
	}
	return list
}

func counts(fs []finding.Finding) map[string]int {
	s := finding.Summarise(fs)
	return map[string]int{finding.Meets.String(): s.Meets, finding.Fails.String(): s.Fails, finding.NotKnown.String(): s.NotKnown, finding.JudgeOnSite.String(): s.JudgeOnSite}
}

// circuitData is a circuit as the design sheet prints it.
type circuitData struct {
	Circuit string    `json:"circuit"`
	Facts   Facts     `json:"facts"`
	Legs    []legData `json:"legs"`
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
		rows = append(rows, []string{f.Clause, f.Subject, f.What, figure(f.Value), figure(f.Limit), unit, figure(f.Margin), f.Margin.Unit, f.Verdict.String(), f.Why.String(), f.Next, f.Source.String()})
	}
	return rows
}

// expectationRows is expectations as a table of plain numbers, with empty
// columns for what will be read.
func expectationRows(es []prove.Expectation) [][]string {
	rows := [][]string{{"order", "stage", "reading", "at", "low", "mid", "high", "limit", "limit is", "unit", "clause", "tells", "how", "caution", "missing", "taken", "read", "instrument", "by", "time"}}
	for _, e := range es {
		rows = append(rows, []string{strconv.Itoa(e.Order), e.Stage, e.Reading, e.At, figure(e.Low), figure(e.Mid), figure(e.High), figure(e.Limit), e.LimitIs, e.Unit(),
			e.Clause, e.Means, e.How, e.Caution, strings.Join(e.Missing, "; "), e.Taken, "", "", "", ""})
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
