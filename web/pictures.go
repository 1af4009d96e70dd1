package web

// The other pictures of a job: devices in series, voltage along the way, surge
// protection, a lost PEN, walls, and a limiter put to the proof.

import (
	"html/template"
	"net/http"
	"slices"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
)

// shown is a picture with what goes with it.
type shown struct {
	Scene       drawing.Scene
	Found       []finding.Finding
	Assumptions []string
	Gaps        finding.Lacks
}

// drawn is one picture that can be asked for.
type drawn struct {
	Name, Title string
	draw        func() (shown, error)
}

// drawings lists the pictures that the job can have.
func (o *opened) drawings() []drawn {
	one := func(draw func() drawing.Scene) func() (shown, error) {
		return func() (shown, error) { return shown{Scene: draw()}, nil }
	}
	out := []drawn{
		{"curves", "Devices in series", one(func() drawing.Scene { return drawing.Curves(o.Model) })},
		{"voltage", "Voltage along the way", one(func() drawing.Scene { return drawing.VoltageAlong(o.Model) })},
		{"surge", "Surge protection", one(func() drawing.Scene { return drawing.SurgeLine(o.Model) })},
		{"lost-pen", "The PEN conductor lost", o.lostPEN},
	}
	for i := range o.Job.Limiters {
		l := &o.Job.Limiters[i]
		out = append(out, drawn{"limiter-" + whole(i+1), drawing.Named("Limiter", l.Name) + ", put to the proof", func() (shown, error) {
			p := demand.Prove(o.Model, l)
			s := shown{Found: p.Findings, Assumptions: p.Assumptions, Gaps: p.Lacks}
			if p.Worst != nil {
				stated, _ := l.ResponseTime.Get()
				s.Scene = drawing.Limiting("limiter", drawing.Named("Limiter", l.Name)+": the longest found on L"+whole(p.Line+1), *p.Worst, stated)
			}
			return s, nil
		}})
	}
	for _, p := range o.Model.Points {
		out = append(out, drawn{"wall-" + identifier(p.Record.Name), "The wall of " + p.Record.Name,
			one(func() drawing.Scene { return drawing.Elevation(o.Model, p) })})
	}
	return out
}

func (o *opened) lostPEN() (shown, error) {
	l, err := o.Model.StudyLostPEN()
	if err != nil || len(l.Lacks) > 0 {
		return shown{Gaps: l.Lacks}, err
	}
	return shown{Scene: drawing.LostPEN(l.Off, l.On, l.Most)}, nil
}

func (s *Server) pictures(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "pictures.html", struct {
		Frame
		Pictures []drawn
	}{o.frame(s, r, "Pictures", "more"), o.drawings()})
}

func (s *Server) picture(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	all := o.drawings()
	i := slices.IndexFunc(all, func(d drawn) bool { return d.Name == r.PathValue("name") })
	if i < 0 {
		return notInJob
	}
	seen, err := all[i].draw()
	if err != nil {
		return err
	}
	var image template.HTML
	if seen.Scene.Height > 0 {
		image = picture(seen.Scene, false)
	}
	return render(w, http.StatusOK, "picture.html", struct {
		Frame
		shown
		Picture template.HTML
	}{o.frame(s, r, all[i].Title, "more"), seen, image})
}
