package web

// The job's network solved: voltages with every point on, what the neutral
// carries, a fault anywhere, the PEN conductor lost.

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// flowCells is the state at one place, line by line.
type flowCells struct {
	At             string
	Volts, Lines   [3]string
	Neutral, Third string
}

// faultForm is a fault as it was picked.
type faultForm struct{ Touching, At string }

// faultRow is one figure of a fault.
type faultRow struct{ What, Value, How string }

func (s *Server) flow(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	page := struct {
		Frame
		Lines        []string
		Rows         []flowCells
		Losses       string
		Gaps         finding.Lacks
		Picture      template.HTML
		Fault        faultForm
		Touching, At []string
		FaultRows    []faultRow
		FaultGaps    finding.Lacks
		Problems     []string
		Lost         *model.LostPENStudy
		LostPicture  template.HTML
		LostCaution  string
		Assumptions  []string
	}{Frame: o.frame(s, r, "Voltages, faults, a lost PEN", "more"), Gaps: o.Model.Flow.Lacks, At: o.Model.FaultPlaces(), Assumptions: o.Model.Assumptions,
		LostCaution: capital(model.LostPENCaution) + "."}
	page.Lines, page.Touching = o.lineNames(), touchings(o.lineNames())
	page.Rows = o.flowRows(len(page.Lines))
	if f := o.Model.Flow; len(f.At) > 0 {
		page.Losses = fmt.Sprintf("%v, %v in a thousand hours like this", f.Losses, quantity.WattHours(1000*float64(f.Losses)))
		page.Picture = picture(drawing.VoltageAlong(o.Model), false)
	}
	status := http.StatusOK
	page.Fault = faultForm{r.FormValue("touching"), r.FormValue("at")}
	if page.Fault != (faultForm{}) {
		f, err := o.fault(page.Fault)
		if err != nil {
			status, page.Problems = explain(err)
		} else {
			page.FaultRows, page.FaultGaps = faultRows(f), f.Lacks
		}
	}
	lost, err := o.Model.StudyLostPEN()
	if err != nil {
		return err
	}
	page.Lost = &lost
	if len(lost.Lacks) == 0 {
		page.LostPicture = picture(drawing.LostPEN(lost.Off, lost.On, lost.Most), false)
	}
	return render(w, status, "flow.html", page)
}

// lineNames are the line conductors of the supply; all three where it is not
// known how many there are.
func (o *opened) lineNames() []string {
	if n, known := o.Job.Supply.Phases.Get(); known && n == 1 {
		return []string{"L1"}
	}
	return []string{"L1", "L2", "L3"}
}

// touchings are the conductors that may touch.
func touchings(lines []string) []string {
	var out []string
	for _, to := range []string{"PE", "N"} {
		for _, l := range lines {
			out = append(out, l+"-"+to)
		}
	}
	if len(lines) == 3 {
		out = append(out, "L1-L2", "L2-L3", "L1-L3", "L1-L2-L3")
	}
	return out
}

func (o *opened) flowRows(lines int) []flowCells {
	if len(o.Model.Flow.At) == 0 {
		return nil
	}
	origin := flowCells{At: "origin"}
	for k, v := range o.Model.Flow.Origin[:lines] {
		origin.Volts[k] = orDash(v > 0, v)
	}
	out := []flowCells{origin}
	for _, f := range o.Model.Flow.At {
		c := flowCells{At: f.Circuit.Record.To, Neutral: f.Neutral.String(), Third: f.NeutralThird.String()}
		for k := range lines {
			c.Volts[k], c.Lines[k] = orDash(f.Volts[k] > 0, f.Volts[k]), orDash(f.Volts[k] > 0, f.Lines[k])
		}
		out = append(out, c)
	}
	return out
}

// orDash prints a figure, or a dash where there is none.
func orDash(there bool, q fmt.Stringer) string {
	if !there {
		return "–"
	}
	return q.String()
}

// fault studies a fault of the job.
func (o *opened) fault(f faultForm) (model.FaultStudy, error) {
	switch {
	case f.Touching == "":
		return model.FaultStudy{}, Refuse(http.StatusUnprocessableEntity, "Say which conductors touch, like L1-PE.")
	case f.At == "":
		return model.FaultStudy{}, Refuse(http.StatusUnprocessableEntity, "Say where they touch. The places are %s.", strings.Join(o.Model.FaultPlaces(), ", "))
	}
	study, err := o.Model.StudyFault(f.Touching + "@" + f.At)
	if err != nil {
		return study, wrong(err)
	}
	return study, nil
}

func faultRows(f model.FaultStudy) []faultRow {
	if len(f.Lacks) > 0 {
		return nil
	}
	out := []faultRow{{"greatest", f.Greatest.String(), "conductors cold, source at the angle that adds least"},
		{"least", f.Least.String(), "conductors at operating temperature, lowest supply voltage"}}
	if f.Loop > 0 {
		out = append(out, faultRow{"loop", f.Loop.String(), "at operating temperature"})
	}
	if f.Touch > 0 {
		out = append(out, faultRow{"metal there", f.Touch.String(), "to true earth until the fault is cut off"})
	}
	return out
}
