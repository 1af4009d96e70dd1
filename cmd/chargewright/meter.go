package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/meter"
	"chargewright/quantity"
)

type meterCmd struct {
	Address string        `arg:"" help:"Meter, like tcp://192.0.2.7:502, rtuovertcp://192.0.2.7:4001, or a serial line: rtu:///dev/ttyUSB0?speed=9600&parity=even."`
	Map     string        `default:"float-high-word-first" help:"Register map: a built-in name or a CSV file; --layouts tries the built-in ones."`
	Unit    uint8         `default:"1" help:"Modbus address of the meter."`
	Scan    bool          `help:"Ask every Modbus address whether somebody answers."`
	Layouts bool          `help:"Try every built-in register map, and what is near it, and say under which the reading can be."`
	Times   int           `default:"1" help:"How often to read."`
	Every   time.Duration `default:"1s" help:"Time between readings."`
	Load    string        `help:"Clamp proof: current of a known load, like 13 A. You switch it on between two readings."`
	On      string        `default:"L1" enum:"L1,L2,L3" help:"Line the known load is on."`
	Settle  time.Duration `default:"15s" help:"Time to switch the known load on."`
	JSON    bool          `name:"json" help:"Print readings as JSON."`
}

// Run reads a meter; it never writes to one.
func (c *meterCmd) Run(out io.Writer) error {
	meter, err := meter.Open(c.Address, c.Map, c.Unit)
	if err != nil {
		return err
	}
	defer meter.Close()
	ctx := context.Background()
	if c.Scan {
		found, err := meter.Scan(ctx, 1, 247, func(unit uint8, text string) { fmt.Fprintf(out, "address %d %s\n", unit, text) })
		fmt.Fprintf(out, "%d addresses answer\n", len(found))
		return err
	}
	if c.Layouts {
		return printLayouts(ctx, out, meter)
	}
	first, err := meter.Read(ctx)
	if err != nil {
		return err
	}
	if c.Load != "" {
		return c.prove(ctx, out, meter, first)
	}
	for n := 1; ; n++ {
		if c.JSON {
			err = writeJSON(out, first)
		} else {
			printReading(out, first)
		}
		if err != nil || n >= c.Times {
			return err
		}
		time.Sleep(c.Every)
		if first, err = meter.Read(ctx); err != nil {
			return err
		}
	}
}

// printLayouts prints under which register maps a meter's reading can be.
func printLayouts(ctx context.Context, out io.Writer, m *meter.Meter) error {
	found, err := m.Layouts(ctx)
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		for _, l := range found[name] {
			fmt.Fprintln(out, wrap("", "map "+name+", "+l.String(), 4))
		}
	}
	if len(found) == 0 {
		fmt.Fprintln(out, "under none of the built-in maps, nor near one, can its reading be: take the register map of its own papers")
		return outcome{exitOpen}
	}
	return nil
}

// prove compares the readings before and after a known load is switched on.
func (c *meterCmd) prove(ctx context.Context, out io.Writer, meter *meter.Meter, before meter.Reading) error {
	load, err := quantity.ParseAmperes(c.Load)
	if err != nil {
		return fmt.Errorf("--load: %w", err)
	}
	fmt.Fprintf(os.Stderr, "now: switch on the load of %v on %s; it is read again in %v\n", load, c.On, c.Settle)
	time.Sleep(c.Settle)
	after, err := meter.Read(ctx)
	if err != nil {
		return err
	}
	f := commission.ProveClamp(before, after, load, int(c.On[1]-'1'))
	if c.JSON {
		err = writeJSON(out, f)
	} else {
		fmt.Fprintf(out, "%s %s\n", marks[f.Verdict], f.Verdict)
		printFinding(out, f)
	}
	if code := finding.Summarise([]finding.Finding{f}).ExitCode(); err == nil && code != exitMet {
		return outcome{code}
	}
	return err
}

func printReading(out io.Writer, m meter.Reading) {
	row := func(name string, cells ...string) {
		fmt.Fprintf(out, "%-8s %10s %10s %10s\n", name, cells[0], cells[1], cells[2])
	}
	row(m.At.Format(time.TimeOnly), "L1", "L2", "L3")
	row("voltage", known(m.Voltage[0]), known(m.Voltage[1]), known(m.Voltage[2]))
	row("current", known(m.Current[0]), known(m.Current[1]), known(m.Current[2]))
	row("power", known(m.Power[0]), known(m.Power[1]), known(m.Power[2]))
	fmt.Fprintf(out, "%s\n", strings.TrimSpace("total    "+known(m.Total)+"   energy "+known(m.Energy)))
	if e, ok := m.Energy.Get(); ok {
		fmt.Fprintf(out, "register %s Wh, as it stands\n", strconv.FormatFloat(float64(e), 'f', -1, 64))
	}
}

// known prints a value, or a dash where the meter shows none.
func known[Q fmt.Stringer](m quantity.Maybe[Q]) string {
	if q, ok := m.Get(); ok {
		return q.String()
	}
	return "–"
}
