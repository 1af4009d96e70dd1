package web

// The maximum demand of a job three ways: by the published allowances, by a
// recording, by simulated years; and whether the network operator is told or
// asked.

import (
	"html/template"
	"net/http"
	"strconv"

	"chargewright/demand"
	"chargewright/design"
	"chargewright/drawing"
	"chargewright/finding"
)

// lineRow is the current in one line, without the points and with them.
type lineRow struct{ Line, Before, InFull, Held string }

// estimateRows is one estimate as the page shows it.
type estimateRows struct {
	demand.Estimate
	Lines []lineRow
}

// demandForm is what the form of the page holds.
type demandForm struct {
	Recorded recordedForm
	Runs     runsForm
}

// demandAnswer is what was found.
type demandAnswer struct {
	report design.DemandReport
	scene  drawing.Scene
}

func (s *Server) demand(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := demandForm{Recorded: recordedOf(table{}, r.FormValue)}
	f.Runs, _, _, _ = s.runsOf(func(string) string { return "" })
	return s.renderDemand(w, r, o, http.StatusOK, f, nil, demandAnswer{report: design.ReportDemand(o.Model, nil, nil)})
}

// workOutDemand answers a recording and simulated years. Nothing is stored.
func (s *Server) workOutDemand(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	file, err := tableOf(r, "recording") // first: it reads the form
	f := demandForm{Recorded: recordedOf(file, r.PostFormValue)}
	var runs int
	var seed uint64
	if err == nil {
		f.Runs, runs, seed, err = s.runsOf(r.PostFormValue)
	}
	var answer demandAnswer
	if err == nil {
		answer, err = s.findDemand(o, f.Recorded, runs, seed)
	}
	if err != nil {
		status, lines := explain(err)
		if status == http.StatusInternalServerError {
			return err
		}
		return s.renderDemand(w, r, o, status, f, lines, demandAnswer{report: design.ReportDemand(o.Model, nil, nil)})
	}
	return s.renderDemand(w, r, o, http.StatusOK, f, nil, answer)
}

// findDemand finds the demand from a recording, if there is one, and from runs.
func (s *Server) findDemand(o *opened, f recordedForm, runs int, seed uint64) (demandAnswer, error) {
	log, zone, err := f.read(o)
	if err != nil {
		return demandAnswer{}, err
	}
	plan := demand.YearPlan(log, zone)
	plan.While = o.Model.While
	prepared := demand.Prepare(o.Model, plan)
	study, worst, err := s.studied(prepared, runs, seed)
	if err != nil {
		return demandAnswer{}, err
	}
	a := demandAnswer{report: design.ReportDemand(o.Model, log, study)}
	if len(prepared.Lacks) == 0 {
		day, err := prepared.RunDay(seed)
		if err != nil {
			return a, wrong(err)
		}
		a.scene = drawing.DemandSheet(o.Model, prepared, day, worst)
	}
	return a, nil
}

func (s *Server) renderDemand(w http.ResponseWriter, r *http.Request, o *opened, status int, f demandForm, problems []string, a demandAnswer) error {
	page := struct {
		Frame
		Entered   demandForm
		Problems  []string
		Estimates []estimateRows
		Rules     []finding.Finding
		Report    design.DemandReport
		Picture   template.HTML
		Alone     bool
	}{Frame: o.frame(s, r, "Maximum demand", "more"), Entered: f, Problems: problems, Rules: a.report.Findings, Report: a.report, Alone: s.Away != nil}
	finding.ByUrgency(page.Rules)
	lines := len(o.lineNames())
	for _, e := range a.report.Estimates {
		one := estimateRows{Estimate: e}
		for i := range lines {
			one.Lines = append(one.Lines, lineRow{"L" + strconv.Itoa(i+1), e.Existing[i].String(), e.InFull[i].String(), e.Held[i].String()})
		}
		page.Estimates = append(page.Estimates, one)
	}
	if a.scene.Height > 0 {
		page.Picture = picture(a.scene, false)
	}
	return render(w, status, "demand.html", page)
}
