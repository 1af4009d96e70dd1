package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/choose"
	"chargewright/finding"
)

// printChoice prints a design for a person: what is chosen, why, and what would
// change it.
func printChoice(out io.Writer, o *choose.Outcome) {
	heading(out, o.Model)
	fmt.Fprintf(out, "best by %s: %.0f of the catalogue's money, %d different cables and devices\n", o.Aim.Purpose, o.Cost, o.Different)
	fmt.Fprintln(out, wrap("", proofText(o), 0))
	for _, p := range o.Phases {
		fmt.Fprintf(out, "\nphases at %s: %.4g, %.4g, %.4g A, neutral %.3g A\n", p.Board, p.Current[0], p.Current[1], p.Current[2], p.Neutral)
		fmt.Fprintln(out, wrap("  ", phaseText(p), 2))
	}
	if l := o.Limiter; l != nil {
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("limiter: ", l.Why, 2))
		if l.Name != "" {
			fmt.Fprintf(out, "  %s: limit %.4g A, fail-safe current %.4g A\n", l.Name, l.Limit, l.FailSafe)
		}
	}
	for _, group := range alike(o.Circuits) {
		c := group[0]
		var names []string
		for _, g := range group {
			names = append(names, g.Circuit)
		}
		fmt.Fprintf(out, "\n%s\n", wrap("circuit ", strings.Join(names, ", "), 2))
		line := c.Cable + "; " + c.Device
		if c.RCD != "" {
			line += "; RCD " + c.RCD
		}
		fmt.Fprintln(out, wrap("  ", line, 4))
		fmt.Fprintln(out, wrap("  ", c.Binding, 4))
		tight := slices.Clone(c.Margins)
		slices.SortStableFunc(tight, func(a, b choose.Margin) int {
			switch x, y := a.Room/a.Limit, b.Room/b.Limit; {
			case x < y:
				return -1
			case x > y:
				return 1
			}
			return 0
		})
		var rules []string
		for _, m := range tight {
			rules = append(rules, m.String())
		}
		fmt.Fprintln(out, wrap("  rules, tightest first: ", strings.Join(rules, "; "), 4))
		for _, f := range c.Flips {
			fmt.Fprintln(out, wrap("  flips: ", f.String(), 4))
		}
	}
	for _, s := range o.Surge {
		own := "none of its own needed"
		if s.Own > 0 {
			own = fmt.Sprintf("a gG fuse of its own, %.0f A", s.Own)
		}
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("surge: ", fmt.Sprintf("%s: type %s, %.1f kV; %s (%s)", s.Board, s.Type, s.Level/1000, own, s.Why), 2))
		fmt.Fprintln(out, wrap("  its data states at least: ", s.Asks, 4))
	}
	printMeasures(out, o.Earthing)
	for _, b := range o.Boards {
		text := fmt.Sprintf("%d ways used, %d left", b.Used, b.Left)
		if b.Bought {
			text += ", chosen from the catalogue"
		}
		if b.Why != "" {
			text += "; " + b.Why
		}
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("board "+b.Board+": ", text, 2))
	}
	for i, g := range o.Gaps {
		if i == 0 {
			fmt.Fprintln(out, "\n? left open")
		}
		fmt.Fprintln(out, wrap("  ", g, 4))
	}
	fmt.Fprintln(out)
	for _, a := range o.Assumed {
		fmt.Fprintln(out, wrap("assumed: ", a, 2))
	}
	s := finding.Summarise(o.Findings)
	fmt.Fprintf(out, "the job as chosen: %d met, %d failed, %d not known, %d to judge on site\n", s.Meets, s.Fails, s.NotKnown, s.JudgeOnSite)
	for _, f := range o.Findings {
		if f.Verdict == finding.Fails || f.Verdict == finding.NotKnown {
			fmt.Fprintln(out, wrap("  "+marks[f.Verdict]+" ", f.Subject+": "+f.What+" ("+f.Why.String()+")", 4))
		}
	}
	fmt.Fprintln(out, "prices and hours are those of the catalogue; a qualified person answers for the design")
}

// printMeasures sets earthing measures side by side.
func printMeasures(out io.Writer, all []choose.Measure) {
	for i, m := range all {
		if i == 0 {
			fmt.Fprintln(out, "\nearthing of the points, side by side")
		}
		mark := "  – "
		if m.Permitted {
			mark = "  • "
		}
		text := m.Measure
		if m.Chosen > 0 {
			text += fmt.Sprintf(" (chosen for %d)", m.Chosen)
		}
		if m.Cost > 0 {
			text += fmt.Sprintf(", %.0f", m.Cost)
		}
		fmt.Fprintln(out, wrap(mark, text+": "+m.Needs+" ["+m.Why+"]", 4))
	}
}

func proofText(o *choose.Outcome) string {
	p := o.Proof
	text := fmt.Sprintf("%d candidates, %d held to the rules, %d branches cut by a bound", p.Candidates, p.Tried, p.Cut)
	if p.StruckOut > 0 {
		text += fmt.Sprintf(", %d refused by the whole model", p.StruckOut)
	}
	if p.Complete {
		return text + ": nothing permitted is better"
	}
	return text + fmt.Sprintf(": not proven, nothing costs less than %.0f", o.Bound)
}

func phaseText(p choose.PhaseChoice) string {
	by := map[string][]string{}
	for circuit, line := range p.Lines {
		by[line] = append(by[line], circuit)
	}
	var parts []string
	for _, line := range []string{"L1", "L2", "L3"} {
		if len(by[line]) > 0 {
			slices.Sort(by[line])
			parts = append(parts, line+": "+strings.Join(by[line], ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// alike gathers circuits with one cable, device and reason.
func alike(all []choose.CircuitChoice) [][]choose.CircuitChoice {
	var out [][]choose.CircuitChoice
	at := map[string]int{}
	for _, c := range all {
		key := c.Cable + c.Device + c.RCD
		if i, seen := at[key]; seen {
			out[i] = append(out[i], c)
			continue
		}
		at[key] = len(out)
		out = append(out, []choose.CircuitChoice{c})
	}
	return out
}
