package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"time"

	"chargewright/commission"
	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/meter"
	"chargewright/model"
	"chargewright/ocpp"
	"chargewright/paper"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trainer"
)

type commissionCmd struct {
	Job       string        `arg:"" help:"Job file."`
	Point     string        `help:"Charge point of the job; may be left out if there is one."`
	Identity  string        `help:"Name the point uses on the link; the name in the job if left out."`
	Listen    string        `default:"127.0.0.1:0" help:"Address and port to listen on. Loopback unless you say otherwise; a real point needs this computer's address on its network."`
	KnownCard string        `default:"KNOWN-CARD" help:"Number of a card that is allowed."`
	Unknown   string        `default:"NO-SUCH-CARD" help:"Number of a card that is not."`
	Skip      []string      `help:"Keys of steps to leave out, like delay."`
	Steps     string        `type:"existingfile" help:"Run of your own, as CSV; --list-steps prints the built-in one."`
	ListSteps bool          `help:"Print the steps and what each asks for, and stop."`
	TLS       bool          `name:"tls" help:"Secure the link with a certificate made for today."`
	Trust     string        `help:"File to write today's certificate into, for the point to trust."`
	Password  string        `name:"password-from" type:"existingfile" help:"File that holds the password of the link. It is never printed or stored."`
	Code      string        `help:"File to draw the address into as a two-dimensional code, .svg or .png."`
	Meter     string        `help:"Reference meter on the point's circuit, like tcp://192.0.2.7:502."`
	Map       string        `default:"float-high-word-first" help:"Register map of the meter: a built-in name or a CSV file."`
	Unit      uint8         `default:"1" help:"Modbus address of the meter."`
	Clamped   string        `help:"Lines of the supply on which your clamp showed the current of a charge at this point, like L2 or L1 L2 L3; without it and without a meter it is left to judge on site which line carries."`
	JSON      bool          `name:"json" help:"Print the evidence as JSON."`
	Out       string        `short:"o" help:"File to write the evidence into as JSON."`
	Journal   string        `help:"File to write every message into as it passes, a JSON object a line."`
	Write     bool          `help:"Write the outcome into the job file, as readings."`
	Who       string        `help:"Who commissions; goes into the job with --write."`
	Paper     string        `help:"File to write the commissioning paper into, as PDF."`
	Longest   time.Duration `default:"30m" help:"The run ends by itself after this time."`
	Pretend   bool          `help:"Train on a pretended point, started here."`
	OCPP      string        `name:"ocpp" default:"1.6" enum:"1.6,2.0.1,2.1" help:"What the pretended point speaks."`
	Fault     []string      `help:"Faults of the pretended point; see: chargewright pretend --help."`
	Pace      float64       `help:"How fast time goes by, for training; 1 is the time of day. With --pretend it is 20 if left out."`
}

