package web

// How a job begins: from an empty file, from a template, or as the last one was.

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"chargewright/begin"
	"chargewright/job"
	"chargewright/store"
	"chargewright/works"
)

// offer is one thing a job may begin from, and the one question that goes with it.
type offer struct {
	Name, Says  string
	Asks        string // what is asked; nothing where nothing is
	Like, Unit  string
	Chosen      bool
	template    begin.Template
	path        string // of what is asked
	asksHowMany bool
}

// mostRemembered is how many jobs are looked back on.
const mostRemembered = 12

// past returns the jobs that were added to last, those of the person at work
// before the others.
func (s *Server) past(ctx context.Context, who string) ([]begin.Past, error) {
	ids, err := s.newest(ctx, mostRemembered)
	if err != nil {
		return nil, err
	}
	var own, others []begin.Past
	for _, id := range ids {
		acts, err := s.Store.Acts(ctx, id, 0)
		if err != nil {
			return nil, err
		}
		p := begin.Past{Record: store.Record(acts)}
		p.Name = p.Record.Now("job").Value
		switch {
		case p.Record.Now("invented").Value == "yes": // a scenario is nobody's usual
		case slices.ContainsFunc(acts, func(a store.Act) bool { return a.Who == who }):
			own = append(own, p)
		default:
			others = append(others, p)
		}
	}
	return append(own, others...), nil
}

// newest is the jobs that were added to last.
func (s *Server) newest(ctx context.Context, most int) ([]string, error) {
	var out []string
	if keeps, can := s.Store.(store.Lister); can {
		rows, err := keeps.List(ctx, store.Wanted{Rank: -1, Most: most})
		for _, l := range rows {
			out = append(out, l.Job)
		}
		return out, err
	}
	list, err := s.Store.Jobs(ctx)
	for _, j := range list[:min(len(list), most)] {
		out = append(out, j.ID)
	}
	return out, err
}

// offers are what a job may begin from here.
func (s *Server) offers(past []begin.Past) ([]offer, error) {
	all := s.Templates
	if all == nil {
		var err error
		if all, err = begin.BuiltIn(); err != nil {
			return nil, err
		}
	}
	ts := begin.Offered(all)
	if len(past) > 0 {
		if last := begin.AsLast(past[0]); last.Ask != "" {
			last.Name, last.Says = asLast, past[0].Name
			ts = append(ts, last)
		}
	}
	var out []offer
	for _, t := range ts {
		o := offer{Name: t.Name, Says: t.Says, template: t, path: t.Ask}
		f := job.FieldAt(t.Ask)
		switch {
		case t.Ask == begin.HowMany:
			o.asksHowMany, o.Asks, o.Like = true, "How many points", strconv.Itoa(t.Points)
		case f != nil && f.Name == "length":
			o.Asks, o.Unit = "How far the cable runs", unitOf(f)
			o.Like, _ = withoutUnit(t.Value(t.Ask), f.Units)
		case f != nil:
			o.Asks, o.Unit = capital(f.Help), unitOf(f)
			o.Like, _ = withoutUnit(t.Value(t.Ask), f.Units)
		}
		out = append(out, o)
	}
	if len(past) > 0 { // the same again is the likeliest
		for i := range out {
			out[i].Chosen = out[i].template.Began(past[0])
		}
	}
	return out, nil
}

// asLast is what the template of the last job is called.
const asLast = "as the last job"

// newJob begins a job. Its ID comes with the form, so that a form sent twice
// begins one job.
func (s *Server) newJob(w http.ResponseWriter, r *http.Request) error {
	name := strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	if name == "" {
		return Refuse(http.StatusUnprocessableEntity, "A job needs a name, so that you find it again: the place, or the client.")
	}
	if who := strings.Join(strings.Fields(r.PostFormValue("who")), " "); who != "" && s.Who(r) == "" && s.SetWho != nil {
		if len(who) > 80 {
			return Refuse(http.StatusUnprocessableEntity, "That name is longer than 80 letters.")
		}
		if err := s.SetWho(w, who); err != nil {
			return err
		}
		r.AddCookie(&http.Cookie{Name: whoCookie, Value: encoded(who)})
	}
	chosen := r.PostFormValue("template")
	if chosen == "" {
		return s.beginFrom(w, r, "job begun", job.Starter(name))
	}
	past, err := s.past(r.Context(), s.Who(r))
	if err != nil {
		return err
	}
	all, err := s.offers(past)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(all, func(o offer) bool { return o.Name == chosen })
	if i < 0 {
		return Refuse(http.StatusUnprocessableEntity, "There is no template %q here.", chosen)
	}
	o := all[i]
	points, said := o.template.Points, map[string]string{}
	if typed := strings.TrimSpace(r.PostFormValue("ask " + o.Name)); typed != "" {
		if o.asksHowMany {
			n, err := strconv.Atoi(typed)
			if err != nil || n < 1 || n > begin.MostPoints {
				return Refuse(http.StatusUnprocessableEntity, "%q points: a number from 1 to %d is wanted.", typed, begin.MostPoints)
			}
			points = n
		} else {
			said[o.path] = withUnit(typed, o.Unit)
		}
	}
	entries := append(s.firm(r, past), o.template.Entries(name, s.Now().Format("2006-01-02"), points, said, o.template.Remembered(past))...)
	var faults job.Problems
	if _, err := job.NewRecord(entries...).Job(""); errors.As(err, &faults) {
		for _, p := range faults {
			if !p.Unfinished() {
				return Refuse(http.StatusUnprocessableEntity, "%v", p)
			}
		}
	}
	a := s.act(r, "", "job begun: "+o.Name, entries...)
	a.Job = a.ID
	return s.begin(w, r, a.Stamped())
}

// firm is who works, with what, and for whom: as the jobs before say, or else
// the person at work alone.
func (s *Server) firm(r *http.Request, past []begin.Past) []job.Entry {
	out := begin.Firm(past)
	who := s.Who(r)
	item := works.Under("people", who)
	people := slices.ContainsFunc(out, func(e job.Entry) bool { return works.Within(e.Path, "people") })
	if who != "" && !people {
		out = append(out, job.Entry{Path: item, Value: "1"})
	}
	return out
}
