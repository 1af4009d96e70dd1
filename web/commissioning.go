package web

// Commissioning: a run of one charge point begun here, its steps shown as they
// end, and the runs before it. The run itself is made where there is a network
// to be had; what it leaves in the job is read anywhere.

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/store"
	"chargewright/trade"
	"chargewright/works"
)

// Commissioner listens for charge points and runs the steps, one run a job:
// points of one job share a supply, and each is proved by itself.
type Commissioner interface {
	// Begin begins a run; it ends by itself. The same order again begins nothing.
	Begin(CommissioningOrder) error
	// Run returns the run of a job that is under way, or its last one.
	Run(job string) (CommissioningRun, bool)
	// End ends the run of a job, if one is under way.
	End(job string)
	// Evidence returns the evidence of the last run of a job, as JSON; Messages
	// returns every message of it, a JSON object a line.
	Evidence(job string) ([]byte, bool)
	Messages(job string) ([]byte, bool)
	// Expects reports whether a point of that name is expected on the link.
	Expects(identity string) bool
	// Offers says what can be had.
	Offers() CommissioningOffer
}

// ErrUnderWay says that a job has a run already.
var ErrUnderWay = errors.New("a run is under way")

// CommissioningOffer is what a run can be begun with.
type CommissioningOffer struct {
	Address  string              // where points join, without a name
	Secured  string              // how a link is secured without a password
	Password string              // and with one
	Trust    []byte              // certificate for the point to trust; nothing where the link is plain
	Steps    []CommissioningWord // of the built-in run
	Maps     []string            // of registers, built in
	Pretends bool                // a pretended point can be had, for training
	Versions []string            // that it speaks
	Faults   []CommissioningWord // that it shows to order
}

// CommissioningWord is something to choose, and what it says.
type CommissioningWord struct{ Word, Says string }

// CommissioningOrder is what a run is begun with.
type CommissioningOrder struct {
	Act, Who  string // of the form
	Job       string
	Model     *model.Model
	Point     string
	Identity  string // of the point on the link
	Card      string // number of a card that is allowed
	Unknown   string // and of one that is not
	Made      bool   // a password is made for the link
	Password  string // or given; none if empty
	LeaveOut  []string
	Steps     document.File // a run of one's own; none if it has no name
	Meter     string        // address of a reference meter; none if empty
	Map       string
	Registers document.File // a map of one's own
	Unit      uint8
	Longest   time.Duration
	Pretended bool
	OCPP      string
	Faults    []string
	// Keep is called once, when the run has ended, with what it leaves behind.
	Keep func(works.Run) error
}