// Run commissions one point and ends with the run.
func (c *commissionCmd) Run(out io.Writer) error {
	steps := commission.Steps()
	if c.Steps != "" {
		text, err := os.ReadFile(c.Steps)
		if err != nil {
			return fmt.Errorf("cannot read the steps: %w", err)
		}
		if steps, err = commission.ReadSteps(c.Steps, text); err != nil {
			return err
		}
	}
	if c.ListSteps {
		listSteps(out, steps)
		return nil
	}
	if err := commission.CheckSkip(steps, c.Skip); err != nil {
		return fmt.Errorf("--skip: %w", err)
	}
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	intent, err := commission.IntentOf(m, c.Point)
	if err != nil {
		return fmt.Errorf("%s: %w", c.Job, err)
	}
	if c.Identity == "" {
		c.Identity = intent.Point
	}
	if c.Pace == 0 && c.Pretend {
		c.Pace = 20
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, c.Longest)
	defer cancel()
	clock := ocpp.NewClock(time.Now(), c.Pace)
	options, err := c.options()
	if err != nil {
		return err
	}
	if c.Journal != "" {
		f, err := os.OpenFile(c.Journal, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o644)
		if err != nil {
			return fmt.Errorf("open the journal: %w", err)
		}
		defer f.Close()
		options.File = f
	}
	central, err := ocpp.Open(clock, options)
	if err != nil {
		return err
	}
	defer central.Close()
	if err := c.announce(central); err != nil {
		return err
	}
	run := commission.Run{Central: central, Identity: c.Identity, Intent: intent, Rules: m.Rules, Steps: steps, Pretended: c.Pretend, Skip: c.Skip,
		Known: c.KnownCard, Unknown: c.Unknown,
		Ask: func(what string) { fmt.Fprintln(os.Stderr, "now:", what) }}
	if !c.JSON {
		heading(out, m)
		fmt.Fprintf(out, "point %s · %s\n", intent.Point, central.Secured())
		run.Tell = func(s commission.StepResult) { printStep(out, s) }
	}
	if c.Meter != "" {
		reader, err := meter.Open(c.Meter, c.Map, c.Unit)
		if err != nil {
			return err
		}
		defer reader.Close()
		run.Meter = reader.Read
	}
	if c.Clamped != "" {
		lines, err := commission.ReadClamped(c.Clamped)
		if err != nil {
			return fmt.Errorf("--clamped: %w", err)
		}
		run.Clamped = quantity.Known(lines)
	}
	if c.Pretend {
		done := make(chan struct{})
		defer func() { cancel(); <-done }()
		point, err := pretended(clock, trainer.Options{Central: central.Address(), Identity: c.Identity, Version: ocpp.Version(c.OCPP), Password: options.Password,
			Phases: intent.Phases.Or(1), Current: intent.Current.Or(32), Serial: intent.Serial, Card: c.KnownCard, Delay: 23 * time.Second,
			Rotation: commission.RotationOf(intent), FailSafe: intent.FailSafe, TLS: trusting(options.TLS)}, c.Fault)
		if err != nil {
			close(done)
			return err
		}
		if run.Meter == nil {
			run.Meter = point.Meter // a pretended one too
		}
		go func() { defer close(done); _ = point.Run(ctx) }()
	}
	evidence, err := run.Do(ctx)
	if evidence == nil {
		return err
	}
	if kept := c.keep(out, evidence); kept != nil {
		return kept
	}
	if err != nil {
		return err
	}
	if code := evidence.ExitCode(); code != exitMet {
		return outcome{code}
	}
	return nil
}

// options are what the central system is opened with.
func (c *commissionCmd) options() (ocpp.CentralOptions, error) {
	o := ocpp.CentralOptions{Listen: c.Listen, Known: []string{c.KnownCard}, Identity: []string{c.Identity}}
	if c.Password != "" {
		text, err := os.ReadFile(c.Password)
		if err != nil {
			return o, fmt.Errorf("cannot read the password of the link: %w", err)
		}
		if o.Password = strings.TrimSpace(string(text)); o.Password == "" {
			return o, fmt.Errorf("%s holds no password: put it on the first line", c.Password)
		}
		if err := ocpp.CheckPassword(o.Password); err != nil {
			return o, fmt.Errorf("%s: %w", c.Password, err)
		}
	}
	if c.TLS {
		host, _, err := net.SplitHostPort(c.Listen)
		if err != nil {
			return o, fmt.Errorf("--listen is %q: address and port are wanted, like 127.0.0.1:9000", c.Listen)
		}
		certificate, text, err := ocpp.Certificate(time.Now(), 24*time.Hour, host)
		if err != nil {
			return o, err
		}
		o.TLS = &tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS12}
		if c.Trust != "" {
			if err := replace(c.Trust, text); err != nil {
				return o, fmt.Errorf("write the certificate: %w", err)
			}
		}
	}
	return o, nil
}

// announce shows the address to enter.
func (c *commissionCmd) announce(central *ocpp.Central) error {
	address := central.AddressOf(c.Identity)
	fmt.Fprintf(os.Stderr, "enter in the charge point: %s\n", address)
	fmt.Fprintf(os.Stderr, "  if it asks for the parts: address %s  name %s\n", central.Address(), c.Identity)
	if onTerminal(os.Stderr) {
		blocks, err := document.QRBlocks(address)
		if err != nil {
			return err
		}
		fmt.Fprint(os.Stderr, blocks)
	}
	var picture []byte
	var err error
	switch filepath.Ext(c.Code) {
	case "":
	case ".svg":
		var code drawing.Scene
		code, err = document.QR("address", "Address to enter in "+c.Identity, address, 32)
		picture = code.SVG()
	case ".png":
		picture, err = document.QRPicture(address)
	default:
		err = fmt.Errorf("--code is %q: a name ending in .svg or .png is wanted", c.Code)
	}
	if err == nil && c.Code != "" {
		err = replace(c.Code, picture)
	}
	fmt.Fprintln(os.Stderr, "care: a point on test may go live at any moment; isolate, lock off and prove dead before touching a terminal.")
	return err
}

