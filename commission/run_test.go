package commission

import (
	"context"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/ocpp"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/trainer"
)

// wednesday is when the test runs take place: a weekday, outside the peaks.
var wednesday = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// testPace makes the runs of the tests short; no test asserts the time of day.
const testPace = 25

// bakery is the invented job of the examples.
func bakery() (*model.Model, *standard.Rulebook) {
	text, err := os.ReadFile("../examples/bakery/job.yaml")
	if err != nil {
		panic(err)
	}
	j, err := job.Read("job.yaml", text)
	if err != nil {
		panic(err)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		panic(err)
	}
	return model.New(j, rules), rules
}

// attempt is a run against a pretended point, and how it differs from the whole
// run on a sound one.
type attempt struct {
	trainer.Options
	keys    []string                    // steps that are run; all where empty
	unseen  bool                        // there is no reference meter
	nobody  bool                        // no point is started
	suffers map[string][]trainer.Misfit // faults that show from the moment before a step on
	change  func(*Intent)
}

func (a attempt) run() *Evidence {
	o := a.Options
	m, rules := bakery()
	in, err := IntentOf(m, "CP1")
	if err != nil {
		panic(err) // trials run beside the test's own goroutine
	}
	if a.change != nil {
		a.change(&in)
	}
	clock := ocpp.NewClock(wednesday, testPace)
	central, err := ocpp.Open(clock, ocpp.CentralOptions{Known: []string{"KNOWN"}})
	if err != nil {
		panic(err)
	}
	defer central.Close()
	o.Central, o.Identity, o.Card, o.Delay = central.Address(), "CP1", "KNOWN", 23*time.Second
	if o.Rotation == "" {
		o.Rotation = rotations[in.Lines.Or(trade.L1)]
	}
	o.FailSafe = in.FailSafe
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	point := trainer.New(ocpp.NewClock(wednesday, testPace), o)
	if len(a.keys) > 0 {
		point.Suffer(a.suffers[a.keys[0]]...)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		if !a.nobody {
			_ = point.Run(ctx)
		}
	}()
	run := Run{Central: central, Identity: "CP1", Intent: in, Rules: rules, Known: "KNOWN", Unknown: "NOBODY"}
	for _, s := range Steps() {
		if len(a.keys) == 0 || slices.Contains(a.keys, s.Key) {
			run.Steps = append(run.Steps, s)
		}
	}
	if !a.unseen {
		run.Meter = point.Meter
	}
	run.Tell = func(done StepResult) {
		for i, s := range run.Steps {
			if i > 0 && run.Steps[i-1].Key == done.Key {
				point.Suffer(a.suffers[s.Key]...)
				if slices.Contains(a.suffers[s.Key], trainer.Vanishes) && !asksSomething(s.Key) {
					left(central.Station("CP1"))
				}
			}
		}
	}
	e, err := run.Do(ctx)
	if err != nil {
		panic(err)
	}
	cancel()
	<-done
	return e
}

// trials runs many at once: they mostly wait.
func trials(many []trainer.Options) []*Evidence {
	var all []attempt
	for _, o := range many {
		all = append(all, attempt{Options: o})
	}
	return attempts(all)
}

// asksSomething reports whether a step asks the point anything: it vanishes then.
func asksSomething(key string) bool {
	return !slices.Contains([]string{"samples", "phases", "energy", "link", "delay"}, key)
}

// left waits until a point has gone.
func left(s *ocpp.Station) {
	for n := 0; s.Link() != nil && n < 500; n++ {
		time.Sleep(10 * time.Millisecond)
	}
}

func attempts(many []attempt) []*Evidence {
	out := make([]*Evidence, len(many))
	const atOnce = 24
	places := make(chan struct{}, atOnce)
	var all sync.WaitGroup
	for i, a := range many {
		all.Go(func() {
			places <- struct{}{}
			defer func() { <-places }()
			out[i] = a.run()
		})
	}
	all.Wait()
	return out
}

