package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"chargewright/hear"
	"chargewright/prove"
)

// TestSignsAreHeard: every sign that is weighed is a rule that logs are heard by,
// or a word of the protocol that has its meaning.
func TestSignsAreHeard(t *testing.T) {
	rules, err := os.ReadFile("../../hear/tables/hear.csv")
	if err != nil {
		t.Fatal(err)
	}
	words, err := os.ReadFile("../../hear/tables/meanings.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range prove.Signs() {
		if !strings.Contains(string(rules), "\n"+s+",") && !strings.Contains(string(words), "\n"+s+",") {
			t.Errorf("%s is weighed and never heard", s)
		}
	}
}

// TestLogsAreWeighed: a log, a symptom and readings in one reasoning.
func TestLogsAreWeighed(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return file
	}
	status := func(code string) string {
		return `[2,"1","StatusNotification",{"connectorId":1,"errorCode":"` + code + `","status":"Faulted","timestamp":"2026-11-25T14:05:00Z"}]` + "\n" + `[3,"1",{}]` + "\n"
	}
	empty := write("empty.yaml", "job: nothing yet\ninvented: yes\n")
	keys := func(args ...string) (out []string, said string) {
		var text, talk bytes.Buffer
		run(append([]string{"explain", "--json"}, args...), &text, &talk)
		var e struct {
			Causes []struct {
				Key, Cause  string
				Probability float64
			}
			Flags []string
		}
		if err := json.Unmarshal(text.Bytes(), &e); err != nil {
			t.Fatalf("%v: %v %s", args, err, &talk)
		}
		for _, c := range e.Causes {
			out = append(out, c.Key)
		}
		return out, strings.Join(e.Flags, "\n")
	}
	ground, pilot := write("ground.log", status("GroundFailure")), write("pilot.log", status("EVCommunicationError"))
	if got, said := keys(empty, "--log", ground); !slices.ContainsFunc(got[:3], func(k string) bool { return k == "moisture" || k == "damage" || k == "leakage" }) ||
		!strings.Contains(said, "weighed, from line 1") {
		t.Errorf("a log with a fault to earth: %q, said %q", got, said)
	}
	if got, _ := keys(empty, "--log", pilot); !slices.ContainsFunc(got[:3], func(k string) bool { return strings.HasPrefix(k, "pilot") }) {
		t.Errorf("a log with a fault of the pilot: %q", got)
	}
	// The same log beside readings that are all well: what wiring there is has been read.
	well := "../../examples/bakery/all-well.yaml"
	if got, _ := keys(well, "--log", ground); len(got) == 0 || got[0] == "" {
		t.Errorf("readings are well and the log shows a fault to earth: %q", got)
	}
	both, _ := keys(empty, "--symptom", "refuses for its earth check", "--log", ground)
	if !slices.ContainsFunc(both[:3], func(k string) bool {
		return strings.HasPrefix(k, "in use: the earth meets the rule") || k == "cpc broken" || k == "electrode open"
	}) {
		t.Errorf("it refuses for its earth check and the log says so: %q", both)
	}
	// An answer of its own: the earth meets the rule, yet the vehicle refuses.
	if got, _ := keys(well, "--symptom", "refuses for its earth check", "--log", ground); got[0] != "in use: the earth meets the rule, yet a vehicle or a point may refuse a loop above its own limit" {
		t.Errorf("readings that meet their limits, and a point that refuses: %q", got)
	}
	var out, talk bytes.Buffer
	if code := run([]string{"explain", empty, "--log", write("none.log", "nothing\n")}, &out, &talk); code != exitUnusable || !strings.Contains(talk.String(), "holds no OCPP message") {
		t.Errorf("no log exits %d: %s", code, &talk)
	}
	r, err := hear.Hear([]byte(status("GroundFailure") + status("OverVoltage")))
	if err != nil || !slices.ContainsFunc(r.Heard, func(h hear.Heard) bool { return slices.Equal(h.Codes, []string{"GroundFailure", "OverVoltage"}) }) {
		t.Errorf("the codes of faults: %+v, %v", r.Heard, err)
	}
}

// TestRatesAreCounted: from past jobs to a table that explain takes.
func TestRatesAreCounted(t *testing.T) {
	const one, other = "../../examples/bakery/complete.yaml", "../../examples/terrace/complete.yaml"
	m, err := open(one)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	history, table := filepath.Join(dir, "found.csv"), filepath.Join(dir, "rates.csv")
	row := func(cause string) {
		os.WriteFile(history, []byte("job,cause,at,put right\n\""+m.Job.Name+"\","+cause+",CP1,yes\n"), 0o644)
	}
	row("neutral joint")
	var out, talk bytes.Buffer
	if code := run([]string{"rates", history, one, other, "--weight", "50", "--write", table}, &out, &talk); code != exitMet || !strings.Contains(out.String(), "count for 50 places") {
		t.Fatalf("rates exits %d: %s%s", code, &out, &talk)
	}
	out.Reset()
	run([]string{"explain", "../../examples/bakery/loose-neutral.yaml", "--priors", table}, &out, &talk)
	if !strings.Contains(out.String(), "not the program's own") || !strings.Contains(out.String(), "poor connection in the neutral") {
		t.Errorf("explain does not say whose rates it used: %s%s", &out, &talk)
	}
	row("loose neutral")
	if code := run([]string{"rates", history, one}, &out, &talk); code != exitUnusable || !strings.Contains(talk.String(), `found.csv:2: cause is "loose neutral"`) {
		t.Errorf("an unknown cause exits %d: %s", code, &talk)
	}
}
