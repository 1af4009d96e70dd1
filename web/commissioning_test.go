package web

import (
	"bytes"
	"errors"
	"html"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/trade"
	"chargewright/works"
)

// standIn is a commissioner whose run stands still.
type standIn struct {
	order *CommissioningOrder
	run   CommissioningRun
	ended int
	taken string // a name that is expected already
	trust string
	wrong error
}

func (c *standIn) Begin(order CommissioningOrder) error {
	if c.wrong != nil {
		return c.wrong
	}
	if c.order != nil && c.order.Act == order.Act {
		return nil
	}
	if c.order != nil && !c.run.Over {
		return ErrUnderWay
	}
	c.order = &order
	c.run = CommissioningRun{Act: order.Act, Who: order.Who, Point: order.Point, Identity: order.Identity, Address: "ws://127.0.0.1:9000/" + order.Identity, Central: "ws://127.0.0.1:9000/", Pace: 1}
	if order.Made {
		c.run.Password = "0123456789abcdef0123456789abcdef"
	}
	return nil
}
func (c *standIn) Run(string) (CommissioningRun, bool) { return c.run, c.order != nil }
func (c *standIn) End(string)                          { c.ended++ }
func (c *standIn) Evidence(string) ([]byte, bool)      { return []byte("{}"), c.run.Over }
func (c *standIn) Messages(string) ([]byte, bool)      { return []byte("{}\n"), c.run.Over }
func (c *standIn) Expects(identity string) bool        { return identity == c.taken }
func (c *standIn) Offers() CommissioningOffer {
	return CommissioningOffer{Address: "ws://127.0.0.1:9000/", Secured: "plain", Password: "profile 1", Trust: []byte(c.trust), Steps: []CommissioningWord{{"limit 16 A", "holds 16 A"}, {"delay", "waits a random time"}}, Maps: []string{"float"}}
}

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
	outcome := works.Run{Point: "CP1", Program: trade.Commissioning, Steps: []works.RunStep{{Key: "limit", Verdict: "fails"}, {Key: "cards", Verdict: trade.NotSupported}}}
	for range 2 {
		if err := runs.order.Keep(outcome); err != nil {
			t.Fatal(err)
		}
	}
	runs.run.Over, runs.run.Kept = true, true
	if _, body = get(t, h, page+"?point=CP1"); strings.Contains(body, `http-equiv="refresh"`) || !strings.Contains(body, "Begin a run") {
		t.Error("a run that has ended goes on asking, or offers no other")
	}
	if _, file := get(t, h, "/jobs/"+jobID+"/file"); strings.Count(file, "step: limit") != 1 || strings.Count(file, "step: cards") != 1 {
		t.Error("the outcome is not entered once")
	}
	before := runs.order
	post(t, h, page, url.Values{"act": {"r1"}, "point": {"CP1"}, "identity": {"left post"}})
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

// TestThePasswordOfTheLinkIsShownOnce shows a password that was made in the
// answer to the form, again if the form is sent again, and on no page.
func TestThePasswordOfTheLinkIsShownOnce(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	var log bytes.Buffer
	s.Log = slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	runs := &standIn{trust: "-----BEGIN CERTIFICATE-----"}
	s.Commissioner = runs
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s) + "/commissioning"
	_, body := get(t, h, page+"?point=CP1")
	for _, want := range []string{`value="made" checked`, "profile 1", "all go over TLS", "waits a random time"} {
		if !strings.Contains(body, want) {
			t.Errorf("the form does not show %q", want)
		}
	}
	form := url.Values{"act": {"r1"}, "point": {"CP1"}, "link": {"made"}}
	for range 2 {
		resp, body := post(t, h, page, form)
		if resp.StatusCode != http.StatusOK || !strings.Contains(body, "<span>0123</span><span>4567</span>") || strings.Contains(body, "http-equiv") || resp.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("the form answers %s without the password, or goes away by itself: %s", resp.Status, body)
		}
	}
	if _, body := get(t, h, page+"?point=CP1"); strings.Contains(body, "0123") || !strings.Contains(body, "was shown once") || !strings.Contains(body, "Certificate to trust") {
		t.Error("the page of the run shows the password, or does not say that it was shown")
	}
	other := url.Values{"act": {"r2"}, "point": {"CP1"}, "link": {"made"}}
	if _, body := post(t, h, page, other); strings.Contains(body, "0123") {
		t.Error("another form is answered with the password of this one")
	}
	runs.run.Who = "Ann"
	if _, body := post(t, h, page, form); strings.Contains(body, "0123") {
		t.Error("another person is shown the password")
	}
	runs.run.Who, runs.run.Password = "", "" // the point has joined
	if resp, _ := post(t, h, page, form); resp.StatusCode != http.StatusSeeOther {
		t.Errorf("once the point has joined the form answers %s", resp.Status)
	}
	if _, body := get(t, h, "/commissioning/certificate"); body != runs.trust {
		t.Errorf("the certificate to trust is %q", body)
	}
	if strings.Contains(log.String(), "0123") {
		t.Error("the log holds the password")
	}
}

