package main

import (
	"fmt"
	"io"
	"sort"
	"strings"

	"chargewright/drawing"
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
	var gaps []string
	switch {
	case c.Fault != "":
		f, err := m.StudyFault(c.Fault)
		if err != nil {
			return err
		}
		study, text, gaps = f, func(w io.Writer) { printFault(w, f) }, f.Gaps
	case c.LostPEN:
		l, err := lostPEN(m)
		if err != nil {
			return err
		}
		study, text, gaps = l, func(w io.Writer) { printLostPEN(w, l) }, l.Gaps
	default:
		study, text, gaps = flowJSON(m), func(w io.Writer) { printFlow(w, m) }, m.Flow.Gaps
	}
	if c.Picture != "" {
		if c.Fault != "" {
			return fmt.Errorf("a fault has no picture: leave -o out, or study the flow or the lost PEN")
		}
		scene := drawing.VoltageAlong(m)
		if c.LostPEN {
			if scene, err = lostPENPicture(m); err != nil {
				return err
			}
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
			fmt.Fprintln(out, wrap("not known: ", strings.Join(gaps, "; "), 6))
		}
		return outcome{exitOpen}
	}
	return nil
}

// flowRow is the state at the end of a circuit, as JSON.
type flowRow struct {
	At           string      `json:"at"`
	Volts        [3]*float64 `json:"volts"` // line to neutral in L1, L2, L3; null where there is no such line
	Lines        [3]float64  `json:"amperes"`
	Neutral      float64     `json:"neutral"`
	NeutralThird float64     `json:"neutralThirdHarmonic"`
	LossWatts    float64     `json:"lossWatts"`
}

type flowStudy struct {
	Job         string    `json:"job"`
	OriginVolts []float64 `json:"originVolts"`
	At          []flowRow `json:"at"`
	LossWatts   float64   `json:"lossWatts"`
	Gaps        []string  `json:"notKnown"`
}

func flowJSON(m *model.Model) flowStudy {
	s := flowStudy{Job: m.Job.Name, LossWatts: float64(m.Flow.Losses), Gaps: m.Flow.Gaps}
	for _, v := range m.Flow.Origin {
		if v > 0 {
			s.OriginVolts = append(s.OriginVolts, float64(v))
		}
	}
	for _, f := range m.Flow.At {
		row := flowRow{At: f.Circuit.Record.To, Neutral: float64(f.Neutral), NeutralThird: float64(f.NeutralThird), LossWatts: float64(f.Loss)}
		for k, v := range f.Volts {
			row.Lines[k] = float64(f.Lines[k])
			if v > 0 {
				volts := float64(v)
				row.Volts[k] = &volts
			}
		}
		s.At = append(s.At, row)
	}
	return s
}

// printFlow prints voltage and current along the job with every point on.
func printFlow(out io.Writer, m *model.Model) {
	fmt.Fprintf(out, "\nevery point on, each held to what its limiter leaves; volts line to neutral\n")
	fmt.Fprintf(out, "  %-22s %-24s %-24s %s\n", "at", "volts", "amperes", "neutral (third harmonic)")
	fmt.Fprintf(out, "  %-22s %s\n", "origin", perLine(m.Flow.Origin))
	for _, f := range m.Flow.At {
		fmt.Fprintf(out, "  %-22s %-24s %-24s %v (%v)\n", f.Circuit.Record.To, perLine(f.Volts), perLine(f.Lines), f.Neutral, f.NeutralThird)
	}
	fmt.Fprintf(out, "  lost in the job's own conductors: %v, %v in a thousand hours like this\n\n", m.Flow.Losses, quantity.WattHours(1000*float64(m.Flow.Losses)))
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
	if len(f.Gaps) > 0 {
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

// lostPENStudy is the loss of the PEN conductor with the points off and on.
type lostPENStudy struct {
	Job  string         `json:"job"`
	Most float64        `json:"limitVolts"`
	Off  lostPENOutcome `json:"pointsOff"`
	On   lostPENOutcome `json:"pointsOn"`
	Gaps []string       `json:"notKnown"`
}

type lostPENOutcome struct {
	Terminal    float64            `json:"terminalVolts"`
	LineNeutral []float64          `json:"lineNeutralVolts"`
	Points      map[string]float64 `json:"pointVolts"`
	Needed      bool               `json:"electrodeNeeded"`
	Electrode   *float64           `json:"electrodeOhms"`
}

func lostPEN(m *model.Model) (lostPENStudy, error) {
	off, on, most, err := losePEN(m)
	if err != nil {
		return lostPENStudy{}, err
	}
	s := lostPENStudy{Job: m.Job.Name, Most: float64(most)}
	for i, l := range []model.LostPEN{off, on} {
		s.Gaps = l.Gaps
		o := lostPENOutcome{Terminal: float64(l.Terminal), Needed: l.Needed, Points: map[string]float64{}}
		for _, v := range l.LineNeutral {
			if v > 0 {
				o.LineNeutral = append(o.LineNeutral, float64(v))
			}
		}
		for name, v := range l.Points {
			o.Points[name] = float64(v)
		}
		if r, ok := l.Electrode.Get(); ok {
			ohms := float64(r)
			o.Electrode = &ohms
		}
		if i == 1 {
			s.On = o
		} else {
			s.Off = o
		}
	}
	return s, nil
}

// losePEN studies the loss at the highest lawful voltage, points off and on.
func losePEN(m *model.Model) (off, on model.LostPEN, most quantity.Volts, err error) {
	limit, _, err := m.Rules.Limit("pen touch voltage")
	if err != nil {
		return off, on, 0, err
	}
	factor, _, err := m.Rules.Limit("cmax")
	if err != nil {
		return off, on, 0, err
	}
	most = quantity.Volts(limit)
	return m.LosePEN(factor, false, most), m.LosePEN(factor, true, most), most, nil
}

func lostPENPicture(m *model.Model) (drawing.Scene, error) {
	off, on, most, err := losePEN(m)
	if err != nil {
		return drawing.Scene{}, err
	}
	return drawing.LostPEN(off, on, most), nil
}

func printLostPEN(out io.Writer, s lostPENStudy) {
	fmt.Fprintf(out, "\nPEN conductor of the supply lost, supply at its highest lawful voltage\n")
	fmt.Fprintln(out, wrap("  ", "metalwork that looks dead may stand at these voltages: isolate and prove dead at the point of work, and leave the supply to the network operator", 2))
	if len(s.Gaps) > 0 {
		return
	}
	for _, row := range []struct {
		name string
		o    lostPENOutcome
	}{{"points off", s.Off}, {"points on", s.On}} {
		fmt.Fprintf(out, "  %-11s main earthing terminal %v to true earth (limit %v); line to neutral", row.name, quantity.Volts(row.o.Terminal), quantity.Volts(s.Most))
		for _, v := range row.o.LineNeutral {
			fmt.Fprintf(out, " %v", quantity.Volts(v))
		}
		fmt.Fprintln(out)
		switch {
		case row.o.Electrode != nil:
			fmt.Fprintf(out, "              an electrode of at most %v would hold it\n", quantity.Ohms(*row.o.Electrode))
		case !row.o.Needed:
			fmt.Fprintln(out, "              no electrode is needed for this load pattern")
		}
		var names []string
		for name := range row.o.Points {
			names = append(names, name)
		}
		sort.Strings(names)
		for _, name := range names {
			fmt.Fprintf(out, "              %s %v to true earth, unless its own device has opened\n", name, quantity.Volts(row.o.Points[name]))
		}
	}
	fmt.Fprintln(out)
}