// CommissioningRun is a run as it stands.
type CommissioningRun struct {
	Act, Who         string // of the form that began it
	Point, Identity  string
	Address          string // to be entered in the point whole
	Central          string // the same without the name
	Secured          string // how the link is secured
	Password         string // made for it; nothing once the point has joined
	Pace             float64
	Now              string // what a person is to do
	Steps            []CommissioningStep
	Settings         []CommissioningSetting
	TurnedAway       []string // who asked to join and was not let, the latest first
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

// Ways to secure a link beyond its certificate.
const (
	plainLink  = "none"
	madeHere   = "made"
	ofThePoint = "own"
)

// commissioningWish is what is asked for, as it was typed or sent.
type commissioningWish struct {
	Point, Identity, Card, UnknownCard string
	Link, Password                     string
	LeaveOut                           []string
	Meter, Map                         string
	Unit, Minutes                      json.Number
	Pretended                          bool
	OCPP                               string
	Faults                             []string
	Steps, Registers                   string // as CSV

	steps, registers table
}

const defaultMinutes = 30

// defaults are what a run is begun with where nothing else is asked for.
func (s *Server) defaults(point string) commissioningWish {
	w := commissioningWish{Point: point, Identity: point, Card: "KNOWN-CARD", UnknownCard: "NO-SUCH-CARD", Link: madeHere, Unit: "1",
		Minutes: json.Number(strconv.Itoa(defaultMinutes))}
	for n := 2; s.Commissioner.Expects(w.Identity); n++ { // another job's point of the same name
		w.Identity = fmt.Sprintf("%s-%d", point, n)
	}
	return w
}

// wishOf reads the form of a run.
func (s *Server) wishOf(r *http.Request) (commissioningWish, error) {
	steps, err := tableOf(r, "steps") // first: it reads the form
	var registers table
	if err == nil {
		registers, err = tableOf(r, "registers")
	}
	f := func(name string) string { return strings.TrimSpace(r.PostFormValue(name)) }
	return commissioningWish{Point: r.PostFormValue("point"), Identity: f("identity"), Card: f("card"), UnknownCard: f("unknown"), Link: f("link"),
		Password: f("password"),
		LeaveOut: r.PostForm["leave-out"], Meter: f("meter"), Map: f("map"), Unit: json.Number(f("unit")), Minutes: json.Number(f("minutes")),
		Pretended: f("pretended") != "", OCPP: f("ocpp"), Faults: r.PostForm["fault"], steps: steps, registers: registers}, err
}

// Carried are the tables that came with the form, to be sent again with it.
func (w commissioningWish) Carried() (c struct{ Steps, Registers *table }) {
	if w.steps.Name != "" {
		c.Steps = &w.steps
	}
	if w.registers.Name != "" {
		c.Registers = &w.registers
	}
	return c
}

// file is the table as a file; no name is none.
func (t table) file() document.File { return document.File{Name: t.Name, Content: t.text} }

// fours cuts a text into fours, to be read off and keyed in.
func fours(text string) []string {
	var out []string
	for part := range slices.Chunk([]byte(text), 4) {
		out = append(out, string(part))
	}
	return out
}

// order is what is asked for as an order, or what is wrong with it.
func (s *Server) order(o *opened, a store.Act, w commissioningWish) (order CommissioningOrder, problems []string) {
	is := s.defaults(w.Point)
	order = CommissioningOrder{Act: a.ID, Who: a.Who, Job: o.ID, Model: o.Model, Point: w.Point, Identity: cmp.Or(w.Identity, w.Point),
		Card: cmp.Or(w.Card, is.Card), Unknown: cmp.Or(w.UnknownCard, is.UnknownCard),
		LeaveOut: w.LeaveOut, Steps: w.steps.file(), Meter: w.Meter, Map: w.Map, Registers: w.registers.file(), Pretended: w.Pretended, OCPP: w.OCPP,
		Faults: w.Faults,
		Keep:   func(run works.Run) error { return s.keepCommissioning(a, run) }}
	wrong := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	switch w.Link {
	case "", plainLink:
	case madeHere:
		order.Made = true
	case ofThePoint:
		if order.Password = w.Password; order.Password == "" {
			wrong("Password of the link: yours is chosen, and none is given.")
		}
	default:
		wrong("How the link is secured is %q: %s, %s or %s is wanted.", w.Link, plainLink, madeHere, ofThePoint)
	}
	unit, err := strconv.ParseUint(string(cmp.Or(w.Unit, is.Unit)), 10, 8)
	if err != nil || unit < 1 || unit > 247 { // Modbus over serial line 2.2
		wrong("Modbus address of the meter is %q: 1 to 247 is wanted.", w.Unit)
	}
	order.Unit = uint8(unit)
	const mostMinutes = 8 * 60
	minutes, err := strconv.ParseUint(string(cmp.Or(w.Minutes, is.Minutes)), 10, 16)
	if err != nil || minutes < 1 || minutes > mostMinutes {
		wrong("The run ends by itself after %q: 1 to %d minutes are wanted.", w.Minutes, mostMinutes)
	}
	order.Longest = time.Duration(minutes) * time.Minute
	return order, problems
}

// commissionedPoint is the point that a request is about.
func (o *opened) commissionedPoint(name string) (string, error) {
	if slices.ContainsFunc(o.Job.Points, func(p works.Point) bool { return p.Name == name }) {
		return name, nil
	}
	return "", notInJob
}

func commissioningURL(job, point string) string {
	return "/jobs/" + job + "/commissioning?point=" + url.QueryEscape(point)
}

// commissioningPage is the page of one point's runs.
type commissioningPage struct {
	Frame
	Point, Of string
	Can       bool
	Offer     CommissioningOffer
	Entered   commissioningWish
	Problems  []string
	Run       *CommissioningRun
	Elsewhere string // address of the run of another point
	Code      template.HTML
	Past      []pastRun // the newest first
}

// Leaves reports whether a step is left out, Shows whether a fault is chosen.
func (p *commissioningPage) Leaves(step string) bool {
	return slices.Contains(p.Entered.LeaveOut, step)
}
func (p *commissioningPage) Shows(fault string) bool { return slices.Contains(p.Entered.Faults, fault) }

func (s *Server) commissioningPage(r *http.Request, o *opened, point string) (*commissioningPage, error) {
	page := &commissioningPage{Frame: o.frame(s, r, "Commissioning of "+point, "drawing"), Point: point, Of: works.Under("points", point),
		Can: s.Commissioner != nil, Past: o.ran(point)}
	if !page.Can {
		return page, nil
	}
	page.Offer, page.Entered = s.Commissioner.Offers(), s.defaults(point)
	if run, begun := s.Commissioner.Run(o.ID); begun && run.Point == point {
		page.Run = &run
		if !run.Over {
			page.Again = 3
			code, err := document.QR("address", "Address to enter in "+point, run.Address, 32)
			if err != nil {
				return nil, err
			}
			page.Code = picture(code, true)
		}
	} else if begun && !run.Over {
		page.Elsewhere = commissioningURL(o.ID, run.Point)
	}
	return page, nil
}

// ran are the runs of a point that the job tells of, the newest first.
func (o *opened) ran(point string) []pastRun {
	runs := o.Job.RunsOf(point, trade.Commissioning)
	slices.Reverse(runs)
	slices.SortStableFunc(runs, func(a, b works.Run) int { return strings.Compare(clock(b.When), clock(a.When)) })
	var out []pastRun
	for _, r := range runs {
		past := pastRun{Point: r.Point, When: r.When, Who: r.Who, Over: paper.RunOver(r), Ended: r.Ended, About: paper.RunAbout(r), Sum: paper.RunSum(r),
			Pretended: r.Trained()}
		for _, s := range r.Steps {
			var v finding.Verdict
			_ = v.UnmarshalText([]byte(s.Verdict)) // what the point does not support is not known
			past.Steps = append(past.Steps, pastStep{s.Key, s.What, s.Verdict, paper.StepSeen(s), paper.StepWhy(s), v})
		}
		for _, c := range r.Settings {
			past.Settings = append(past.Settings, setState{c.Name, c.Before, c.After, c.Why})
		}
		for _, said := range []setSaid{{"serial number", r.Serial}, {"firmware", r.Firmware}} {
			if said.Value != "" {
				past.Says = append(past.Says, said)
			}
		}
		out = append(out, past)
	}
	return out
}

// pastRun is one run of the past in words.
type pastRun struct {
	Point     string
	When      string
	Who       string
	Over      string // the protocol, and whether it was training
	Pretended bool
	Ended     string // how; nothing in older runs
	About     string // when it began, how the link was secured, what was left out
	Sum       string
	Steps     []pastStep
	Settings  []setState
	Says      []setSaid // what the point says it is
}

type pastStep struct {
	Key     string
	What    string
	Outcome string
	Seen    string
	Why     string
	Verdict finding.Verdict
}

// setState is a setting before a run and after it.
type setState struct{ Name, Before, After, Why string }

type setSaid struct{ What, Value string }

func (s *Server) commissioning(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	point, err := o.commissionedPoint(r.URL.Query().Get("point"))
	if err != nil {
		return err
	}
	page, err := s.commissioningPage(r, o, point)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "commissioning.html", page)
}

