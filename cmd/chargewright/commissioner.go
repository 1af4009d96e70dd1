package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"slices"
	"strings"
	"sync"
	"time"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/meter"
	"chargewright/ocpp"
	"chargewright/trainer"
	"chargewright/web"
)

// pointGate is where charge points join while they are commissioned from the
// pages, and how their links are secured.
type pointGate struct {
	Points    string `name:"commission-listen" help:"Address and port that charge points join at while they are commissioned, several at once, told apart by their names. Loopback unless you say otherwise; a real point needs this computer's address on its network." default:"127.0.0.1:0"`
	PointCert string `name:"commission-cert" help:"Certificate file, for points to join over TLS." type:"existingfile"`
	PointKey  string `name:"commission-key" help:"Key file of that certificate." type:"existingfile"`
	PointTLS  bool   `name:"commission-tls" help:"Points join over TLS with a certificate made for a week; the page hands it out for the point to trust."`
}

// weekly is how long a certificate that is made at the start is good for.
const weekly = 7 * 24 * time.Hour

// secured returns what the links are secured with; nil for plain ones.
func (g pointGate) secured(now time.Time) (*tls.Config, error) {
	host, _, err := net.SplitHostPort(g.Points)
	if err != nil {
		return nil, fmt.Errorf("--commission-listen is %q: address and port are wanted, like 127.0.0.1:9000", g.Points)
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		return nil, fmt.Errorf("--commission-listen is %q: give this computer's own address on the charge point's network, it is shown to be entered there", g.Points)
	}
	var certificate tls.Certificate
	switch {
	case (g.PointCert == "") != (g.PointKey == ""):
		return nil, errors.New("--commission-cert and --commission-key go together")
	case g.PointCert != "" && g.PointTLS:
		return nil, errors.New("give --commission-cert and --commission-key, or --commission-tls, not both")
	case g.PointCert != "":
		if certificate, err = tls.LoadX509KeyPair(g.PointCert, g.PointKey); err != nil {
			return nil, fmt.Errorf("read --commission-cert %s and --commission-key %s: %w", g.PointCert, g.PointKey, err)
		}
	case g.PointTLS:
		if certificate, _, err = ocpp.Certificate(now, weekly, host); err != nil {
			return nil, err
		}
	default:
		return nil, nil
	}
	if err := ocpp.Usable(certificate, g.Points, now); err != nil {
		return nil, err
	}
	return &tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS12}, nil
}

// commissioner makes the runs that are begun on the pages, one a job, all
// behind one gate.
type commissioner struct {
	meters   meterNetworks
	listen   string
	tls      *tls.Config
	gate     *ocpp.Gate
	pretends bool
	pace     float64 // of a run with a pretended point

	mu   sync.Mutex
	runs map[string]*liveRun
	all  sync.WaitGroup
}

// liveRun is one run and how to end it.
type liveRun struct {
	shown    web.CommissioningRun
	central  *ocpp.Central
	evidence *commission.Evidence
	end      context.CancelFunc
}

// trainedPace is how fast a training run goes by: engineering judgement.
const trainedPace = 20

// newCommissioner opens the gate. It refuses an address that no charge point
// could be given.
func newCommissioner(g pointGate, pretends bool, log *slog.Logger) (*commissioner, error) {
	secured, err := g.secured(time.Now())
	if err != nil {
		return nil, err
	}
	gate, err := ocpp.OpenGate(ocpp.GateOptions{Listen: g.Points, TLS: secured, Told: tellOnce(log)})
	if err != nil {
		return nil, err
	}
	return &commissioner{listen: g.Points, tls: secured, gate: gate, pretends: pretends, pace: trainedPace, runs: map[string]*liveRun{}}, nil
}

// tellOnce writes who was turned away into the log, the same of the same name
// once a minute: a point goes on trying.
func tellOnce(log *slog.Logger) func(ocpp.Message) {
	var mu sync.Mutex
	const most = 100 // names remembered
	told := map[[2]string]time.Time{}
	return func(m ocpp.Message) {
		mu.Lock()
		defer mu.Unlock()
		what := [2]string{m.Point, m.Remark}
		if at, again := told[what]; m.Remark == ocpp.CutOnPurpose || again && m.At.Sub(at).Abs() < time.Minute {
			return
		}
		if len(told) >= most {
			clear(told)
		}
		told[what] = m.At
		log.Warn("a charge point was turned away", "name", m.Point, "why", m.Remark)
	}
}

