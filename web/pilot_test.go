package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/hear"
	"chargewright/meter"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// TestPilotOnAPage: 6.02 V is state C, −11.9 V a sound negative peak, 1 kHz the
// oscillator (IEC 61851-1 Table A.4); a duty of 53.3 % offers 31.98 A (Annex A: 0.6
// A for each per cent), the design's of CP1.
func TestPilotOnAPage(t *testing.T) {
	for _, file := range []string{"bakery/job.yaml", "terrace/job.yaml"} {
		s := served(t, file)
		h := Secure(s.Handler())
		id := jobOf(t, s)
		address := "/jobs/" + id + "/pilot"
		form := url.Values{"act": {"p1"}, "point": {"CP1"}, "state": {"C"}, "high": {"6.02"}, "low": {"−11.9 V"}, "duty": {"53.3"}, "frequency": {"1000"}}
		_, page := post(t, h, address, form)
		for _, want := range []string{"6.02 V is state C, as set", "53.3 % offers 31.98 A; the design", `value="−11.9 V"`, "Keep it in the record", "output dead"} {
			if !strings.Contains(page, want) {
				t.Errorf("%s: the page does not say %q: %s", file, want, wordsOf(page))
			}
		}
		if acts, _ := s.Store.Acts(t.Context(), id, 0); len(acts) != 1 {
			t.Errorf("judging stored %d acts", len(acts)-1)
		}
		for range 2 { // sent twice, kept once
			if resp, body := post(t, h, address+"/keep", form); resp.StatusCode != http.StatusSeeOther {
				t.Fatalf("%s: %s", resp.Status, wordsOf(body))
			}
		}
		acts, _ := s.Store.Acts(t.Context(), id, 0)
		if len(acts) != 2 {
			t.Fatalf("%d acts, want the file and the readings", len(acts))
		}
		o, err := fold(id, acts)
		if err != nil || len(o.Faults) > 0 {
			t.Fatalf("%v %v", err, o.Faults)
		}
		kept := false
		for _, r := range o.Job.RunsOf("CP1", trade.ControlPilot) {
			kept = kept || slices.ContainsFunc(r.Steps, func(s works.RunStep) bool { return s.Key == "level" && s.Verdict == "meets" })
		}
		if !kept {
			t.Errorf("the level is not in the record: %v", o.Job.Runs)
		}
	}
}

// TestPilotMisread keeps what was typed and says where it is wrong.
func TestPilotMisread(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	for field, wrong := range map[string][2]string{"high": {"six", "Positive level"}, "frequency": {"fast", "Frequency"}, "level-B": {"nine", "Levels of the states"}, "state": {"Z", "is set to"}, "point": {"CP9", "CP9"}} {
		resp, page := post(t, h, "/jobs/"+id+"/pilot", url.Values{field: {wrong[0]}})
		if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, wrong[1]) {
			t.Errorf("%s %s answers %s: %s", field, wrong[0], resp.Status, wordsOf(page))
		}
		if resp, page := post(t, h, "/jobs/"+id+"/pilot/keep", url.Values{field: {wrong[0]}}); resp.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("kept, %s %s answers %s: %s", field, wrong[0], resp.Status, wordsOf(page))
		}
	}
	if _, page := upload(t, h, "/jobs/"+id+"/pilot", url.Values{"state": {"B"}}, map[string]string{"trace": "bakery/pilot.csv"}); !strings.Contains(page, "is state") || !strings.Contains(page, "trace-carried") {
		t.Errorf("the trace is not read: %s", wordsOf(page))
	}
}

// TestHearOnAPage tells the invented log as the command does.
func TestHearOnAPage(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	at := "/jobs/" + jobOf(t, s) + "/hear"
	log, err := os.ReadFile("../examples/bakery/ocpp.log")
	if err != nil {
		t.Fatal(err)
	}
	want, err := hear.Hear(log)
	if err != nil || len(want.Heard) == 0 {
		t.Fatalf("%v: the example tells nothing", err)
	}
	_, page := upload(t, h, at, nil, map[string]string{"log": "bakery/ocpp.log"})
	words := wordsOf(page)
	for _, heard := range want.Heard {
		if !strings.Contains(words, capital(heard.Happened)) {
			t.Errorf("the page does not tell %q", heard.Happened)
		}
	}
	if resp, page := upload(t, h, at, nil, map[string]string{"log": "bakery/logger.csv"}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "holds no OCPP message") {
		t.Errorf("a table answers %s", resp.Status)
	}
	if resp, page := upload(t, h, at, nil, nil); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "Choose the log first") {
		t.Errorf("no log answers %s", resp.Status)
	}
}