// sound is the evidence of two sound points, run once for all tests.
var sound = sync.OnceValue(func() []*Evidence {
	return trials([]trainer.Options{{Version: ocpp.V16}, {Version: ocpp.V201}, {Version: ocpp.V21}})
})

// TestEveryStepIsMet runs the whole run on a sound point, in both versions.
func TestEveryStepIsMet(t *testing.T) {
	t.Parallel()
	versions := []ocpp.Version{ocpp.V16, ocpp.V201, ocpp.V21}
	for i, e := range sound() {
		t.Run(string(versions[i]), func(t *testing.T) {
			for _, s := range e.Steps {
				if s.Verdict != finding.Meets {
					t.Errorf("%s: %s: %s", s.Key, s.Outcome(), s.Why)
				}
			}
			if got := e.ExitCode(); got != 0 {
				t.Errorf("ExitCode() = %d, want 0", got)
			}
			if len(e.Steps) != len(Steps()) {
				t.Errorf("%d steps were run, want %d", len(e.Steps), len(Steps()))
			}
		})
	}
}

// TestEachFaultFailsItsStep orders each fault and looks at the first step that
// is not met, and its reason.
func TestEachFaultFailsItsStep(t *testing.T) {
	t.Parallel()
	tests := []struct {
		fault       trainer.Misfit
		step        string
		outcome     string
		reason      string
		onlyTheStep bool
	}{
		{trainer.IgnoresLimit, "limit 16 A", "fails", "accepted, but it still takes 32 A", false},
		{trainer.WrongPhase, "phases", "fails", "shows 32 A on L3; the design has it on L2", true},
		{trainer.Slow, "limit 16 A", "fails", "but only after", false},
		{trainer.DropsLink, "link", "fails", "ended once during the charge: broken off", true},
		{trainer.WrongEnergy, "energy", "fails", "it counted", true},
		{trainer.AcceptsAnyCard, "unknown card", "fails", "began a session on the unknown card NOBODY", true},
		{trainer.NoFailSafe, "fail-safe", "fails", "went on taking 32 A", true},
		{trainer.NeverStops, "stop", "fails", "runs on", false},
		{trainer.WrongClock, "clock", "fails", "clock is off by", false},
		{trainer.ForgetsSettings, "design", "fails", "reads back as", false},
		{trainer.NoDelay, "delay", "fails", "is 0 s", true},
		{trainer.NoDefaultHours, "default hours", "judge on site", "allows charging in weekday peaks", true},
		{trainer.NoLimits, "design", "not supported", "does not take limits over the link", false},
		{trainer.NoMeter, "start", "not supported", "hold no current", false},
	}
	var orders []trainer.Options
	for i, tt := range tests {
		orders = append(orders, trainer.Options{Faults: []trainer.Misfit{tt.fault}, Version: []ocpp.Version{ocpp.V16, ocpp.V201}[i%2]})
	}
	ran := trials(orders)
	for i, tt := range tests {
		t.Run(string(tt.fault), func(t *testing.T) {
			e := ran[i]
			var off []StepResult
			for _, s := range e.Steps {
				if s.Verdict != finding.Meets {
					off = append(off, s)
				}
			}
			if len(off) == 0 {
				t.Fatal("every step was met")
			}
			first := off[0]
			if first.Key != tt.step || first.Outcome() != tt.outcome || !strings.Contains(first.Why.String(), tt.reason) {
				t.Errorf("first not met: %s: %s: %s; want %s: %s: …%s…", first.Key, first.Outcome(), first.Why, tt.step, tt.outcome, tt.reason)
			}
			if tt.onlyTheStep && len(off) > 1 {
				t.Errorf("also not met: %s: %s", off[1].Key, off[1].Why)
			}
			if first.Verdict == finding.Fails && first.Next == "" {
				t.Error("a step that fails says what to do next")
			}
		})
	}
}