// Offers says what a run can be begun with.
func (c *commissioner) Offers() web.CommissioningOffer {
	o := web.CommissioningOffer{Address: c.gate.Address(), Secured: c.gate.Secured(false), Password: c.gate.Secured(true),
		Trust: c.gate.Trust(), Maps: meter.RegisterMaps(), Pretends: c.pretends}
	for _, s := range commission.Steps() {
		o.Steps = append(o.Steps, web.CommissioningWord{Word: s.Key, Says: s.Title})
	}
	if c.pretends {
		o.Versions = []string{string(ocpp.V16), string(ocpp.V201), string(ocpp.V21)}
		for _, m := range trainer.Misfits() {
			o.Faults = append(o.Faults, web.CommissioningWord{Word: string(m.Name), Says: m.Does})
		}
	}
	return o
}

// Expects reports whether a point of that name is expected.
func (c *commissioner) Expects(identity string) bool { return c.gate.Expected(identity) }

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
	if !shown.Over {
		shown.TurnedAway = turnedAway(run.central.Refused())
	}
	return shown, true
}

// turnedAway says who asked to join and was not let, the latest first, each
// once.
func turnedAway(refused []ocpp.Message) []string {
	const most = 5
	var out []string
	seen := map[[2]string]bool{}
	for _, m := range slices.Backward(refused) {
		what := [2]string{m.Point, m.Remark}
		if m.Remark == ocpp.CutOnPurpose || seen[what] || len(out) == most {
			continue
		}
		seen[what] = true
		name := m.Point
		if name == "" {
			name = "somebody"
		}
		out = append(out, fmt.Sprintf("%s, at %s UTC: %s", name, m.At.Format(time.TimeOnly), strings.TrimPrefix(m.Remark, "refused: ")))
	}
	return out
}

// Evidence returns the evidence of the last run of a job.
func (c *commissioner) Evidence(job string) ([]byte, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	run := c.runs[job]
	if run == nil || run.evidence == nil {
		return nil, false
	}
	text, err := json.MarshalIndent(run.evidence, "", "  ")
	return append(text, '\n'), err == nil
}

// Messages returns every message of the last run of a job.
func (c *commissioner) Messages(job string) ([]byte, bool) {
	c.mu.Lock()
	run := c.runs[job]
	over := run != nil && run.shown.Over
	c.mu.Unlock()
	if !over {
		return nil, false
	}
	var out bytes.Buffer
	lines := json.NewEncoder(&out)
	lines.SetEscapeHTML(false)
	for _, m := range run.central.Station(run.shown.Identity).Journal.Messages() {
		if err := lines.Encode(m); err != nil {
			return nil, false
		}
	}
	return out.Bytes(), true
}

// End ends the run of a job.
func (c *commissioner) End(job string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if run := c.runs[job]; run != nil {
		run.end()
	}
}

// Close ends every run, waits until each is kept, and closes the gate.
func (c *commissioner) Close() {
	c.mu.Lock()
	for _, run := range c.runs {
		run.end()
	}
	c.mu.Unlock()
	c.all.Wait()
	c.gate.Close()
}

// preparedRun is a run that can be begun: everything asked for is there.
type preparedRun struct {
	run      commission.Run
	clock    *ocpp.Clock
	password string
	pretend  trainer.Options
	meter    *meter.Meter
}

// Close lets the meter go.
func (p *preparedRun) Close() {
	if p.meter != nil {
		p.meter.Close()
	}
}

// prepare reads an order, and says everything that is wrong with it.
func (c *commissioner) prepare(order web.CommissioningOrder) (*preparedRun, error) {
	var wrong []error
	check := func(err error) {
		if err != nil {
			wrong = append(wrong, err)
		}
	}
	intent, err := commission.IntentOf(order.Model, order.Point)
	check(err)
	check(ocpp.CheckIdentity(order.Identity))
	steps := commission.Steps()
	if order.Steps.Name != "" {
		steps, err = commission.ReadSteps(order.Steps.Name, order.Steps.Content)
		check(err)
	}
	if len(steps) > 0 {
		check(commission.CheckSkip(steps, order.LeaveOut))
	}
	pace := 1.0
	if order.Pretended {
		pace = c.pace
	}
	p := &preparedRun{password: order.Password, clock: ocpp.NewClock(time.Now(), pace)}
	if order.Made {
		p.password = ocpp.NewPassword()
	} else if p.password != "" {
		check(ocpp.CheckPassword(p.password))
	}
	if c.tls != nil {
		check(ocpp.Usable(c.tls.Certificates[0], c.listen, time.Now().Add(order.Longest)))
	}
	if order.Pretended {
		p.pretend = trainer.Options{Central: c.gate.Address(), Identity: order.Identity, Version: ocpp.Version(order.OCPP), Password: p.password,
			TLS:    trusting(c.tls),
			Phases: intent.Phases.Or(1), Current: intent.Current.Or(32), Serial: intent.Serial, Card: order.Card, Delay: 23 * time.Second,
			Rotation: commission.RotationOf(intent), FailSafe: intent.FailSafe}
		for _, f := range order.Faults {
			fault, err := trainer.ReadMisfit(f)
			check(err)
			p.pretend.Faults = append(p.pretend.Faults, fault)
		}
	}
	p.run = commission.Run{Identity: order.Identity, Intent: intent, Rules: order.Model.Rules, Steps: steps, Pretended: order.Pretended, Skip: order.LeaveOut,
		Known: order.Card, Unknown: order.Unknown}
	if order.Meter != "" && len(wrong) == 0 {
		if p.meter, err = c.meter(order); err == nil {
			p.run.Meter = p.meter.Read
		}
		check(err)
	}
	return p, errors.Join(wrong...)
}

