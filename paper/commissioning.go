package paper

import (
	"bytes"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
)

// Commissioning makes the commissioning paper of a job from its readings, as
// PDF: what each point said it is, each step with its outcome, each setting
// before and after. Only the last run of each point stands on it.
func Commissioning(m *model.Model, made time.Time) ([]byte, error) {
	var b bytes.Buffer
	if err := commissioning(m, made).PDF(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func commissioning(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Commissioning record", "What each charge point was asked over open protocols, what was seen, and what it is set to.")
	d.Sections = append(d.Sections, document.Section{Heading: "How to read it", Blocks: []document.Block{
		document.Paragraph{Text: "Each step was asked of the charge point itself and its answer observed. It meets its rule, fails, is not supported by the point, is not known, or is left to judge on site. None of these says that anything is safe. The raw messages are in the evidence file of the run."},
		document.Caution{Head: "Before anyone opens the point", Lines: []string{
			"A charge point that is commissioned may go live at any moment, by card, by link or by itself. Isolate, lock off, prove dead.",
			"Passwords, keys and network secrets are not on this paper and are not kept with it."}},
	}})
	for _, p := range m.Points {
		if s, ran := commissioned(m.Job.Readings, p.Record.Name); ran {
			d.Sections = append(d.Sections, s)
		} else {
			d.Sections = append(d.Sections, document.Section{Heading: "Point " + p.Record.Name, Blocks: []document.Block{document.Paragraph{Text: "Not commissioned: the record holds no run of this point."}}})
		}
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Commissioned by", Blocks: []document.Block{document.Lines{"Name", "Date", "Signature", "Left in service, or taken out"}}})
	return d
}

// commissioned is the last run of a point.
func commissioned(readings []job.Reading, point string) (document.Section, bool) {
	facts := document.Facts{}
	steps := document.Table{Columns: []document.Column{{Head: "Outcome", Share: 26}, {Head: "Step", Share: 44}, {Head: "Seen", Share: 34}}}
	settings := document.Table{Columns: []document.Column{{Head: "Setting", Share: 60}, {Head: "After", Share: 50}, {Head: "Before, and why", Share: 80}}}
	pilot := document.Table{Columns: steps.Columns}
	for _, r := range readings {
		if r.At == point && strings.HasPrefix(r.Reading, ranPilot) {
			word, seen, _ := strings.Cut(r.Value, ": ")
			pilot.Rows = append(pilot.Rows, stepRow(strings.TrimPrefix(r.Reading, ranPilot), word, seen, r.Note))
		}
	}
	if all := Runs(readings, point); len(all) > 0 {
		last := all[len(all)-1]
		for _, said := range last.Says {
			facts = append(facts, document.Fact{What: capital(said.Reading), Value: said.Value, Note: "as the point says"})
		}
		facts = append(facts, document.Fact{What: "Over", Value: last.Over, Note: join(last.Who, last.When)})
		if last.Ended != "" {
			facts = append(facts, document.Fact{What: "Run", Value: last.Ended, Note: last.About})
		}
		for _, s := range last.Steps {
			steps.Rows = append(steps.Rows, stepRow(s.Key, s.Outcome, s.Seen, s.note))
		}
		for _, c := range last.Settings {
			settings.Rows = append(settings.Rows, document.Row{Cells: document.Cells(c.Name, c.After, c.Before+"; "+c.Why)})
		}
	}
	s := document.Section{Heading: "Point " + point, Blocks: []document.Block{facts, document.Subheading{Text: "Steps"}, steps}}
	if len(pilot.Rows) > 0 {
		s.Blocks = append(s.Blocks, document.Subheading{Text: "Control pilot"}, pilot)
	}
	if len(settings.Rows) > 0 {
		s.Blocks = append(s.Blocks, document.Subheading{Text: "Settings changed"}, settings)
	}
	return s, len(steps.Rows)+len(pilot.Rows) > 0
}

// stepRow is one step or measurement with its outcome.
func stepRow(key, word, seen, note string) document.Row {
	row := document.Row{Cells: []document.Cell{{Text: word, Bold: true}, {Text: capital(key)}, {Text: seen}}, Under: []document.Note{{Label: "", Text: note}}}
	var v finding.Verdict
	if v.UnmarshalText([]byte(word)) == nil {
		row.Cells[0] = document.VerdictCell(v)
	}
	return row
}
