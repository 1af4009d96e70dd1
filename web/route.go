package web

// The way each cable takes: what to fetch and cut, and the lengths it rests on,
// with where they come from and a form to put them right.

import (
	"net/http"

	"chargewright/choose"
	"chargewright/job"
	"chargewright/model"
	"chargewright/works"
)

// legLength is the length of one leg, and where it comes from.
type legLength struct {
	Path, Label   string // of the length
	Value, Typed  string
	Known, By     string
	Follows       string
	FollowsSource string
}

// runRow is one circuit's way.
type runRow struct {
	choose.Route
	Of   string
	Legs []legLength
}

func (s *Server) route(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderRoute(w, r, o, nil)
}

func (s *Server) renderRoute(w http.ResponseWriter, r *http.Request, o *opened, wrong error) error {
	status := http.StatusOK
	page := struct {
		Frame
		Runs     []runRow
		Leads    []choose.Lead
		Problems []string
		Known    string
		Caution  string
	}{Frame: o.frame(s, r, "The way each cable takes", "more"), Leads: choose.Leads(o.Model), Known: r.PostFormValue("known"), Caution: choose.RouteCaution}
	if wrong != nil {
		if status, page.Problems = explain(wrong); status == http.StatusInternalServerError {
			return wrong
		}
		page.Form = r.PostFormValue("act")
	}
	legs := o.legs()
	for _, route := range choose.Routes(o.Model) {
		run := runRow{Route: route, Of: works.Under("circuits", route.Circuit), Legs: legs[route.Circuit]}
		for i := range run.Legs {
			l := &run.Legs[i]
			if typed, sent := r.PostForm["length "+l.Path]; sent {
				l.Typed, l.Follows, l.FollowsSource = typed[0], r.PostFormValue("follows "+l.Path), r.PostFormValue("follows source "+l.Path)
			}
		}
		page.Runs = append(page.Runs, run)
	}
	return render(w, status, "route.html", page)
}

// legs lists the legs of every circuit that is not there already.
func (o *opened) legs() map[string][]legLength {
	out := map[string][]legLength{}
	each := func(c *model.Circuit) {
		list := works.Under("circuits", c.Record.Name) + "/legs"
		for i, name := range o.Record.Items(list) {
			path := works.Under(list, name) + "/length"
			now, known := o.Record.Now(path), o.Record.Now(path+" known by")
			l := legLength{Path: path, Label: name, Value: now.Value, Known: known.Value, Follows: o.Record.Shown(path),
				FollowsSource: o.Record.Shown(path + " known by")}
			if i < len(c.Legs) {
				l.Label = c.Legs[i].ShortName()
			}
			l.Typed, _ = withoutUnit(l.Value, []string{"m"})
			if now.Value != "" {
				l.By = by(now)
			}
			out[c.Record.Name] = append(out[c.Record.Name], l)
		}
	}
	for _, c := range o.Model.Circuits {
		if !c.Record.Existing {
			each(c)
		}
	}
	return out
}

// enterLengths enters the lengths that were changed, in one act.
func (s *Server) enterLengths(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return Refuse(http.StatusUnprocessableEntity, "What was sent could not be read.")
	}
	known := r.PostFormValue("known")
	var entries []job.Entry
	lengths := 0
	for _, c := range o.Job.Circuits {
		for _, l := range o.legs()[c.Name] {
			typed, sent := r.PostForm["length "+l.Path]
			if !sent {
				continue
			}
			value := withUnit(typed[0], "m")
			if value == l.Value {
				continue
			}
			lengths++
			entries = append(entries, job.Entry{Path: l.Path, Value: value, Follows: r.PostFormValue("follows " + l.Path)})
			if known != "" && known != l.Known {
				entries = append(entries, job.Entry{Path: l.Path + " known by", Value: known, Follows: r.PostFormValue("follows source " + l.Path)})
			}
		}
	}
	here := "/jobs/" + o.ID + "/route"
	if lengths == 0 {
		http.Redirect(w, r, here, http.StatusSeeOther)
		return nil
	}
	what := counted(lengths, "length", "lengths") + " of cable"
	if known != "" {
		what += ", " + known
	}
	if err := s.enter(w, r, o, s.act(r, o.ID, what, entries...), here); err != nil {
		return s.renderRoute(w, r, o, err)
	}
	return nil
}

// Needs says what each leg of the way needs.
func (r runRow) Needs() []choose.LegRoute { return r.Route.Legs }

// Missing is what is not known of the way.
func (r runRow) Missing() string {
	return r.Lacks.String()
}
