// Chargewright keeps one record of a charge-point job, from first look to
// aftercare: it computes the electrical design, predicts every reading and
// prints the papers.
//
// Each verb is a file of its own: it parses, calls, prints.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/alecthomas/kong"

	"chargewright/paper"
	"chargewright/prove"
	"chargewright/reading"
)

// Exit codes, the same for every verb.
const (
	exitMet      = 0 // every requirement is met
	exitFails    = 1 // one fails
	exitUnusable = 2 // the input or the command cannot be used
	exitOpen     = 3 // none fails, but something is not known or left to judge on site
)

// commands is the command line, one field a verb, in the order a job runs.
type commands struct {
	New        newCmd        `cmd:"" help:"Write a starter job file to fill in."`
	Reckon     reckonCmd     `cmd:"" help:"Answer from a handful of facts, without a job: volt drop, device, Zs, longest run, readings to expect."`
	Check      checkCmd      `cmd:"" help:"Check jobs against every rule they touch."`
	Choose     chooseCmd     `cmd:"" help:"Choose what a job leaves open, best by a stated aim, with the reasons."`
	Options    optionsCmd    `cmd:"" help:"Set the ways a job may be done side by side, with costs."`
	Earth      earthCmd      `cmd:"" help:"Say which electrode reaches a resistance in the soil at hand, and compare the earthing measures."`
	Route      routeCmd      `cmd:"" help:"List bends, clips, glands, lengths to cut and what a trunking must hold."`
	Curves     curvesCmd     `cmd:"" help:"Draw the devices in series on one sheet, with the job's fault currents."`
	Surge      surgeCmd      `cmd:"" help:"Draw the surge protection from the origin outwards, leads included."`
	Flow       flowCmd       `cmd:"" help:"Solve the job's network: voltages, neutral current, faults, a lost PEN."`
	Demand     demandCmd     `cmd:"" help:"Find the maximum demand three ways, and whether the network operator is told or asked."`
	Limit      limitCmd      `cmd:"" help:"Prove load limiting: how late it can be, what it leaves the vehicles, what the cut-out bears."`
	Clamp      clampCmd      `cmd:"" help:"Prove from recordings or six readings that a current clamp is where it should be, the right way round."`
	Expect     expectCmd     `cmd:"" help:"Say what each meter reading should be, before it is taken."`
	Read       readCmd       `cmd:"" help:"Write one reading into a job and say what it means."`
	Readings   readingsCmd   `cmd:"" help:"Take readings from a table (CSV) into a job."`
	Rates      ratesCmd      `cmd:"" help:"Count from past jobs how often each cause is found, for explain --priors."`
	Explain    explainCmd    `cmd:"" help:"Say what most probably is wrong where readings do not fit, and which test would tell."`
	Commission commissionCmd `cmd:"" help:"Commission a charge point over OCPP: settings, limits, cards, loss of link, energy."`
	Pretend    pretendCmd    `cmd:"" help:"Be a charge point that is not there, for training; with faults to order."`
	Hear       hearCmd       `cmd:"" help:"Say in plain words what a recorded OCPP log tells, and what to try."`
	Meter      meterCmd      `cmd:"" help:"Read a meter over Modbus, find its address, prove a clamp."`
	Pilot      pilotCmd      `cmd:"" help:"Hold a measurement of the control pilot against IEC 61851-1 and the design."`
	Pack       packCmd       `cmd:"" help:"Write the papers of a job into a folder."`
	Key        keyCmd        `cmd:"" help:"Make, show or replace the key a firm signs with."`
	Issue      issueCmd      `cmd:"" help:"Issue the certificate of a job, or say what keeps it from being issued."`
	Verify     verifyCmd     `cmd:"" help:"Say who signed an issued paper, and whether it was changed or superseded."`
	Ledger     ledgerCmd     `cmd:"" help:"Sum up charging sessions: statements, claims, what if, what to look at."`
	Serve      serveCmd      `cmd:"" help:"Serve the jobs as pages for a phone or a screen, also without signal."`
	Audit      auditCmd      `cmd:"" help:"Read a journal through, and say whether it is as it was written."`
	Copy       copyCmd       `cmd:"" help:"Copy a journal while it is in use, and read the copy back."`
	Version    versionCmd    `cmd:"" help:"Print the version, and the editions of the rules it holds."`
}

// outcome is what a verb ends with besides an error.
type outcome struct{ code int }

func (o outcome) Error() string { return fmt.Sprintf("exit %d", o.code) }

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run is main with its inputs and outputs handed in.
func run(args []string, out, talk io.Writer) (code int) {
	defer func() { // a broken promise of ours must not reach the user as a stack
		if broken := recover(); broken != nil {
			fmt.Fprintf(talk, "chargewright: something broke on our side (%v). Your files are as they were.\n", broken)
			code = exitUnusable
		}
	}()
	var cli commands
	exited := -1
	parser, err := kong.New(&cli, kong.Name("chargewright"),
		kong.Description("The whole charge-point job from one record: check the design, predict every reading, print the papers.\n\n"+
			"Exit code 0: every requirement met. 1: one fails. 2: the input or the command cannot be used. 3: none fails, but something is not known or left to "+
			"judge on site.\n\n"+
			"It serves a qualified person with the current edition of the standard at hand. It makes nothing safe: isolate, lock off, prove dead."),
		kong.Vars{"papers": strings.Join(paper.Names(), ", "), "symptoms": strings.Join(prove.Symptoms(), ", "),
			"fields": strings.Join(reading.Fields(), ", "), "weight": fmt.Sprint(prove.UsualWeight)},
		kong.Writers(out, talk), kong.Exit(func(c int) { exited = c }), kong.BindTo(out, (*io.Writer)(nil)))
	if err != nil {
		fmt.Fprintln(talk, "chargewright:", err)
		return exitUnusable
	}
	ctx, err := parser.Parse(args)
	if exited >= 0 { // --help has been answered
		return exited
	}
	if err != nil {
		fmt.Fprintln(talk, "chargewright:", err)
		return exitUnusable
	}
	err = ctx.Run()
	var o outcome
	switch {
	case err == nil:
		return exitMet
	case errors.As(err, &o):
		return o.code
	}
	fmt.Fprintln(talk, err)
	return exitUnusable
}
