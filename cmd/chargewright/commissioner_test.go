package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"html"
	"io"
	"log"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"
	"github.com/simonvetter/modbus"

	"chargewright/commission"
	"chargewright/ocpp"
	"chargewright/trainer"
	"chargewright/web"
)

// body is what the pages answer to a form, whole.
func body(t *testing.T, h http.Handler, address string, form url.Values) (int, string) {
	t.Helper()
	resp := sent(t, h, address, form)
	var b bytes.Buffer
	b.ReadFrom(resp.Body)
	return resp.StatusCode, b.String()
}

// ended waits until the run of a page is over and returns the page.
func ended(t *testing.T, h http.Handler, page string) string {
	t.Helper()
	for {
		if now := shown(t, h, page); strings.Contains(now, "The run has ended") {
			return now
		}
		select {
		case <-t.Context().Done():
			t.Fatal("the run does not end")
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// TestTwoJobsAreCommissionedAtOnce runs two jobs behind one gate, over TLS,
// each with a password of its own and one with a fault to order; and turns a
// stranger away in words both pages show.
func TestTwoJobsAreCommissionedAtOnce(t *testing.T) {
	t.Parallel()
	h, _ := served(t, serveCmd{Demo: true, pointGate: pointGate{Points: "127.0.0.1:0", PointTLS: true}})
	jobs := []string{brought(t, h, "../../examples/bakery/job.yaml"), brought(t, h, "../../examples/bakery/job.yaml")}
	form := func(act, identity string, more ...string) url.Values {
		v := url.Values{"act": {act}, "point": {"CP1"}, "identity": {identity}, "link": {"made"}, "pretended": {"yes"}, "ocpp": {"1.6"}, "leave-out": {"delay", "reboot"}}
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
	if status, says := body(t, h, jobs[0]+"/commissioning", form("run-1", "CP1")); status != http.StatusSeeOther {
		t.Fatalf("the run answers %d: %s", status, says)
	}
	first := shown(t, h, jobs[0]+"/commissioning?point=CP1")
	if !strings.Contains(first, "wss://127.0.0.1:") || !strings.Contains(first, "security profile 2") {
		t.Errorf("the page does not say how the link is secured: %s", first)
	}
	if status, says := body(t, h, jobs[1]+"/commissioning", form("run-2", "CP1")); status != http.StatusUnprocessableEntity || !strings.Contains(says, "give this one another name") {
		t.Errorf("a second point of one name answers %d: %s", status, says)
	}
	if form := shown(t, h, jobs[1]+"/commissioning?point=CP1"); !strings.Contains(form, `value="CP1-2"`) {
		t.Error("the second job is not proposed a name that is free")
	}
	if status, says := body(t, h, jobs[1]+"/commissioning", form("run-2", "CP1-2", "leave-out", "dance", "fault", "sulks")); status != http.StatusUnprocessableEntity || !strings.Contains(says, "no step &#34;dance&#34;") || !strings.Contains(says, "fault is &#34;sulks&#34;") {
		t.Errorf("a step and a fault there are not answer %d: %s", status, says)
	}
	if status, says := body(t, h, jobs[1]+"/commissioning", form("run-2", "CP1-2", "leave-out", "delay", "fault", "ignores-limit", "ocpp", "2.0.1")); status != http.StatusSeeOther {
		t.Fatalf("the second run answers %d: %s", status, says)
	}

	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM([]byte(shown(t, h, "/commissioning/certificate"))) {
		t.Fatal("no certificate to trust is handed out")
	}
	central := regexp.MustCompile(`wss://127\.0\.0\.1:\d+/`).FindString(first)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}}}
	_, resp, err := websocket.Dial(t.Context(), central+"CP7", &websocket.DialOptions{HTTPClient: client, Subprotocols: []string{"ocpp1.6"}})
	if err == nil || resp == nil || resp.StatusCode != http.StatusNotFound {
		t.Errorf("a stranger is answered %v, %v", resp, err)
	}
	for _, job := range jobs {
		if now := shown(t, h, job+"/commissioning?point=CP1"); !strings.Contains(now, "CP7, at ") || !strings.Contains(now, "no charge point of that name is expected here") {
			t.Error("the page of a run does not show who was turned away")
		}
	}
	over := []string{ended(t, h, jobs[0]+"/commissioning?point=CP1"), ended(t, h, jobs[1]+"/commissioning?point=CP1")}
	if !strings.Contains(over[0], " 0 failed") || strings.Contains(over[1], " 0 failed") {
		t.Errorf("the runs are not each its own: %s\n%s", over[0], over[1])
	}
	for i, version := range []string{"1.6", "2.0.1"} {
		text := shown(t, h, jobs[i]+"/commissioning/evidence")
		var evidence struct {
			OCPP, Link string
			Steps      []any
			LeftOut    []string
		}
		messages := filepath.Join(t.TempDir(), "messages.jsonl")
		if err := replace(messages, []byte(shown(t, h, jobs[i]+"/commissioning/messages"))); err != nil {
			t.Fatal(err)
		}
		if code, said := typed(t, "hear", messages); code != exitOpen || !strings.Contains(said, "A card was refused") {
			t.Errorf("the messages of run %d are heard with exit %d: %s", i+1, code, said)
		}
		if err := json.Unmarshal([]byte(text), &evidence); err != nil || evidence.OCPP != version || len(evidence.Steps) < 15 || strings.Count(text, `"from": "point"`) < 20 || len(evidence.LeftOut) == 0 || !strings.Contains(evidence.Link, "profile 2") {
			t.Errorf("the evidence of run %d: %v, OCPP %s, %d steps, left out %v, %s", i+1, err, evidence.OCPP, len(evidence.Steps), evidence.LeftOut, evidence.Link)
		}
	}
}

// TestARunOutlivesTheServer commissions a true job with a point that joins
// over TLS with the password that was shown, then starts the server again: the
// run is still told of, and its form begins no other.
func TestARunOutlivesTheServer(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	c := serveCmd{Data: filepath.Join(dir, "jobs.sqlite"), Listen: "127.0.0.1:0", keyFolder: keyFolder{filepath.Join(dir, "keys")}, pointGate: pointGate{Points: "127.0.0.1:0", PointTLS: true}}
	start := func() (http.Handler, func()) {
		pages, done, err := c.handler(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return web.Secure(pages), func() {
			if err := done(); err != nil {
				t.Error(err)
			}
		}
	}
	h, stop := start()
	job := brought(t, h, "../../examples/bakery/job.yaml")
	form := url.Values{"act": {"run-1"}, "point": {"CP1"}, "identity": {"left post"}, "link": {"made"}}
	for _, s := range commission.Steps() {
		switch s.Key {
		case "identity", "settings", "clock":
		default:
			form.Add("leave-out", s.Key)
		}
	}
	status, page := body(t, h, job+"/commissioning", form)
	if status != http.StatusOK {
		t.Fatalf("the run answers %d: %s", status, page)
	}
	password := ""
	for _, part := range regexp.MustCompile(`<span>([0-9a-f]{4})</span>`).FindAllStringSubmatch(page, -1) {
		password += part[1]
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM([]byte(shown(t, h, "/commissioning/certificate")))
	ctx, cancel := context.WithCancel(t.Context())
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		_ = trainer.New(ocpp.NewClock(time.Now(), 1), trainer.Options{Central: regexp.MustCompile(`wss://127\.0\.0\.1:\d+/`).FindString(page), Identity: "left post", Password: password,
			Serial: "SERIAL-9", TLS: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}}).Run(ctx)
	}()
	if over := ended(t, h, job+"/commissioning?point=CP1"); !strings.Contains(over, "3 met, 0 failed") {
		t.Errorf("the run ends otherwise than it should: %s", over)
	}
	for _, where := range []string{"/commissioning?point=CP1", "/commissioning/evidence", "/commissioning/messages", "/file", "/history"} {
		if len(password) != 32 || strings.Contains(shown(t, h, job+where), password) {
			t.Errorf("the password %q is in %s", password, where)
		}
	}
	cancel()
	<-gone
	stop()

	h, stop = start()
	defer stop()
	_, past, _ := strings.Cut(html.UnescapeString(shown(t, h, job+"/commissioning?point=CP1")), "Past runs")
	for _, want := range []string{"3 met, 0 failed", "ended, with steps left out", "TLS and password (security profile 2)", "SERIAL-9", "introduces itself", "waits a random time"} {
		if !strings.Contains(past, want) {
			t.Errorf("after the server was started again a past run does not show %q: %s", want, past)
		}
	}
	if status, _ := body(t, h, job+"/commissioning", form); status != http.StatusSeeOther || strings.Contains(shown(t, h, job+"/commissioning?point=CP1"), "Under way") {
		t.Errorf("the form of a run that is over, sent again, answers %d", status)
	}
}

// stoppedMeter is a meter whose energy register stands still, at one address.
type stoppedMeter struct{ unit uint8 }

func (m stoppedMeter) HandleInputRegisters(r *modbus.InputRegistersRequest) ([]uint16, error) {
	if r.UnitId != m.unit || r.Addr != 100 || r.Quantity != 2 {
		return nil, modbus.ErrIllegalDataAddress
	}
	return []uint16{0, 41_250}, nil
}
func (stoppedMeter) HandleHoldingRegisters(*modbus.HoldingRegistersRequest) ([]uint16, error) {
	return nil, modbus.ErrIllegalFunction
}
func (stoppedMeter) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}
func (stoppedMeter) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