// keep writes the evidence where it was asked for.
func (c *commissionCmd) keep(out io.Writer, e *commission.Evidence) error {
	if c.JSON {
		if err := writeJSON(out, e); err != nil {
			return err
		}
	} else {
		printEvidence(out, e)
	}
	if c.Out != "" {
		text, err := json.MarshalIndent(e, "", "  ")
		if err != nil {
			return fmt.Errorf("write the evidence: %w", err)
		}
		if err := replace(c.Out, append(text, '\n')); err != nil {
			return fmt.Errorf("write the evidence: %w", err)
		}
	}
	if !c.Write && c.Paper == "" {
		return nil
	}
	text, err := os.ReadFile(c.Job)
	if err != nil {
		return fmt.Errorf("cannot read the job file: %w", err)
	}
	f, err := job.ReadRecord(c.Job, text)
	if err != nil {
		return err
	}
	if err := f.Add("runs", e.Kept(c.Who)); err != nil {
		return err
	}
	if c.Write {
		if err := replace(c.Job, f.Bytes()); err != nil {
			return fmt.Errorf("write the job file: %w", err)
		}
	}
	if c.Paper != "" {
		return c.print(f, e.Ended)
	}
	return nil
}

// print writes the commissioning paper.
func (c *commissionCmd) print(f *job.File, made time.Time) error {
	j, err := f.Job()
	if err != nil {
		return err
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		return err
	}
	text, err := paper.Commissioning(model.New(j, rules), made)
	if err != nil {
		return err
	}
	if err := replace(c.Paper, text); err != nil {
		return fmt.Errorf("write the commissioning paper: %w", err)
	}
	return nil
}

// listSteps prints a run as it is written.
func listSteps(out io.Writer, steps []commission.Step) {
	for _, s := range steps {
		fmt.Fprintln(out, wrap("", s.Key+": "+s.Title+" "+s.Amount, 4))
		fmt.Fprintln(out, wrap("    ", "within "+s.Within+" (s, or a time of the rules); "+s.Why+"; "+s.Source, 4))
	}
}

// printStep prints one step as it ends.
func printStep(out io.Writer, s commission.StepResult) {
	mark := marks[s.Verdict]
	word := s.Outcome()
	fmt.Fprintln(out, wrap(mark+" ", word+" · "+s.What+": "+s.Why.String(), 4))
	if !s.Value.IsZero() && !s.Limit.IsZero() {
		fmt.Fprintf(out, "    has %v  limit %v  margin %v\n", s.Value, s.Limit, s.Margin)
	}
	if s.Next != "" {
		fmt.Fprintln(out, wrap("    → ", s.Next, 6))
	}
}

// printEvidence prints the settings before and after, and the sum.
func printEvidence(out io.Writer, e *commission.Evidence) {
	if len(e.Settings) > 0 {
		fmt.Fprintln(out, "\nsettings, before and after")
		for _, s := range e.Settings {
			fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%s: %s → %s  (%s)", s.Name, s.Before, s.After, s.Why), 4))
		}
	}
	unsupported := 0
	for _, s := range e.Steps {
		if s.Unsupported {
			unsupported++
		}
	}
	sum := finding.Summarise(e.Findings())
	fmt.Fprintf(out, "\n%d met, %d failed, %d not supported, %d not known, %d to judge on site\n", sum.Meets, sum.Fails, unsupported, sum.NotKnown-unsupported,
		sum.JudgeOnSite)
	if e.Pace != 1 {
		fmt.Fprintf(out, "training: time ran %g times as fast\n", e.Pace)
	}
}