func (s *Server) beginCommissioning(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	wish, unread := s.wishOf(r)
	point, err := o.commissionedPoint(wish.Point)
	if err != nil {
		return err
	}
	a := s.act(r, o.ID, "commissioning of point "+point)
	problems, err := s.beginRun(o, a, wish, unread)
	if err != nil {
		return err
	}
	page, err := s.commissioningPage(r, o, point)
	if err != nil {
		return err
	}
	switch run := page.Run; {
	case len(problems) > 0:
		page.Form = cmp.Or(r.PostFormValue("act"), page.Form)
		page.Entered, page.Problems = wish, problems
		return render(w, http.StatusUnprocessableEntity, "commissioning.html", page)
	case run != nil && run.Password != "" && run.Act == a.ID && run.Who == s.Who(r):
		// Only the answer to the form shows it: once, to who sent the form.
		page.Again = 0
		return render(w, http.StatusOK, "password.html", page)
	}
	http.Redirect(w, r, commissioningURL(o.ID, point), http.StatusSeeOther)
	return nil
}

// beginRun begins a run, once for one act, or says what keeps it from beginning.
func (s *Server) beginRun(o *opened, a store.Act, wish commissioningWish, unread error) (problems []string, err error) {
	switch {
	case s.Commissioner == nil:
		return nil, Refuse(http.StatusForbidden, "A charge point is commissioned with signal, on the server's machine or its network.")
	case wish.Pretended && !s.Commissioner.Offers().Pretends:
		return nil, Refuse(http.StatusForbidden, "A point is pretended only among the invented jobs.")
	case slices.ContainsFunc(o.Acts, func(known store.Act) bool { return known.ID == a.ID }): // sent again, and over
		return nil, nil
	case unread != nil:
		status, lines := explain(unread)
		if status == http.StatusInternalServerError {
			return nil, unread
		}
		return lines, nil
	}
	order, problems := s.order(o, a, wish)
	if len(problems) > 0 {
		return problems, nil
	}
	if err := s.Commissioner.Begin(order); err != nil && !errors.Is(err, ErrUnderWay) {
		return strings.Split(err.Error(), "\n"), nil
	}
	return nil, nil
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

// commissioningEvidence and commissioningMessages hand out what the last run
// saw. It is held until the server ends or another run begins.
func (s *Server) commissioningEvidence(w http.ResponseWriter, r *http.Request) error {
	return s.handOutRun(w, r, "evidence.json", "application/json", Commissioner.Evidence)
}

func (s *Server) commissioningMessages(w http.ResponseWriter, r *http.Request) error {
	return s.handOutRun(w, r, "messages.jsonl", "application/jsonl", Commissioner.Messages)
}

func (s *Server) handOutRun(w http.ResponseWriter, r *http.Request, name, kind string, of func(Commissioner, string) ([]byte, bool)) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if s.Commissioner == nil {
		return notInJob
	}
	text, there := of(s.Commissioner, o.ID)
	if !there {
		return Refuse(http.StatusNotFound, "No messages of a run are held: they are held from its end until the server ends or another run of the job begins. "+
			"Its outcome is in the record.")
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, err = w.Write(text)
	return err
}

// linkCertificate hands out the certificate that a point must trust.
func (s *Server) linkCertificate(w http.ResponseWriter, r *http.Request) error {
	if s.Commissioner == nil || len(s.Commissioner.Offers().Trust) == 0 {
		return store.ErrNotFound
	}
	w.Header().Set("Content-Type", "application/x-pem-file")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": "link.pem"}))
	_, err := w.Write(s.Commissioner.Offers().Trust)
	return err
}

// keepCommissioning enters what a run left behind, under the ID of the form
// that began it, so that it is entered once.
func (s *Server) keepCommissioning(a store.Act, run works.Run) error {
	if len(run.Steps) == 0 {
		return nil
	}
	ctx := context.Background() // the request that began the run is long answered
	acts, err := s.Store.Acts(ctx, a.Job, 0)
	if err != nil {
		return fmt.Errorf("read the journal: %w", err)
	}
	a.When = Stamp(s.Now())
	run.Who, run.When = a.Who, a.When
	a.Entries = job.Added("runs", a.ID, len(store.Record(acts).Items("runs"))+1, run)
	_, err = s.keep(ctx, a.Stamped())
	return err
}