// TestARunThatIsRefusedKeepsItsForm sends everything the form can hold, is
// refused, and finds it all there again; then takes it all into the order.
func TestARunThatIsRefusedKeepsItsForm(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	runs := &standIn{wrong: errors.New("the run has no step \"dance\" to leave out\nreach the meter at tcp://192.0.2.7:502: no answer"), taken: "CP1"}
	s.Commissioner = runs
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s) + "/commissioning"
	if _, body := get(t, h, page+"?point=CP1"); !strings.Contains(body, `name="identity" value="CP1-2"`) {
		t.Error("a name that is taken is proposed")
	}
	fields := [][2]string{{"act", "r1"}, {"point", "CP1"}, {"identity", "left post"}, {"card", "CARD-7"}, {"unknown", "CARD-8"}, {"link", "own"}, {"password", "sixteen--letters"},
		{"leave-out", "delay"}, {"meter", "tcp://192.0.2.7:502"}, {"map", "float"}, {"unit", "7"}, {"minutes", "45"}}
	send := func(fields [][2]string, files map[string]string) (*http.Response, string) {
		t.Helper()
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for _, f := range fields {
			m.WriteField(f[0], f[1])
		}
		for name, text := range files {
			w, err := m.CreateFormFile(name, name+".csv")
			if err != nil {
				t.Fatal(err)
			}
			io.WriteString(w, text)
		}
		m.Close()
		r := httptest.NewRequest("POST", page, &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Result(), w.Body.String()
	}
	resp, body := send(fields, map[string]string{"steps": "key,step\n", "registers": "what,line\n"})
	if resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a run that is refused answers %s", resp.Status)
	}
	for _, want := range []string{"no step &#34;dance&#34;", "no answer</li>", `value="r1"`, `value="left post"`, `value="CARD-7"`, `value="CARD-8"`, `value="own" checked`, `value="sixteen--letters"`, `value="delay" checked`,
		`value="tcp://192.0.2.7:502"`, "<option selected>float", `name="unit" value="7"`, `name="minutes" value="45"`, "In hand: steps.csv", "In hand: registers.csv"} {
		if !strings.Contains(body, want) {
			t.Errorf("the form that was refused does not hold %s", want)
		}
	}
	carried := regexp.MustCompile(`name="((?:steps|registers)-(?:name|carried))" value="([^"]*)"`).FindAllStringSubmatch(body, -1)
	if len(carried) != 4 {
		t.Fatalf("%d fields carry the files", len(carried))
	}
	for _, c := range carried {
		fields = append(fields, [2]string{c[1], html.UnescapeString(c[2])})
	}
	runs.wrong = nil
	if resp, body := send(fields, nil); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("sent again it answers %s: %s", resp.Status, body)
	}
	o := runs.order
	if o.Identity != "left post" || o.Card != "CARD-7" || o.Unknown != "CARD-8" || o.Made || o.Password != "sixteen--letters" || !slices.Equal(o.LeaveOut, []string{"delay"}) ||
		o.Meter != "tcp://192.0.2.7:502" || o.Map != "float" || o.Unit != 7 || o.Longest != 45*time.Minute || string(o.Steps.Content) != "key,step\n" || string(o.Registers.Content) != "what,line\n" {
		t.Errorf("the order is %+v", o)
	}
	for _, bad := range [][2]string{{"unit", "300"}, {"minutes", "soon"}, {"link", "string"}, {"password", ""}} {
		wrong := slices.Clone(fields)
		for i := range wrong {
			if wrong[i][0] == bad[0] {
				wrong[i][1] = bad[1]
			}
		}
		wrong[0][1] = "r-" + bad[0]
		if resp, body := send(wrong, nil); resp.StatusCode != http.StatusUnprocessableEntity || bad[1] != "" && !strings.Contains(body, bad[1]) {
			t.Errorf("%s %q answers %s", bad[0], bad[1], resp.Status)
		}
	}
}

// TestPastRunsShowFromTheRecord enters two runs, reads them where no server
// is, and from a job file that was carried elsewhere.
func TestPastRunsShowFromTheRecord(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	runs := &standIn{}
	s.Commissioner = runs
	h := s.Handler()
	jobID := jobOf(t, s)
	page := "/jobs/" + jobID + "/commissioning"
	for i, outcome := range [][2]string{{"fails", "32 A"}, {"meets", "15.9 A"}} {
		who := []string{"Ann", "Bert"}[i]
		s.Who = func(*http.Request) string { return who }
		post(t, h, page, url.Values{"act": {"run-" + who}, "point": {"CP1"}})
		if err := runs.order.Keep(works.Run{Point: "CP1", Program: trade.Commissioning, Protocol: "OCPP 1.6", Ended: "ended, with steps left out", Link: "TLS and password (security profile 2)", LeftOut: []string{"waits a random time"},
			Steps:    []works.RunStep{{Key: "limit 16 A", What: "holds 16 A", Verdict: outcome[0], Value: outcome[1], Limit: "16 A", Seen: "as seen by its meter"}},
			Settings: []works.RunSetting{{Name: "HeartbeatInterval", Before: "3600", After: "60", Why: "a lost link is noticed"}}}); err != nil {
			t.Fatal(err)
		}
		runs.run.Over = true
	}
	_, file := get(t, h, "/jobs/"+jobID+"/file")
	s.Commissioner = nil // as on a device out of reach
	elsewhere := served(t)
	if err := elsewhere.Bring(t.Context(), []byte(file)); err != nil {
		t.Fatal(err)
	}
	for name, where := range map[string]*Server{"offline": s, "carried elsewhere": elsewhere} {
		_, body := get(t, where.Handler(), "/jobs/"+jobOf(t, where)+"/commissioning?point=CP1")
		_, past, _ := strings.Cut(body, "Past runs")
		bert, ann := strings.Index(past, ", Bert"), strings.Index(past, ", Ann")
		if bert < 0 || ann < bert {
			t.Errorf("%s: the runs are not there, the newest first: %s", name, past)
			continue
		}
		for _, want := range []string{"1 met, 0 failed", "0 met, 1 failed", "<b>fails</b>", "32 A, limit 16 A", "security profile 2", "left out: waits a random time", "3600 → 60", "a lost link is noticed", "as seen by its meter"} {
			if !strings.Contains(past, want) {
				t.Errorf("%s: a past run does not show %q", name, want)
			}
		}
	}
}