// meter reaches the reference meter.
func (c *commissioner) meter(order web.CommissioningOrder) (*meter.Meter, error) {
	address, err := c.meters.allows(context.Background(), order.Meter)
	if err != nil {
		return nil, err
	}
	if order.Registers.Name == "" {
		registers, err := meter.RegisterMap(order.Map)
		if err != nil {
			return nil, err
		}
		return meter.Reach(address, registers, order.Unit)
	}
	registers, err := meter.ReadRegisterMap(order.Registers.Name, order.Registers.Content)
	if err != nil {
		return nil, err
	}
	return meter.Reach(address, registers, order.Unit)
}

// underWay reports that an order has been begun, or that its job has a run of
// another one.
func (c *commissioner) underWay(order web.CommissioningOrder) (is bool, err error) {
	run := c.runs[order.Job]
	switch {
	case run == nil:
		return false, nil
	case run.shown.Act == order.Act:
		return true, nil
	case !run.shown.Over:
		return true, web.ErrUnderWay
	}
	return false, nil
}

// Begin puts a central system for one point behind the gate and begins its run.
func (c *commissioner) Begin(order web.CommissioningOrder) error {
	c.mu.Lock()
	is, err := c.underWay(order)
	c.mu.Unlock()
	if is {
		return err
	}
	p, err := c.prepare(order) // a meter may take its time to answer
	if err != nil {
		p.Close()
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if is, err := c.underWay(order); is {
		p.Close()
		return err
	}
	central, err := c.gate.Let(p.clock, ocpp.CentralOptions{Known: []string{order.Card}, Identity: []string{order.Identity}, Password: p.password})
	if err != nil {
		p.Close()
		return err
	}
	ctx, end := context.WithTimeout(context.Background(), order.Longest)
	live := &liveRun{end: end, central: central, shown: web.CommissioningRun{Act: order.Act, Who: order.Who, Point: order.Point, Identity: order.Identity,
		Address: central.AddressOf(order.Identity),
		Central: central.Address(), Secured: central.Secured(), Pace: p.clock.Pace()}}
	if order.Made && !order.Pretended { // a pretended point has it already
		live.shown.Password = p.password
	}
	c.runs[order.Job] = live
	p.run.Central = central
	p.run.Ask = func(what string) { c.change(live, func(shown *web.CommissioningRun) { shown.Now = what }) }
	p.run.Tell = func(s commission.StepResult) { c.change(live, func(shown *web.CommissioningRun) { add(shown, s) }) }
	if order.Pretended {
		point := trainer.New(p.clock, p.pretend)
		if p.run.Meter == nil {
			p.run.Meter = point.Meter // a pretended one too
		}
		c.all.Go(func() { _ = point.Run(ctx) })
	}
	c.all.Go(func() {
		defer p.Close()
		defer central.Close()
		defer end()
		evidence, err := p.run.Do(ctx)
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
	shown.Now, shown.Password = "", "" // the point has had its time to be told
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
		keeping := order.Keep(evidence.Kept(order.Who))
		kept = keeping == nil
		if keeping != nil {
			err = errors.Join(err, fmt.Errorf("the outcome could not be entered in the job: %w", keeping))
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	live.evidence = evidence
	shown := &live.shown
	shown.Over, shown.Kept, shown.Now, shown.Password = true, kept, "", ""
	switch {
	case errors.Is(err, context.Canceled):
		shown.Wrong = "The run was stopped before its last step. Limits and settings of the test may still stand at the point."
	case errors.Is(err, context.DeadlineExceeded):
		shown.Wrong = fmt.Sprintf("The run ended by itself after %v minutes, before its last step. Limits and settings of the test may still stand at the point.",
			order.Longest.Minutes())
	case err != nil:
		shown.Wrong = err.Error()
	}
	if evidence != nil {
		for _, s := range evidence.Shown() {
			shown.Settings = append(shown.Settings, web.CommissioningSetting{Name: s.Name, Before: s.Before, After: s.After, Why: s.Why})
		}
	}
}
