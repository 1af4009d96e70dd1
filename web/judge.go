package web

// What a reading says: its dot on the band and its verdict the moment it is
// keyed, then what explains it, together with everything read before.

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/reading"
	"chargewright/works"
)

// judged is a reading held against what was expected of it.
type judged struct {
	Value   string
	Word    string // how it stands, in a word or two
	Aside   string // beside it, smaller: by how much, or what was expected
	Bad     bool
	Ruler   template.HTML
	Says    string           // all of it in words
	Rule    *finding.Finding // the limit it is judged by; nil where it has none
	Explain *explained
}

// judge holds a value against an expectation. Only with why is it also
// explained, which takes longer.
func (o *opened) judge(e prove.Expectation, value string, why bool) (judged, error) {
	recorded := e.Taken
	e.Taken = value
	j := judged{Value: value, Says: drawing.BandPicture(e).Description}
	if value == "" {
		j.Ruler = largeRuler(e, false)
		return j, nil
	}
	m := o.Model
	if value != recorded { // it is keyed anew: what it takes the place of is no evidence
		m = o.with(works.Reading{At: e.At, Reading: e.Reading, Value: value})
	}
	found, err := prove.Judge(m)
	if err != nil {
		return j, err
	}
	at := prove.PathAt(m, e.At)
	for i, r := range m.Job.Readings { // the last of its kind there is the one that counts
		if v, wrong := r.Shown(); reading.Same(r.Reading, e.Reading) && found[i].Path == at && (wrong != nil || v.Is != reading.NotDone || r.Value == value) {
			j.Rule = &found[i]
		}
	}
	j.word(e)
	j.Ruler = largeRuler(e, j.Bad, o.struckNumbers(e)...)
	if why {
		if j.Explain, err = o.explain(m); err == nil {
			j.Explain.Rule, j.Explain.Means = j.Rule, e.Means
			for _, was := range o.struck(e) {
				if text := e.PutRight(was.Value, value); text != "" {
					j.Explain.Flags = append(j.Explain.Flags, text)
				}
			}
		}
	}
	return j, err
}

// word says how a reading stands: by its limit where it does not meet it, else
// by its band, else as it was seen.
func (j *judged) word(e prove.Expectation) {
	fit := e.Fit(j.Value)
	j.Word, j.Bad = fit.String(), fit.Misfits()
	if k := e.Kind(); k != nil {
		if v, err := k.Parse(j.Value); err == nil && (k.Seen() || v.Is == reading.NoTrip || v.Is == reading.Open) {
			j.Word, j.Bad = capital(j.Value), v.Is != reading.Right
		}
	}
	if j.Bad && j.Word == fit.String() {
		if number, _ := figureAndUnit(e.Mid.String(), ""); number != "" {
			j.Aside = "expected " + number
		}
	}
	if j.Rule == nil {
		return
	}
	switch j.Rule.Verdict {
	case finding.Fails:
		j.Bad = true
		if !j.Rule.Limit.IsZero() {
			j.Word, j.Aside = "Fails", "by "+strings.TrimLeft(j.Rule.Margin.String(), "-−")
		}
	case finding.JudgeOnSite:
		j.Word, j.Aside = "Judge on site", j.Rule.Limit.String()
	case finding.Meets:
		if j.Word == "" {
			j.Word = "Meets"
		}
	}
}

// with returns the model of the job with one reading more, in the place of the
// one of its kind there.
func (o *opened) with(r works.Reading) *model.Model {
	more := *o.Job
	more.Readings = slices.DeleteFunc(slices.Clone(o.Job.Readings), func(was works.Reading) bool { return was.At == r.At && was.Reading == r.Reading })
	more.Readings = append(more.Readings, r)
	m := model.New(&more, o.Model.Rules)
	m.While = o.Model.While
	return m
}

// explained is what explains the readings of a job.
type explained struct {
	Rule   *finding.Finding // of the reading asked about, if it is one
	Means  string
	Flags  []string
	Sound  bool
	Causes []causeRow
	Gone   []prove.Exclusion // causes that a reading took off the list
	Next   *prove.Test
	URL    string // of the next test, where it is one of the sequence
}

// Danger is the first danger among what may explain the readings.
func (e *explained) Danger() string {
	for _, c := range e.Causes {
		if !e.Sound && c.Danger != "" {
			return c.Danger
		}
	}
	return ""
}

// Deed is what to do first: what a limit asks for, or the test that tells most.
func (e *explained) Deed() string {
	switch {
	case e.Rule != nil && e.Rule.Verdict == finding.Fails && e.Rule.Next != "":
		return e.Rule.Next
	case !e.Sound && e.Next != nil:
		return e.Next.Reading + " at " + e.Next.At + ": " + e.Next.How
	}
	return ""
}

// Shown is the limit that a reading is held to, where it has one.
func (j judged) Shown() *finding.Finding {
	if j.Rule == nil || j.Rule.Verdict == finding.NotKnown {
		return nil
	}
	return j.Rule
}

type causeRow struct {
	prove.Cause
	Chance string
}

const (
	mostCauses  = 3
	leastChance = 0.02
)

func (o *opened) explain(m *model.Model) (*explained, error) {
	e, err := prove.Explain(m, prove.UsualPriors())
	if err != nil {
		return nil, err
	}
	out := &explained{Flags: e.Flags, Sound: e.Sound(), Gone: e.Excluded[:min(mostCauses, len(e.Excluded))], Next: e.NextTest}
	for i, c := range e.Causes {
		if i < mostCauses && (i == 0 || c.Probability >= leastChance) {
			out.Causes = append(out.Causes, causeRow{c, fmt.Sprintf("%.0f %%", 100*c.Probability)})
		}
	}
	if out.Next != nil {
		out.URL = "/jobs/" + o.ID + "/reading?" + url.Values{"at": {out.Next.At}, "reading": {out.Next.Reading}, "function": {out.Next.Function}}.Encode()
	}
	return out, nil
}

// why is the page of what explains the readings.
func (s *Server) why(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	e, err := o.explain(o.Model)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "why.html", struct {
		Frame
		Explain *explained
		Taken   int
	}{o.frame(s, r, "What explains the readings", "readings"), e, len(o.Job.Readings)})
}