// TestAReferenceMeterIsReadAlong gives a run a meter, by a map of its own, whose
// register stands still (served by an implementation of Modbus that is not
// ours): the energy the point counts is held against it, and fails.
func TestAReferenceMeterIsReadAlong(t *testing.T) {
	t.Parallel()
	probe, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := probe.Addr().String()
	probe.Close()
	h, _ := served(t, serveCmd{Demo: true})
	job := brought(t, h, "../../examples/bakery/job.yaml")
	registers := "what,line,function,register,type,word order,scale\nenergy,,input,100,uint32,high first,1\n"
	send := func(act string) (int, string) {
		t.Helper()
		var b bytes.Buffer
		form := multipart.NewWriter(&b)
		for name, value := range map[string]string{"act": act, "point": "CP1", "pretended": "yes", "meter": "tcp://" + address, "unit": "7"} {
			form.WriteField(name, value)
		}
		for _, s := range commission.Steps() {
			if !slices.Contains([]string{"identity", "settings", "design", "vehicle", "start", "samples", "stop", "energy"}, s.Key) {
				form.WriteField("leave-out", s.Key)
			}
		}
		part, err := form.CreateFormFile("registers", "mine.csv")
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(part, registers)
		form.Close()
		r := httptest.NewRequest("POST", job+"/commissioning", &b)
		r.Header.Set("Content-Type", form.FormDataContentType())
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code, w.Body.String()
	}
	if status, says := send("run-0"); status != http.StatusUnprocessableEntity || !strings.Contains(says, "reach the meter at tcp://"+address) || !strings.Contains(says, "In hand: mine.csv") {
		t.Errorf("a meter that is not there answers %d: %s", status, says)
	}
	meter, err := modbus.NewServer(&modbus.ServerConfiguration{URL: "tcp://" + address, Timeout: 30 * time.Second, MaxClients: 5, Logger: log.New(io.Discard, "", 0)}, stoppedMeter{7})
	if err != nil {
		t.Fatal(err)
	}
	if err := meter.Start(); err != nil {
		t.Fatal(err)
	}
	defer meter.Stop()
	if status, says := send("run-1"); status != http.StatusSeeOther {
		t.Fatalf("the run answers %d: %s", status, says)
	}
	if over := ended(t, h, job+"/commissioning?point=CP1"); !strings.Contains(over, " 1 failed") || !strings.Contains(over, "the reference meter says 0 Wh") {
		t.Errorf("the meter that stands still is not held against the point: %s", over)
	}
}

