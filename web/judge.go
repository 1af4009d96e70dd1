package web

// What a reading says: its dot on the band and its verdict the moment it is
// keyed, then what explains it, together with everything read before.

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/reading"
)

// judged is a reading held against what was expected of it.
type judged struct {
	Value   string
	Band    template.HTML
	Says    string
	Rule    *finding.Finding // the limit it is judged by; nil where it has none
	Explain *explained
}

// judge holds a value against an expectation. Only with why is it also
// explained, which takes longer.
func (o *opened) judge(e prove.Expectation, value string, why bool) (judged, error) {
	recorded := e.Taken
	e.Taken = value
	scene := drawing.BandPicture(e)
	j := judged{Value: value, Band: picture(scene, true), Says: scene.Description}
	if value == "" {
		return j, nil
	}
	m := o.Model
	if value != recorded {
		m = o.with(job.Reading{At: e.At, Reading: e.Reading, Value: value})
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
	if why {
		if j.Explain, err = o.explain(m); err == nil {
			j.Explain.Rule, j.Explain.Means = j.Rule, e.Means
		}
	}
	return j, err
}

// with returns the model of the job with one more reading.
func (o *opened) with(r job.Reading) *model.Model {
	more := *o.Job
	more.Readings = append(slices.Clone(o.Job.Readings), r)
	return model.New(&more, o.Model.Rules)
}

// explained is what explains the readings of a job.
type explained struct {
	Rule   *finding.Finding // of the reading asked about, if it is one
	Means  string
	Flags  []string
	Sound  bool
	Causes []causeRow
	Next   *prove.Test
	URL    string // of the next test, where it is one of the sequence
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
	out := &explained{Flags: e.Flags, Sound: e.Sound(), Next: e.NextTest}
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
