package web

// The earthing measures of the points side by side, and which electrode reaches
// a resistance in the ground at hand.

import (
	"net/http"
	"strings"

	"chargewright/choose"
	"chargewright/quantity"
	"chargewright/works"
)

// groundForm is what is asked of the ground, as it was typed.
type groundForm struct{ Target, Soil, Upper, Thickness string }

// groundOf reads the form; what was left out is as usual.
func groundOf(value func(string) string) (groundForm, choose.Asked, error) {
	f := groundForm{Target: "200", Thickness: "1"}
	var a choose.Asked
	for _, field := range []struct {
		name string
		to   *string
	}{{"target", &f.Target}, {"soil", &f.Soil}, {"upper", &f.Upper}, {"thickness", &f.Thickness}} {
		if v := strings.TrimSpace(value(field.name)); v != "" {
			*field.to = v
		}
	}
	var err error
	if a.Target, err = quantity.ParseOhms(withUnit(f.Target, "Ω")); err != nil || a.Target <= 0 {
		return f, a, Refuse(http.StatusUnprocessableEntity, "Resistance to reach is %q: ohms above zero are wanted, like 200 Ω.", f.Target)
	}
	if a.Thickness, err = quantity.ParseMetres(withUnit(f.Thickness, "m")); err != nil || a.Thickness <= 0 {
		return f, a, Refuse(http.StatusUnprocessableEntity, "Thickness of the upper layer is %q: metres above zero are wanted, like 1 m.", f.Thickness)
	}
	for _, layer := range []struct {
		label, text string
		to          *quantity.Maybe[quantity.OhmMetres]
	}{{"Resistivity of the soil", f.Soil, &a.Soil}, {"Resistivity of an upper layer", f.Upper, &a.Upper}} {
		if layer.text == "" {
			continue
		}
		rho, err := quantity.ParseOhmMetres(withUnit(layer.text, "Ω·m"))
		if err != nil || rho <= 0 {
			return f, a, Refuse(http.StatusUnprocessableEntity, "%s is %q: ohm metres above zero are wanted, like 100 Ω·m.", layer.label, layer.text)
		}
		*layer.to = quantity.Known(rho)
	}
	return f, a, nil
}

// electrodeRow is one electrode as the page shows it.
type electrodeRow struct {
	What, Resistance, Cost string
	Reaches                bool
}

func (s *Server) earthing(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	status := http.StatusOK
	f, asked, wrong := groundOf(r.FormValue)
	page := struct {
		Frame
		Entered    groundForm
		Problems   []string
		Ground     choose.Ground
		Electrodes []electrodeRow
		Measures   []choose.Measure
		Points     []itemRow // whose measure is open
		Fitted     []itemRow
		Caution    string
	}{Frame: o.frame(s, r, "Earthing, side by side", "more"), Entered: f, Caution: choose.GroundCaution}
	if wrong != nil {
		status, page.Problems = explain(wrong)
	} else {
		ground, measures, err := o.ground(asked)
		if err != nil {
			return err
		}
		page.Ground, page.Measures = ground, measures
		for _, e := range ground.Electrodes {
			page.Electrodes = append(page.Electrodes, electrodeRow{e.String(), quantity.Ohms(e.Resistance).String(), whole(int(e.Cost + 0.5)), ground.Reaches(e)})
		}
	}
	for _, p := range o.Job.Points {
		if !p.Earthing.Measure.IsKnown() {
			page.Points = append(page.Points, itemRow{works.Under("points", p.Name) + "/earthing/measure", p.Name})
		}
	}
	for _, e := range o.Job.Electrodes {
		page.Fitted = append(page.Fitted, itemRow{works.Under("electrodes", e.Name), e.Name})
	}
	return render(w, status, "ground.html", page)
}

// ground studies the ground of the job and its earthing measures.
func (o *opened) ground(a choose.Asked) (choose.Ground, []choose.Measure, error) {
	stock, err := choose.BuiltIn()
	if err != nil {
		return choose.Ground{}, nil, err
	}
	g, err := choose.StudyGround(o.Model, stock, a)
	if err != nil {
		return g, nil, wrong(err)
	}
	return g, choose.Choose(o.Job, o.Model.Rules, stock, choose.Aim{Purpose: choose.FirstCost, While: o.Model.While}).Earthing, o.Model.Left()
}