// steps is a meter whose readings are set by hand.
type steps struct {
	now  meter.Reading
	fail error
}

func (m *steps) Read(_ context.Context, o MeterOrder) (meter.Reading, error) {
	if len(o.Registers) == 0 || o.Unit != 7 {
		return m.now, errors.New("not the meter that was asked for")
	}
	return m.now, m.fail
}

func (m *steps) Scan(_ context.Context, _ MeterOrder, from, to uint8) ([]string, error) {
	if from <= 7 && 7 <= to {
		return []string{"address 7 answers"}, m.fail
	}
	return nil, m.fail
}

// TestMeterOnAPage: a load of 13 A switched on L2 between two readings shows as
// 13 A more there, and then as 13 A less with the clamp turned (arithmetic by
// hand). Without a server the page says that it cannot.
func TestMeterOnAPage(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	m := &steps{}
	s.Meters = m
	h := Secure(s.Handler())
	at := "/jobs/" + jobOf(t, s) + "/meter"
	form := url.Values{"do": {"read"}, "address": {"tcp://192.0.2.7:502"}, "unit": {"7"}, "map": {"float-high-word-first"}}
	amps := func(l2 quantity.Amperes) {
		for k, i := range []quantity.Amperes{20, l2, 25} {
			m.now.Current[k] = quantity.Known(i)
		}
	}
	amps(31)
	_, page := post(t, h, at, form)
	if !strings.Contains(page, "31 A") {
		t.Fatalf("the reading is not shown: %s", wordsOf(page))
	}
	for k, v := range fieldsOf(t, page, at) {
		form[k] = v
	}
	form.Set("do", "prove")
	form.Set("load", "13")
	form.Set("on", "L2")
	for now, want := range map[quantity.Amperes]string{44: "<b>meets</b>", 18: "the wrong way. The sign", 31: "no channel follows the load"} {
		amps(now)
		if resp, page := post(t, h, at, form); !strings.Contains(page, want) {
			t.Errorf("%v: %s without %q: %s", now, resp.Status, want, wordsOf(page))
		}
	}
	form.Set("do", "scan")
	if _, page := post(t, h, at, form); !strings.Contains(page, "Address 7 answers") || !strings.Contains(page, `id="from" name="from" value="9"`) {
		t.Errorf("who answers: %s", wordsOf(page))
	}
	form.Set("do", "read")
	m.fail = errors.New("no answer from the meter")
	if resp, page := post(t, h, at, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "no answer from the meter") {
		t.Errorf("a silent meter answers %s", resp.Status)
	}
	for field, wrong := range map[string]string{"address": "http://192.0.2.7", "unit": "300", "map": "/etc/passwd.csv"} {
		bad := url.Values{"do": {"read"}, "address": {"tcp://192.0.2.7:502"}, "unit": {"7"}, "map": {"float-high-word-first"}}
		bad.Set(field, wrong)
		if resp, _ := post(t, h, at, bad); resp.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s %s answers %s", field, wrong, resp.Status)
		}
	}
	s.Meters = nil
	if resp, page := post(t, h, at, form); resp.StatusCode != http.StatusForbidden || !strings.Contains(page, "Not from here") {
		t.Errorf("without a server it answers %s: %s", resp.Status, wordsOf(page))
	}
}

// TestPointOfAnEmptyJob: nothing to hold a measurement against is said.
func TestPointOfAnEmptyJob(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, _ := post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	at := resp.Header.Get("Location")
	for _, page := range []string{"/pilot", "/hear", "/meter"} {
		if resp, body := get(t, h, at+page); resp.StatusCode != http.StatusOK {
			t.Errorf("%s answers %s: %s", page, resp.Status, wordsOf(body))
		}
	}
	if resp, body := post(t, h, at+"/pilot", url.Values{"point": {"CP1"}, "duty": {"53.3"}}); resp.StatusCode != http.StatusOK || !strings.Contains(body, "<b>not known</b>") {
		t.Errorf("a duty with no design answers %s: %s", resp.Status, wordsOf(body))
	}
}
