package web

// The job as its drawing: one line from the street to the vehicle, every
// element a place to tap, and beside it what to do next.

import (
	"html/template"
	"net/http"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
)

// station is one element of the drawing.
type station struct {
	Of      string // whose sheet it opens
	Label   string
	Picture template.HTML
}

// stretch is one scene of the drawing.
type stretch struct {
	Title    string
	Stations []station
}

func (s *Server) line(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "line.html", struct {
		Frame
		Line    []stretch
		Summary finding.Summary
		Next    []step
	}{o.frame(s, r, o.Job.Name, "drawing"), o.line(), finding.Summarise(o.Found), o.nextSteps(s.Now())})
}

// line cuts the drawing into its elements, each a picture of its own that
// leads to its sheet.
func (o *opened) line() []stretch {
	of := o.stations()
	var out []stretch
	for _, scene := range drawing.StreetToVehicleUpright(o.Model, o.Found) {
		st := stretch{Title: scene.Title}
		for _, shape := range scene.Shapes {
			g, ok := shape.(drawing.Group)
			if !ok || len(g.Shapes) == 0 {
				continue
			}
			whole, ok := g.Shapes[0].(drawing.Rectangle) // a station's first shape is all of it
			if !ok {
				continue
			}
			one := drawing.Scene{Name: g.ID, Width: scene.Width, Height: whole.Height}
			one.Shapes = drawing.Scene{Shapes: g.Shapes}.At(0, -whole.At.Y)
			st.Stations = append(st.Stations, station{of[g.ID], words(g), picture(one, true)})
		}
		out = append(out, st)
	}
	return out
}

// words reads a group's texts for someone who does not see it.
func words(g drawing.Group) string {
	var said []string
	for _, t := range (drawing.Scene{Shapes: g.Shapes}).Texts() {
		said = append(said, t.Text)
	}
	return g.Title + ". " + strings.Join(said, " ")
}

// stations returns which sheet each element of the drawing opens, by the
// drawing's own identifiers.
func (o *opened) stations() map[string]string {
	of := map[string]string{"street": "street", "cut-out": "cut-out", "meter": "meter", "earthing": "earthing", "board": "", "from": ""}
	put := func(id, path string) {
		if _, taken := of[id]; !taken {
			of[id] = path
		}
	}
	for _, b := range o.Job.Boards {
		put(identifier("board-"+b.Name), job.Under("boards", b.Name))
	}
	for _, c := range o.Job.Circuits {
		path := job.Under("circuits", c.Name)
		put(identifier("circuit-"+c.Name), path)
		put(identifier("circuit-"+c.Name+"-legs"), path)
		for i, l := range c.Legs {
			put(identifier("circuit-"+c.Name+"-leg-"+whole(i+1)), job.Under(path+"/legs", l.Name))
		}
	}
	for _, p := range o.Job.Points {
		path := job.Under("points", p.Name)
		put(identifier("point-"+p.Name), path)
		put(identifier("vehicle-at-"+p.Name), path)
		put(identifier("circuit-of-"+p.Name), path)
	}
	return of
}

// identifier is how the drawing makes an identifier of a name.
func identifier(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	return strings.Trim(b.String(), "-")
}
