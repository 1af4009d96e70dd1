package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
)

// standIn is a commissioner whose run stands still.
type standIn struct {
	order *CommissioningOrder
	run   CommissioningRun
	ended int
}

func (c *standIn) Begin(order CommissioningOrder) error {
	if c.order != nil && !c.run.Over {
		return ErrUnderWay
	}
	c.order = &order
	c.run = CommissioningRun{Point: order.Point, Identity: order.Identity, Address: "ws://127.0.0.1:9000/" + order.Identity, Central: "ws://127.0.0.1:9000/", Pace: 1}
	return nil
}
func (c *standIn) Run(string) (CommissioningRun, bool) { return c.run, c.order != nil }
func (c *standIn) End(string)                          { c.ended++ }
func (c *standIn) Pretends() bool                      { return false }

func TestWithoutAServerNothingIsCommissioned(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s) + "/commissioning"
	if _, body := get(t, h, page+"?point=CP1"); !strings.Contains(body, "with signal") || strings.Contains(body, `name="card"`) {
		t.Error("the page does not say where a point is commissioned")
	}
	if resp, _ := post(t, h, page, url.Values{"act": {"r1"}, "point": {"CP1"}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("a run where none can be answers %s", resp.Status)
	}
	if resp, _ := get(t, h, page+"?point=CP9"); resp.StatusCode != http.StatusNotFound {
		t.Errorf("a point there is not answers %s", resp.Status)
	}
}

// TestStepsShowAsTheyEnd follows a run on its page, and enters its outcome
// once.
func TestStepsShowAsTheyEnd(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	runs := &standIn{}
	s.Commissioner = runs
	h := s.Handler()
	jobID := jobOf(t, s)
	page := "/jobs/" + jobID + "/commissioning"
	if _, body := get(t, h, page+"?point=CP1"); strings.Contains(body, "pretended") {
		t.Error("a pretended point is offered on a true job")
	}
	if resp, body := post(t, h, page, url.Values{"act": {"r1"}, "point": {"CP1"}, "identity": {"left post"}}); resp.StatusCode != http.StatusSeeOther || runs.order.Identity != "left post" {
		t.Fatalf("the run answers %s: %s", resp.Status, body)
	}
	_, body := get(t, h, page+"?point=CP1")
	for _, want := range []string{"Waiting for the point to join", "ws://127.0.0.1:9000/left post", `http-equiv="refresh"`, "<svg", "Stop the run"} {
		if !strings.Contains(body, want) {
			t.Errorf("a run that has begun does not show %q", want)
		}
	}
	runs.run.Steps = []CommissioningStep{
		{finding.Finding{What: "takes a limit", Verdict: finding.Fails, Next: "look at its load setting"}, "fails"},
		{finding.Finding{What: "holds a list of cards", Verdict: finding.NotKnown}, "not supported"}}
	runs.run.Now = "present the card at the point"
	_, body = get(t, h, page+"?point=CP1")
	for _, want := range []string{"takes a limit", "<b>fails</b>", "look at its load setting", "<b>not supported</b>", "present the card"} {
		if !strings.Contains(body, want) {
			t.Errorf("a run under way does not show %q", want)
		}
	}
	post(t, h, page+"/end", url.Values{"point": {"CP1"}})
	if runs.ended != 1 {
		t.Error("the run is not stopped")
	}
	outcome := []job.Reading{{At: "CP1", Reading: "commissioning, limit", Value: "fails"}, {At: "CP1", Reading: "commissioning, cards", Value: "not supported"}}
	for range 2 {
		if err := runs.order.Keep(outcome); err != nil {
			t.Fatal(err)
		}
	}
	runs.run.Over, runs.run.Kept = true, true
	if _, body = get(t, h, page+"?point=CP1"); strings.Contains(body, `http-equiv="refresh"`) || !strings.Contains(body, "Begin a run") {
		t.Error("a run that has ended goes on asking, or offers no other")
	}
	if _, file := get(t, h, "/jobs/"+jobID+"/file"); strings.Count(file, "commissioning, limit") != 1 || strings.Count(file, "commissioning, cards") != 1 {
		t.Error("the outcome is not entered once")
	}
	before := runs.order
	post(t, h, page, url.Values{"act": {"r1"}, "point": {"CP1"}})
	if runs.order != before {
		t.Error("a form that was sent again begins another run")
	}
}

// TestOneRunAJob leads from a second point to the run of the first.
func TestOneRunAJob(t *testing.T) {
	s := served(t, "pool/job.yaml")
	runs := &standIn{}
	s.Commissioner = runs
	h := s.Handler()
	jobID := jobOf(t, s)
	page := "/jobs/" + jobID + "/commissioning"
	acts, _ := s.Store.Acts(t.Context(), jobID, 0)
	o, err := fold(jobID, acts)
	if err != nil {
		t.Fatal(err)
	}
	first, second := o.Job.Points[0].Name, o.Job.Points[1].Name
	post(t, h, page, url.Values{"act": {"r1"}, "point": {first}})
	post(t, h, page, url.Values{"act": {"r2"}, "point": {second}})
	if runs.order.Point != first {
		t.Errorf("the run is of %s, want %s", runs.order.Point, first)
	}
	if _, body := get(t, h, page+"?point="+url.QueryEscape(second)); !strings.Contains(body, "To that run") || strings.Contains(body, "Begin a run") {
		t.Error("a second run is offered while one is under way")
	}
}
