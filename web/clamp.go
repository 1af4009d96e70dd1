package web

// A current clamp put to the proof: six readings, or two recordings, against
// the step of a charge.

import (
	"html/template"
	"net/http"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/quantity"
)

// Ways of proving a clamp.
const (
	byThree      = "three lines"
	byOne        = "one clamp"
	byRecordings = "recordings"
)

// typed is one reading as it was typed.
type typed struct{ Name, Label, Value string }

// typedGroup is readings taken at one moment, or of one thing.
type typedGroup struct {
	Legend string
	Fields []typed
}

// clampForm is what the forms of the page hold.
type clampForm struct {
	Way         string
	Line        string
	Three, One  []typedGroup
	Site, Point table
}

// clampFormOf takes the readings from what was posted.
func clampFormOf(value func(string) string) clampForm {
	group := func(legend, prefix string, labels ...string) typedGroup {
		g := typedGroup{Legend: legend}
		for i, l := range labels {
			name := prefix + "-" + whole(i+1)
			g.Fields = append(g.Fields, typed{name, l, strings.TrimSpace(value(name))})
		}
		return g
	}
	return clampForm{Way: value("way"), Line: value("line"),
		Three: []typedGroup{group("Before the charge, A", "before", "L1", "L2", "L3"), group("During the charge, A", "during", "L1", "L2", "L3"), group("What the point says it takes, A", "takes", "current")},
		One:   []typedGroup{group("The clamp, A", "clamp", "before", "during", "after"), group("The point, A", "point", "before", "during", "after")}}
}

func (s *Server) clamp(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := clampFormOf(r.FormValue)
	f.Way = byThree
	if phases, known := o.Job.Supply.Phases.Get(); known && phases == 1 {
		f.Way = byOne
	}
	return s.renderClamp(w, r, o, http.StatusOK, f, nil, nil)
}

// proveClamp answers the readings with their verdict. Nothing is stored.
func (s *Server) proveClamp(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	site, err := tableOf(r, "site") // first: it reads the form
	f := clampFormOf(r.PostFormValue)
	f.Site = site
	var result demand.ClampResult
	if err == nil {
		f.Point, err = tableOf(r, "point")
	}
	if err == nil {
		result, err = f.prove()
	}
	if err != nil {
		status, lines := explain(err)
		if status == http.StatusInternalServerError {
			return err
		}
		return s.renderClamp(w, r, o, status, f, lines, nil)
	}
	return s.renderClamp(w, r, o, http.StatusOK, f, nil, &result)
}

func (s *Server) renderClamp(w http.ResponseWriter, r *http.Request, o *opened, status int, f clampForm, problems []string, result *demand.ClampResult) error {
	page := struct {
		frame
		Entered  clampForm
		Lines    []string
		Steps    []string
		Problems []string
		Rule     *finding.Finding
		Picture  template.HTML
		Most     int
	}{frame: o.frame(s, r, "Is the clamp right?", "more"), Entered: f, Lines: []string{"L1", "L2", "L3"}, Steps: demand.OnSiteSteps, Problems: problems, Most: mostTable >> 20}
	if result != nil {
		subject := "the clamp"
		if f.Way != byOne {
			subject += ", point on " + f.Line
		}
		found := result.Finding(subject)
		page.Rule = &found
		if len(result.Fit) > 0 {
			scene := drawing.ClampFit("clamp", capital(subject), *result)
			page.Picture = picture(scene, false)
		}
	}
	return render(w, status, "clamp.html", page)
}

// prove judges what was entered.
func (f clampForm) prove() (demand.ClampResult, error) {
	switch f.Way {
	case byOne:
		clamp, err := f.One[0].amperes()
		if err != nil {
			return demand.ClampResult{}, err
		}
		point, err := f.One[1].amperes()
		if err != nil {
			return demand.ClampResult{}, err
		}
		return demand.OnSiteOne([3]float64(clamp), [3]float64(point)), nil
	case byThree, byRecordings:
	default:
		return demand.ClampResult{}, refuse(http.StatusUnprocessableEntity, "Say first how the clamp is proved.")
	}
	line, known := map[string]int{"L1": 0, "L2": 1, "L3": 2}[f.Line]
	if !known {
		return demand.ClampResult{}, refuse(http.StatusUnprocessableEntity, "Say which line feeds the point: L1, L2 or L3.")
	}
	if f.Way == byRecordings {
		return f.proveRecordings(line)
	}
	var v [3][]float64
	for i, g := range f.Three {
		var err error
		if v[i], err = g.amperes(); err != nil {
			return demand.ClampResult{}, err
		}
	}
	return demand.OnSiteThree([3]float64(v[0]), [3]float64(v[1]), quantity.Amperes(v[2][0]), line), nil
}

// amperes reads the readings of a group.
func (g typedGroup) amperes() ([]float64, error) {
	var out []float64
	for _, t := range g.Fields {
		a, err := quantity.ParseAmperes(t.Value)
		if err != nil {
			return nil, refuse(http.StatusUnprocessableEntity, "%s, %s: %v", g.Legend, t.Label, err)
		}
		out = append(out, float64(a))
	}
	return out, nil
}

func (f clampForm) proveRecordings(line int) (demand.ClampResult, error) {
	var logs [2]*demand.Log
	for i, t := range []table{f.Site, f.Point} {
		if t.Name == "" {
			return demand.ClampResult{}, refuse(http.StatusUnprocessableEntity, "Choose both recordings: the site's and the point's.")
		}
		var err error
		// Only the distance between the two matters, so any zone will do.
		if logs[i], err = demand.ReadLog(t.Name, t.text, demand.Columns{}, demand.Setting{Zone: time.UTC, Phases: 3}); err != nil {
			return demand.ClampResult{}, wrong(err)
		}
	}
	result, err := demand.ProveLogs(logs[0], logs[1], line)
	if err != nil {
		return result, wrong(err)
	}
	return result, nil
}
