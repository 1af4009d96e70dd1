package web

// The limiters of a job: their proof, the job run through time, and what is
// asked with the meter in hand.

import (
	"errors"
	"html/template"
	"net/http"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/quantity"
)

// limitField is one choice of the runs, as it was typed.
type limitField struct{ Name, Field, Label, Value string }

// limitForm is what the forms of the page hold.
type limitForm struct {
	Recorded recordedForm
	Runs     runsForm
	Fields   []limitField
	Surplus  bool
	Way      string
	Now      []typedGroup
	Watts    string
}

// limitFields are the choices of the runs; Field is how the room of demand
// calls each.
var limitFields = []limitField{
	{"years", "years", "Length of each run, years", "1"}, {"step", "step", "Step of the runs, like 1m or 30s", "1m"},
	{"arrive", "arrive", "Usual time of day at which vehicles come, like 17:30", ""}, {"stay", "stay", "Usual stay, hours", ""},
	{"needs", "needs", "Energy a vehicle usually needs, kWh", ""}, {"daily", "daily", "Share of the days on which a vehicle comes, 0 to 1", ""},
	{"three", "three-phase", "Share of vehicles that charge on three phases, 0 to 1", ""},
	{"onboard", "onboard", "Current of the on-board chargers per line, like 16 A", ""},
	{"rates", "rates", "Tariff, pence for a kWh from times of day on, like 00:00=8.95,05:00=27.4", ""}, {"sun", "sun", "Peak power of a solar array, kW", ""},
}

// limitFormOf takes the choices from what was sent.
func limitFormOf(file table, value func(string) string) limitForm {
	f := limitForm{Recorded: recordedOf(file, value), Surplus: value("surplus") != "", Way: value("way"), Watts: strings.TrimSpace(value("watts"))}
	for _, one := range limitFields {
		if v := strings.TrimSpace(value(one.Name)); v != "" {
			one.Value = v
		}
		f.Fields = append(f.Fields, one)
	}
	for _, g := range []struct{ legend, prefix string }{{"What the supply carries now, A", "supply"}, {"What the point takes now, A", "point"}} {
		group := typedGroup{Legend: g.legend}
		for i, l := range []string{"L1", "L2", "L3"} {
			name := g.prefix + "-" + whole(i+1)
			group.Fields = append(group.Fields, typed{name, l, strings.TrimSpace(value(name))})
		}
		f.Now = append(f.Now, group)
	}
	return f
}

func (f limitForm) said(name string) string {
	for _, one := range f.Fields {
		if one.Name == name {
			return one.Value
		}
	}
	return ""
}

// asked reads the choices of the runs.
func (f limitForm) asked() (demand.Asked, error) {
	a := demand.Asked{Arrive: f.said("arrive"), Onboard: f.said("onboard"), Rates: f.said("rates"), Surplus: f.Surplus}
	if a.Onboard != "" {
		a.Onboard = withUnit(a.Onboard, "A")
	}
	var three float64
	for _, n := range []struct {
		name string
		most float64
		to   *float64
	}{{"years", 10, &a.Years}, {"stay", 240, &a.Stay}, {"needs", 1000, &a.Needs}, {"daily", 1, &a.Daily}, {"three", 1, &three}, {"sun", 1e5, &a.Sun}} {
		text := f.said(n.name)
		if text == "" {
			continue
		}
		var err error
		if *n.to, err = figureOf(labelOf(n.name), text, 0, n.most); err != nil {
			return a, err
		}
	}
	if f.said("three") != "" {
		a.Three = quantity.Known(three)
	}
	var err error
	if a.Step, err = time.ParseDuration(strings.ReplaceAll(strings.Replace(f.said("step"), "min", "m", 1), " ", "")); err != nil {
		return a, Refuse(http.StatusUnprocessableEntity, "%s is %q: whole seconds from 1s to 30m are wanted.", labelOf("step"), f.said("step"))
	}
	return a, nil
}

// labelOf is how the form calls a choice, without its example.
func labelOf(name string) string {
	for _, one := range limitFields {
		if one.Name == name || one.Field == name {
			label, _, _ := strings.Cut(one.Label, ", like")
			return label
		}
	}
	return capital(name)
}

// labelled says an error of what was asked by the form's own label.
func labelled(err error) error {
	var asked *demand.AskedError
	if errors.As(err, &asked) {
		return Refuse(http.StatusUnprocessableEntity, "%s: %s", labelOf(asked.Field), asked.Reason)
	}
	return wrong(err)
}

// limitAnswer is what was found.
type limitAnswer struct {
	report   demand.LimitReport
	scene    drawing.Scene
	prepared *demand.Studied
	rates    bool
	said     []string // with the meter in hand
}

func (s *Server) limit(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := limitFormOf(table{}, r.FormValue)
	f.Runs, _, _, _ = s.runsOf(func(string) string { return "" })
	a, err := s.findLimits(o, f, 0, 1, false)
	if err != nil {
		return err
	}
	return s.renderLimit(w, r, o, http.StatusOK, f, nil, a)
}

