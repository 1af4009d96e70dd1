package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"sync"
	"time"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/web"
)

// commissioner makes the runs that are begun on the pages, one a job.
type commissioner struct {
	listen   string // address and port that charge points join at
	pretends bool
	pace     float64 // of a run with a pretended point

	mu   sync.Mutex
	runs map[string]*liveRun
	all  sync.WaitGroup
}

// liveRun is one run and how to end it.
type liveRun struct {
	shown web.CommissioningRun
	end   context.CancelFunc
}

// Bounds of a run that is begun on a page, engineering judgement.
const (
	longestRun  = 30 * time.Minute
	trainedPace = 20
)

// newCommissioner refuses an address that no charge point could be given.
func newCommissioner(listen string, pretends bool) (*commissioner, error) {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return nil, fmt.Errorf("--commission-listen is %q: address and port are wanted, like 127.0.0.1:9000", listen)
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		return nil, fmt.Errorf("--commission-listen is %q: give this computer's own address on the charge point's network, it is shown to be entered there", listen)
	}
	return &commissioner{listen: listen, pretends: pretends, pace: trainedPace, runs: map[string]*liveRun{}}, nil
}

// Pretends reports that a pretended point can be had.
func (c *commissioner) Pretends() bool { return c.pretends }

// Run returns the run of a job as it stands.
func (c *commissioner) Run(job string) (web.CommissioningRun, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	run := c.runs[job]
	if run == nil {
		return web.CommissioningRun{}, false
	}
	shown := run.shown
	shown.Steps, shown.Settings = slices.Clone(shown.Steps), slices.Clone(shown.Settings)
	return shown, true
}

// End ends the run of a job.
func (c *commissioner) End(job string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if run := c.runs[job]; run != nil {
		run.end()
	}
}

// Close ends every run and waits until each is kept.
func (c *commissioner) Close() {
	c.mu.Lock()
	for _, run := range c.runs {
		run.end()
	}
	c.mu.Unlock()
	c.all.Wait()
}

// Begin opens a central system for one point and begins its run.
func (c *commissioner) Begin(order web.CommissioningOrder) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if run := c.runs[order.Job]; run != nil && !run.shown.Over {
		return web.ErrUnderWay
	}
	intent, err := commission.IntentOf(order.Model, order.Point)
	if err != nil {
		return err
	}
	pace := 1.0
	if order.Pretended {
		pace = c.pace
	}
	clock := commission.NewClock(time.Now(), pace)
	central, err := commission.Open(clock, commission.CentralOptions{Listen: c.listen, Known: []string{order.Card}, Identity: []string{order.Identity}})
	if err != nil {
		return err
	}
	ctx, end := context.WithTimeout(context.Background(), longestRun)
	live := &liveRun{end: end, shown: web.CommissioningRun{Point: order.Point, Identity: order.Identity, Address: central.AddressOf(order.Identity),
		Central: central.Address(), Secured: central.Secured(), Pace: pace}}
	c.runs[order.Job] = live
	run := commission.Run{Central: central, Identity: order.Identity, Intent: intent, Rules: order.Model.Rules, Steps: commission.Steps(), Known: order.Card, Unknown: "NO-SUCH-CARD",
		Ask:  func(what string) { c.change(live, func(shown *web.CommissioningRun) { shown.Now = what }) },
		Tell: func(s commission.StepResult) { c.change(live, func(shown *web.CommissioningRun) { add(shown, s) }) }}
	if order.Pretended {
		point := commission.NewPretend(clock, commission.PretendOptions{Central: central.Address(), Identity: order.Identity,
			Phases: intent.Phases.Or(1), Current: intent.Current.Or(32), Card: order.Card, Delay: 23 * time.Second})
		c.all.Go(func() { _ = point.Run(ctx) })
	}
	c.all.Go(func() {
		defer central.Close()
		defer end()
		evidence, err := run.Do(ctx)
		c.over(live, order, evidence, err)
	})
	return nil
}

// change changes what is shown of a run.
func (c *commissioner) change(live *liveRun, how func(*web.CommissioningRun)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	how(&live.shown)
}

// add adds a step that has ended.
func add(shown *web.CommissioningRun, s commission.StepResult) {
	shown.Now = ""
	shown.Steps = append(shown.Steps, web.CommissioningStep{Finding: s.Finding, Outcome: s.Outcome()})
	switch {
	case s.Unsupported:
		shown.NotHad++
	case s.Verdict == finding.Meets:
		shown.Met++
	case s.Verdict == finding.Fails:
		shown.Failed++
	case s.Verdict == finding.JudgeOnSite:
		shown.ToJudge++
	default:
		shown.NotKnown++
	}
}

// over keeps what a run left behind, and says how it ended.
func (c *commissioner) over(live *liveRun, order web.CommissioningOrder, evidence *commission.Evidence, err error) {
	var kept bool
	if evidence != nil && len(evidence.Steps) > 0 {
		keeping := order.Keep(evidence.Readings())
		kept = keeping == nil
		if keeping != nil {
			err = errors.Join(err, fmt.Errorf("the outcome could not be entered in the job: %w", keeping))
		}
	}
	c.change(live, func(shown *web.CommissioningRun) {
		shown.Over, shown.Kept, shown.Now = true, kept, ""
		switch {
		case errors.Is(err, context.Canceled):
			shown.Wrong = "The run was stopped before its last step. Limits and settings of the test may still stand at the point."
		case errors.Is(err, context.DeadlineExceeded):
			shown.Wrong = fmt.Sprintf("The run ended by itself after %v, before its last step. Limits and settings of the test may still stand at the point.", longestRun)
		case err != nil:
			shown.Wrong = err.Error()
		}
		if evidence != nil {
			for _, s := range evidence.Shown() {
				shown.Settings = append(shown.Settings, web.CommissioningSetting{Name: s.Name, Before: s.Before, After: s.After, Why: s.Why})
			}
		}
	})
}
