package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
)

// writeJSON prints v as indented JSON.
func writeJSON(out io.Writer, v any) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// joinLines puts one error under another.
func joinLines(a, b error) error {
	if a == nil {
		return b
	}
	return errors.New(a.Error() + "\n" + b.Error())
}

// marks are the shapes that go with a verdict's word.
var marks = map[finding.Verdict]string{finding.Fails: "✕", finding.NotKnown: "?", finding.JudgeOnSite: "◇", finding.Meets: "•"}

// inks colour a verdict's word on a terminal; the word and the shape carry it.
var inks = map[finding.Verdict]string{finding.Fails: "\x1b[1;31m", finding.NotKnown: "\x1b[1;33m", finding.JudgeOnSite: "\x1b[1;36m", finding.Meets: "\x1b[32m"}

// onTerminal reports whether out is a terminal that wants colour.
func onTerminal(out io.Writer) bool {
	f, ok := out.(*os.File)
	if !ok || os.Getenv("NO_COLOR") != "" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// heading prints the job's name and edition.
func heading(out io.Writer, m *model.Model) {
	line := m.Job.Name
	if line == "" {
		line = "job without a name"
	}
	line += " · " + string(m.Job.Edition)
	if m.Job.Invented {
		line += " · invented"
	}
	fmt.Fprintln(out, line)
}

// printFindings prints findings for a person: what fails, what is not known,
// what to judge; what is met is counted, or listed when all is asked for.
func printFindings(out io.Writer, m *model.Model, found []finding.Finding, all bool) {
	heading(out, m)
	colour := onTerminal(out)
	ordered := append([]finding.Finding(nil), found...)
	finding.ByUrgency(ordered)
	last := finding.Verdict(255)
	for _, f := range ordered {
		if f.Verdict == finding.Meets && !all {
			continue
		}
		if f.Verdict != last {
			last = f.Verdict
			word := marks[f.Verdict] + " " + f.Verdict.String()
			if colour {
				word = inks[f.Verdict] + word + "\x1b[0m"
			}
			fmt.Fprintf(out, "\n%s\n", word)
		}
		printFinding(out, f)
	}
	if len(m.Flow.At) > 0 {
		printFlow(out, m)
	}
	fmt.Fprintln(out, finding.Summarise(found))
	for _, a := range m.Assumptions {
		fmt.Fprintf(out, "assumed: %s\n", a)
	}
	for _, a := range m.Job.Assumed() {
		fmt.Fprintln(out, wrap("assumed, not seen: ", strings.TrimSuffix(a.Name()+": "+a.Value+", "+a.Reason, ", "), 4))
	}
	for _, f := range ordered {
		if f.Next != "" && f.Verdict != finding.Meets {
			fmt.Fprintln(out, wrap("next: ", f.Subject+": "+f.Next, 6))
			break
		}
	}
}

func printFinding(out io.Writer, f finding.Finding) {
	fmt.Fprintln(out, wrap("  ", f.Subject+": "+f.What, 4))
	if !f.Value.IsZero() || !f.Limit.IsZero() {
		line := "    "
		for _, part := range []struct{ name, text string }{{"has", f.Value.String()}, {"limit", f.Limit.String()}, {"margin", f.Margin.String()}} {
			if part.text != "" {
				line += fmt.Sprintf("%s %-12s ", part.name, part.text)
			}
		}
		fmt.Fprintln(out, strings.TrimRight(line, " ")+"   "+f.Clause.Name)
	} else {
		fmt.Fprintln(out, "    "+f.Clause.Name)
	}
	if f.Why != nil {
		fmt.Fprintln(out, wrap("    ", f.Why.String(), 4))
	}
	if f.Rests != nil {
		fmt.Fprintln(out, wrap("    ", f.If()+": "+assumedNames(f), 6))
	}
	if f.Next != "" {
		fmt.Fprintln(out, wrap("    → ", f.Next, 6))
	}
}

// assumedNames are the facts that a verdict rests on and nobody has seen.
func assumedNames(f finding.Finding) string {
	var names []string
	for _, path := range f.Rests() {
		names = append(names, job.Assumption{Path: path}.Name())
	}
	return strings.Join(names, "; ")
}

// wrap breaks text at 96 characters, the first line begun with lead and the
// others indented.
func wrap(lead, text string, indent int) string {
	const width = 96
	var lines []string
	line := lead
	room := false
	for _, word := range strings.Fields(text) {
		if room && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			lines = append(lines, line)
			line, room = strings.Repeat(" ", indent), false
		}
		if room {
			line += " "
		}
		line += word
		room = true
	}
	return strings.Join(append(lines, line), "\n")
}