// runLimit answers the runs that were asked for, or a question on site. Nothing
// is stored.
func (s *Server) runLimit(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	file, err := tableOf(r, "recording") // first: it reads the form
	f := limitFormOf(file, r.PostFormValue)
	var runs int
	var seed uint64
	if err == nil {
		f.Runs, runs, seed, err = s.runsOf(r.PostFormValue)
	}
	var a limitAnswer
	if err == nil {
		if f.Way == "now" || f.Way == "watts" {
			runs = 0
		}
		a, err = s.findLimits(o, f, runs, seed, f.Way == "")
	}
	if err == nil && f.Way != "" {
		a.said, err = f.onSite(a.prepared)
	}
	if err != nil {
		status, lines := explain(err)
		if status == http.StatusInternalServerError {
			return err
		}
		proofs, found := demand.ProveAll(o.Model)
		return s.renderLimit(w, r, o, status, f, lines, limitAnswer{report: demand.ReportLimits(o.Model, proofs, found, nil, nil)})
	}
	return s.renderLimit(w, r, o, http.StatusOK, f, nil, a)
}

// onSite answers what is asked with the meter in hand.
func (f limitForm) onSite(prepared *demand.Studied) ([]string, error) {
	var said []string
	var err error
	switch f.Way {
	case "watts":
		var watts quantity.Watts
		if watts, err = quantity.ParseWatts(withUnit(f.Watts, "W")); err != nil {
			return nil, Refuse(http.StatusUnprocessableEntity, "The limit is %q: watts are wanted, like 2300 W.", f.Watts)
		}
		said, err = prepared.InAmperes(watts)
	case "now":
		var lines [2]demand.Lines
		for g, group := range f.Now {
			read, err := group.amperes()
			if err != nil {
				return nil, err
			}
			for k, i := range read {
				lines[g][k] = quantity.Amperes(i)
			}
		}
		said, err = prepared.Advice(lines[0], lines[1])
	default:
		return nil, Refuse(http.StatusUnprocessableEntity, "Say what is asked: the runs, what to set now, or a limit in watts.")
	}
	if err != nil {
		return nil, labelled(err)
	}
	return said, nil
}

// findLimits proves the limiters and runs the job. The day is run too where it
// is wanted.
func (s *Server) findLimits(o *opened, f limitForm, runs int, seed uint64, wantDay bool) (limitAnswer, error) {
	asked, err := f.asked()
	if err != nil {
		return limitAnswer{}, err
	}
	log, zone, err := f.Recorded.read(o)
	if err != nil {
		return limitAnswer{}, err
	}
	plan, err := asked.Plan(o.Model, log, zone)
	if err != nil {
		return limitAnswer{}, labelled(err)
	}
	plan.While = o.Model.While
	proofs, found := demand.ProveAll(o.Model)
	prepared := demand.Prepare(o.Model, plan)
	var study *demand.Study
	var worst *demand.Result
	if runs > 0 || len(prepared.Lacks) > 0 {
		if study, worst, err = s.studied(prepared, runs, seed); err != nil {
			return limitAnswer{}, err
		}
	}
	if worst != nil {
		found = append(found, prepared.HeatFinding(worst))
	}
	a := limitAnswer{report: demand.ReportLimits(o.Model, proofs, found, prepared.Tell(proofs), study), prepared: prepared, rates: plan.Tariff != nil}
	var day *demand.Day
	if wantDay && len(prepared.Lacks) == 0 {
		d, err := prepared.RunDay(seed)
		if err != nil {
			return a, wrong(err)
		}
		day = &d
	}
	a.scene = drawing.LimitSheet(o.Model, prepared, proofs, day, worst)
	return a, nil
}

func (s *Server) renderLimit(w http.ResponseWriter, r *http.Request, o *opened, status int, f limitForm, problems []string, a limitAnswer) error {
	page := struct {
		Frame
		Entered  limitForm
		Problems []string
		Limiters bool
		Rules    []finding.Finding
		Met      []finding.Finding
		Proofs   []demand.Proof
		Day      []string
		Study    *demand.Study
		Rows     []demand.Row
		Gaps     finding.Lacks
		Said     []string
		Picture  template.HTML
		Alone    bool
	}{Frame: o.frame(s, r, "Load limiting", "more"), Entered: f, Problems: problems, Limiters: len(o.Job.Limiters) > 0, Proofs: a.report.Proofs,
		Day: a.report.Day, Study: a.report.Study, Said: a.said, Alone: s.Away != nil}
	found := a.report.Findings
	finding.ByUrgency(found)
	for _, one := range found {
		if one.Verdict == finding.Meets {
			page.Met = append(page.Met, one)
		} else {
			page.Rules = append(page.Rules, one)
		}
	}
	if page.Study != nil {
		page.Rows = page.Study.Rows(a.rates)
	}
	if a.prepared != nil {
		page.Gaps = a.prepared.Lacks
	}
	if a.scene.Height > 0 {
		page.Picture = picture(a.scene, false)
	}
	return render(w, status, "limit.html", page)
}
