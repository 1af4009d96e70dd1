package web

// Commissioning: a run of one charge point begun here, and its steps shown as
// they end. The run itself is made where there is a network to be had.

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/store"
)

// Commissioner listens for charge points and runs the steps, one run a job.
type Commissioner interface {
	// Begin begins a run; it ends by itself.
	Begin(CommissioningOrder) error
	// Run returns the run of a job that is under way, or its last one.
	Run(job string) (CommissioningRun, bool)
	// End ends the run of a job, if one is under way.
	End(job string)
	// Pretends reports that a pretended point can be had, for training.
	Pretends() bool
}

// ErrUnderWay says that a job has a run already.
var ErrUnderWay = errors.New("a run is under way")

// CommissioningOrder is what a run is begun with.
type CommissioningOrder struct {
	Job       string
	Model     *model.Model
	Point     string
	Identity  string // of the point on the link
	Card      string // number of a card that is allowed
	Pretended bool
	// Keep is called once, when the run has ended, with what it leaves behind.
	Keep func([]job.Reading) error
}

// CommissioningRun is a run as it stands.
type CommissioningRun struct {
	Point, Identity  string
	Address          string // to be entered in the point whole
	Central          string // the same without the name
	Secured          string // how the link is secured
	Pace             float64
	Now              string // what a person is to do
	Steps            []CommissioningStep
	Settings         []CommissioningSetting
	Over, Kept       bool
	Wrong            string // why it ended before its last step, or was not kept
	Met, Failed      int
	NotHad, NotKnown int // not supported by the point, not known
	ToJudge          int
}

// CommissioningStep is one step as it ended.
type CommissioningStep struct {
	finding.Finding
	Outcome string
}

// CommissioningSetting is one setting before the run and after it.
type CommissioningSetting struct{ Name, Before, After, Why string }

// commissionedPoint is the point that a request is about.
func (o *opened) commissionedPoint(name string) (string, error) {
	if slices.ContainsFunc(o.Job.Points, func(p job.Point) bool { return p.Name == name }) {
		return name, nil
	}
	return "", notInJob
}

func commissioningURL(job, point string) string {
	return "/jobs/" + job + "/commissioning?point=" + url.QueryEscape(point)
}

func (s *Server) commissioning(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	point, err := o.commissionedPoint(r.URL.Query().Get("point"))
	if err != nil {
		return err
	}
	page := struct {
		frame
		Point, Of string
		Can       bool
		Pretends  bool
		Run       *CommissioningRun
		Elsewhere string // address of the run of another point
		Code      template.HTML
	}{frame: o.frame(s, r, "Commissioning of "+point, "drawing"), Point: point, Of: job.Under("points", point), Can: s.Commissioner != nil}
	if !page.Can {
		return render(w, http.StatusOK, "commissioning.html", page)
	}
	page.Pretends = s.Commissioner.Pretends()
	if run, begun := s.Commissioner.Run(o.ID); begun && run.Point == point {
		page.Run = &run
		if !run.Over {
			page.Again = 3
			code, err := paper.QR("address", "Address to enter in "+point, run.Address)
			if err != nil {
				return err
			}
			page.Code = picture(code, true)
		}
	} else if begun && !run.Over {
		page.Elsewhere = commissioningURL(o.ID, run.Point)
	}
	return render(w, http.StatusOK, "commissioning.html", page)
}

func (s *Server) beginCommissioning(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if s.Commissioner == nil {
		return refuse(http.StatusForbidden, "A charge point is commissioned with signal, on the server's machine or its network.")
	}
	point, err := o.commissionedPoint(r.PostFormValue("point"))
	if err != nil {
		return err
	}
	a := s.act(r, o.ID, "commissioning of point "+point)
	if slices.ContainsFunc(o.Acts, func(known store.Act) bool { return known.ID == a.ID }) { // the form was sent again
		http.Redirect(w, r, commissioningURL(o.ID, point), http.StatusSeeOther)
		return nil
	}
	order := CommissioningOrder{Job: o.ID, Model: o.Model, Point: point, Identity: strings.TrimSpace(r.PostFormValue("identity")),
		Card: strings.TrimSpace(r.PostFormValue("card")), Pretended: r.PostFormValue("pretended") != "",
		Keep: func(readings []job.Reading) error { return s.keepCommissioning(a, readings) }}
	if order.Pretended && !s.Commissioner.Pretends() {
		return refuse(http.StatusForbidden, "A point is pretended only among the invented jobs.")
	}
	if order.Identity == "" {
		order.Identity = point
	}
	if order.Card == "" {
		order.Card = "KNOWN-CARD"
	}
	if err := s.Commissioner.Begin(order); err != nil && !errors.Is(err, ErrUnderWay) {
		return refuse(http.StatusConflict, "The run could not begin: %v", err)
	}
	http.Redirect(w, r, commissioningURL(o.ID, point), http.StatusSeeOther)
	return nil
}

func (s *Server) endCommissioning(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if s.Commissioner != nil {
		s.Commissioner.End(o.ID)
	}
	http.Redirect(w, r, commissioningURL(o.ID, r.PostFormValue("point")), http.StatusSeeOther)
	return nil
}

// keepCommissioning enters what a run left behind, under the ID of the form
// that began it, so that it is entered once.
func (s *Server) keepCommissioning(a store.Act, readings []job.Reading) error {
	if len(readings) == 0 {
		return nil
	}
	ctx := context.Background() // the request that began the run is long answered
	acts, err := s.Store.Acts(ctx, a.Job, 0)
	if err != nil {
		return fmt.Errorf("read the journal: %w", err)
	}
	there := len(factsOf(store.Record(acts)).items("readings"))
	a.When, a.Entries = stamp(s.Now()), nil
	for i, one := range readings {
		item := job.Under("readings", fmt.Sprintf("%s-%03d", a.ID, i+1))
		a.Entries = append(a.Entries, job.Entry{Path: item, Value: whole(there + i + 1)})
		for _, f := range []struct{ name, value string }{{"at", one.At}, {"reading", one.Reading}, {"value", one.Value}, {"function", one.Function}, {"note", one.Note}} {
			if f.value != "" {
				a.Entries = append(a.Entries, job.Entry{Path: job.Under(item, f.name), Value: f.value})
			}
		}
	}
	_, err = s.Store.Keep(ctx, a.Stamped())
	return err
}
