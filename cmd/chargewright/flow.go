package main

import (
	"fmt"
	"io"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

type flowCmd struct {
	Job     string `arg:"" help:"Job file."`
	LostPEN bool   `name:"lost-pen" help:"What metalwork stands at when the supply's PEN conductor is lost."`
	Fault   string `help:"Fault to study, like L1-PE@CP1, L1-N@CP1, L1-L2@yard board or L1-L2-L3@yard board."`
	JSON    bool   `name:"json" help:"Print the study as JSON."`
	Picture string `short:"o" help:"Also draw the study into this SVG file: voltage along the line, or the lost PEN."`
}

// Run solves the job's network and prints what it says.
func (c *flowCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	var study any
	var text func(io.Writer)
	var gaps finding.Lacks
	switch {
	case c.Fault != "":
		f, err := m.StudyFault(c.Fault)
		if err != nil {
			return err
		}
		study, text, gaps = f, func(w io.Writer) { printFault(w, f) }, f.Lacks
	case c.LostPEN:
		l, err := m.StudyLostPEN()
		if err != nil {
			return err
		}
		study, text, gaps = l, func(w io.Writer) { printLostPEN(w, l) }, l.Lacks
	default:
		study, text, gaps = m.StudyFlow(), func(w io.Writer) { printFlow(w, m) }, m.Flow.Lacks
	}
	if c.Picture != "" {
		if c.Fault != "" {
			return fmt.Errorf("a fault has no picture: leave -o out, or study the flow or the lost PEN")
		}
		scene := drawing.VoltageAlong(m)
		if c.LostPEN {
			l, err := m.StudyLostPEN()
			if err != nil {
				return err
			}
			scene = drawing.LostPEN(l.Off, l.On, l.Most)
		}
		if err := replace(c.Picture, scene.SVG()); err != nil {
			return fmt.Errorf("write the picture: %w", err)
		}
	}
	if c.JSON {
		if err := writeJSON(out, study); err != nil {
			return err
		}
	} else {
		heading(out, m)
		text(out)
		for _, a := range m.Assumptions {
			fmt.Fprintf(out, "assumed: %s\n", a)
		}
	}
	if len(gaps) > 0 {
		if !c.JSON {
			fmt.Fprintln(out, wrap("not known: ", gaps.String(), 6))
		}
		return outcome{exitOpen}
	}
	return nil
}

// printFlow prints voltage and current along the job with every point on.
func printFlow(out io.Writer, m *model.Model) {
	if m.Flow.Origin == [3]quantity.Volts{} {
		return
	}
	fmt.Fprintf(out, "\nevery point on, each held to what its limiter leaves; volts line to neutral\n")
	fmt.Fprintf(out, "  %-22s %-24s %-24s %s\n", "at", "volts", "amperes", "neutral (third harmonic)")
	fmt.Fprintf(out, "  %-22s %s\n", "origin", perLine(m.Flow.Origin))
	for _, f := range m.Flow.At {
		fmt.Fprintf(out, "  %-22s %-24s %-24s %v (%v)\n", f.Circuit.Record.To, perLine(f.Volts), perLine(f.Lines), f.Neutral, f.NeutralThird)
	}
	fmt.Fprintf(out, "  lost in the job's own conductors: %v, %v in a thousand hours like this\n\n", m.Flow.Losses,
		quantity.WattHours(1000*float64(m.Flow.Losses)))
}

// perLine prints one figure a line, a dash where the circuit has no such line.
func perLine[Q quantity.Quantity](q [3]Q) string {
	var parts []string
	for _, v := range q {
		if v == 0 {
			parts = append(parts, "–")
			continue
		}
		parts = append(parts, fmt.Sprintf("%.1f", float64(v)))
	}
	return strings.Join(parts, " / ")
}

func printFault(out io.Writer, f model.FaultStudy) {
	fmt.Fprintf(out, "\nfault %s\n", f.What)
	if len(f.Lacks) > 0 {
		return
	}
	fmt.Fprintf(out, "  greatest %v   conductors cold, source at the angle that adds least\n", f.Greatest)
	fmt.Fprintf(out, "  least    %v   conductors at operating temperature, lowest supply voltage\n", f.Least)
	if f.Loop > 0 {
		fmt.Fprintf(out, "  loop     %v at operating temperature\n", f.Loop)
	}
	if f.Touch > 0 {
		fmt.Fprintf(out, "  metal there stands at %v to true earth until the fault is cut off\n", f.Touch)
	}
	fmt.Fprintln(out)
}

func printLostPEN(out io.Writer, s model.LostPENStudy) {
	fmt.Fprintf(out, "\nPEN conductor of the supply lost, supply at its highest lawful voltage\n")
	fmt.Fprintln(out, wrap("  ", model.LostPENCaution, 2))
	if len(s.Lacks) > 0 {
		return
	}
	for _, row := range []struct {
		name string
		l    model.LostPEN
	}{{"points off", s.Off}, {"points on", s.On}} {
		fmt.Fprintf(out, "  %-11s main earthing terminal %v to true earth (limit %v); line to neutral", row.name, row.l.Terminal, s.Most)
		for _, v := range row.l.LineNeutral {
			if v > 0 {
				fmt.Fprintf(out, " %v", v)
			}
		}
		fmt.Fprintln(out)
		for _, text := range row.l.Says() {
			fmt.Fprintln(out, "              "+text)
		}
	}
	fmt.Fprintln(out)
}