// TestTheGateOfThePages refuses settings with which no point could join.
func TestTheGateOfThePages(t *testing.T) {
	dir := t.TempDir()
	certificate, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	made, text, err := ocpp.Certificate(time.Now(), time.Hour, "192.0.2.10")
	if err != nil {
		t.Fatal(err)
	}
	if err := replace(certificate, text); err != nil {
		t.Fatal(err)
	}
	if err := replace(key, keyText(t, made)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		gate pointGate
		want string
	}{
		{pointGate{Points: "127.0.0.1:0", PointCert: certificate}, "go together"},
		{pointGate{Points: "127.0.0.1:0", PointCert: certificate, PointKey: key, PointTLS: true}, "not both"},
		{pointGate{Points: "127.0.0.1:0", PointCert: certificate, PointKey: certificate}, "read --commission-cert"},
		{pointGate{Points: "127.0.0.1:0", PointCert: certificate, PointKey: key}, "not made out to 127.0.0.1"},
		{pointGate{Points: "192.0.2.10:0", PointCert: certificate, PointKey: key}, ""},
		{pointGate{Points: "127.0.0.1:0"}, ""},
	} {
		if _, err := tt.gate.secured(time.Now()); (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: %v, want %q", tt.gate, err, tt.want)
		}
	}
}

// TestTheLogHearsOfAStrangerOnce writes a name that goes on trying once a
// minute, and never a point that is away as part of its run.
func TestTheLogHearsOfAStrangerOnce(t *testing.T) {
	var written bytes.Buffer
	told := tellOnce(slog.New(slog.NewTextHandler(&written, nil)))
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	for _, m := range []ocpp.Message{
		{At: at, Point: "CP7", Remark: "refused: no charge point of that name is expected here"},
		{At: at.Add(2 * time.Second), Point: "CP8", Remark: "refused: no charge point of that name is expected here"},
		{At: at.Add(5 * time.Second), Point: "CP7", Remark: "refused: no charge point of that name is expected here"},
		{At: at.Add(10 * time.Second), Point: "CP1", Remark: ocpp.CutOnPurpose},
		{At: at.Add(2 * time.Minute), Point: "CP7", Remark: "refused: no charge point of that name is expected here"},
	} {
		told(m)
	}
	if n := strings.Count(written.String(), "CP7"); n != 2 || strings.Contains(written.String(), "CP1") {
		t.Errorf("the log reads: %s", &written)
	}
}

// keyText is the key of a certificate as a file.
func keyText(t *testing.T, c tls.Certificate) []byte {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
}
