package paper

import (
	"cmp"
	"fmt"
	"strings"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// The words in which papers and pages tell of a run.

// RunOver says over which protocol a run went, and that it was training where
// it was.
func RunOver(r works.Run) string {
	if r.Trained() {
		return join(r.Protocol, "training on a pretended point, not a true run")
	}
	return r.Protocol
}

// RunAbout says when a run began, how its link was secured, what was left out.
func RunAbout(r works.Run) string {
	var about []string
	if r.Began != "" {
		about = append(about, "begun "+r.Began+" UTC")
	}
	if r.Link != "" {
		about = append(about, "link: "+r.Link)
	}
	if len(r.LeftOut) > 0 {
		about = append(about, "left out: "+strings.Join(r.LeftOut, ", "))
	}
	if r.Note != "" {
		about = append(about, r.Note)
	}
	return strings.Join(about, "; ")
}

// RunSum counts the verdicts of a run.
func RunSum(r works.Run) string {
	count := map[string]int{}
	for _, s := range r.Steps {
		count[s.Verdict]++
	}
	return fmt.Sprintf("%d met, %d failed, %d not supported, %d not known, %d to judge on site", count[finding.Meets.String()], count[finding.Fails.String()],
		count[trade.NotSupported], count[finding.NotKnown.String()], count[finding.JudgeOnSite.String()])
}

// StepSeen says what a step measured, and against what limit.
func StepSeen(s works.RunStep) string {
	if s.Value != "" && s.Limit != "" {
		return s.Value + ", limit " + s.Limit
	}
	return s.Value
}

// StepWhy says what was seen in a step, and what to do now.
func StepWhy(s works.RunStep) string {
	if s.Next != "" {
		return s.Seen + "; next: " + s.Next
	}
	return s.Seen
}

// runRow is one step of a run with its verdict.
func runRow(s works.RunStep) document.Row {
	row := document.Row{Cells: []document.Cell{{Text: cmp.Or(s.Verdict, finding.NotKnown.String()), Bold: true}, {Text: capital(s.Key)}, {Text: StepSeen(s)}},
		Under: []document.Note{{Text: s.What + ": " + StepWhy(s)}}}
	var v finding.Verdict
	if v.UnmarshalText([]byte(s.Verdict)) == nil {
		row.Cells[0] = document.VerdictCell(v)
	}
	return row
}

// lastRun is the run of a program that stands on a paper: the last one against
// the point itself, or, where all were training, the last of those.
func lastRun(j *job.Job, point, program string) (last works.Run, ran bool) {
	for _, r := range j.RunsOf(point, program) {
		if len(r.Steps) > 0 && (!ran || last.Trained() || !r.Trained()) {
			last, ran = r, true
		}
	}
	return last, ran
}
