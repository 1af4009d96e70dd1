package web

// A current clamp put to the proof: six readings, or two recordings, against
// the step of a charge.

import (
	"html/template"
	"net/http"
	"strings"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/ledger"
	"chargewright/quantity"
	"chargewright/works"
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
	Zone        string
	Three, One  []typedGroup
	Site, Point recordedForm
}

// Where the two recordings go, and what their columns may hold.
var (
	siteSlot = slot{Field: "site", Label: "The site's current (CSV): a column a line, or one clamp alone",
		Hint: "Columns: time, and the current, in A. Other headings can be matched once it was sent."}
	pointSlot  = slot{Field: "point", Label: "The point's current (CSV), at the same pace", Hint: siteSlot.Hint}
	siteKinds  = []choice{columnKinds[0], columnKinds[1], {Name: "column-L1", Label: "Current of L1, or of the one clamp, A"}, columnKinds[3], columnKinds[4]}
	pointKinds = []choice{columnKinds[0], columnKinds[1], {Name: "column-L1", Label: "Current of the point, A"}}
)

// recordings takes the recordings from what was posted.
func (f *clampForm) recordings(site, point table, value func(string) string) {
	f.Site, f.Point = readRecorded(siteSlot, "site-", siteKinds, site, value), readRecorded(pointSlot, "point-", pointKinds, point, value)
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
	return clampForm{Way: value("way"), Line: value("line"), Zone: homeZone,
		Three: []typedGroup{group("Before the charge, A", "before", "L1", "L2", "L3"), group("During the charge, A", "during", "L1", "L2", "L3"),
			group("What the point says it takes, A", "takes", "current")},
		One: []typedGroup{group("The clamp, A", "clamp", "before", "during", "after"), group("The point, A", "point", "before", "during", "after")}}
}

func (s *Server) clamp(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := clampFormOf(r.FormValue)
	f.recordings(table{}, table{}, r.FormValue)
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
	in, err := sentWith(r)
	if err != nil {
		return err
	}
	f := clampFormOf(r.PostFormValue)
	f.recordings(in.one("site"), in.one("point"), r.PostFormValue)
	if zone := strings.TrimSpace(r.PostFormValue("zone")); zone != "" {
		f.Zone = zone
	}
	var result demand.ClampResult
	if len(in.wrong) == 0 {
		if result, err = f.prove(ledger.Clamp{Site: f.Site.recording(), Point: f.Point.recording(), Zone: f.Zone}, clampFields); err != nil {
			in.refuse(err)
		}
	}
	if len(in.wrong) > 0 {
		f.Site.Looked, f.Point.Looked = true, true
		return s.renderClamp(w, r, o, in.status, f, in.wrong, nil)
	}
	return s.renderClamp(w, r, o, http.StatusOK, f, nil, &result)
}

func (s *Server) renderClamp(w http.ResponseWriter, r *http.Request, o *opened, status int, f clampForm, problems []string, result *demand.ClampResult) error {
	page := struct {
		Frame
		Entered  clampForm
		Lines    []string
		Steps    []string
		Problems []string
		Rule     *finding.Finding
		Picture  template.HTML
		Most     int
	}{Frame: o.frame(s, r, "Is the clamp right?", "more"), Entered: f, Lines: []string{"L1", "L2", "L3"}, Steps: demand.OnSiteSteps, Problems: problems,
		Most: mostTable >> 20}
	if result != nil {
		found := result.Finding(works.Thing{Name: f.subject()})
		page.Rule = &found
		if len(result.Fit) > 0 {
			scene := drawing.ClampFit("clamp", capital(f.subject()), *result)
			page.Picture = picture(scene, false)
		}
	}
	return render(w, status, "clamp.html", page)
}

// subject is what a finding is about.
func (f clampForm) subject() string {
	if f.Way == byOne {
		return "the clamp"
	}
	return "the clamp, point on " + f.Line
}

// prove judges what was entered: readings, or the recordings. called is what
// the fields are called where they were entered.
func (f clampForm) prove(c ledger.Clamp, called map[string]string) (demand.ClampResult, error) {
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
		return demand.ClampResult{}, Refuse(http.StatusUnprocessableEntity, "Say first how the clamp is proved.")
	}
	line, known := map[string]int{"L1": 0, "L2": 1, "L3": 2}[f.Line]
	if !known {
		return demand.ClampResult{}, Refuse(http.StatusUnprocessableEntity, "Say which line feeds the point: L1, L2 or L3.")
	}
	if f.Way == byRecordings {
		c.Line = line
		return proveRecordings(c, called)
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
			return nil, Refuse(http.StatusUnprocessableEntity, "%s, %s: %v", g.Legend, t.Label, err)
		}
		out = append(out, float64(a))
	}
	return out, nil
}

// clampFields is what the fields are called on the page.
var clampFields = map[string]string{"zone": "Time zone of the site", "clock": "Clock of the site's recording", "point-clock": "Clock of the point's recording"}

func proveRecordings(c ledger.Clamp, called map[string]string) (demand.ClampResult, error) {
	if c.Site.Open == nil || c.Point.Open == nil {
		return demand.ClampResult{}, Refuse(http.StatusUnprocessableEntity, "Choose both recordings: the site's and the point's.")
	}
	result, err := c.Prove()
	if err != nil {
		return result, Refuse(http.StatusUnprocessableEntity, "%s", strings.Join(linesOf(err, called), "\n"))
	}
	return result, nil
}
