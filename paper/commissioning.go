package paper

import (
	"bytes"
	"strings"
	"time"

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

func commissioning(m *model.Model, made time.Time) *Document {
	d := newDocument(m, made, "Commissioning record", "What each charge point was asked over open protocols, what was seen, and what it is set to.")
	d.Sections = append(d.Sections, Section{Heading: "How to read it", Blocks: []Block{
		Paragraph{"Each step was asked of the charge point itself and its answer observed. It meets its rule, fails, is not supported by the point, is not known, or is left to judge on site. None of these says that anything is safe. The raw messages are in the evidence file of the run."},
		Caution{"Before anyone opens the point", []string{
			"A charge point that is commissioned may go live at any moment, by card, by link or by itself. Isolate, lock off, prove dead.",
			"Passwords, keys and network secrets are not on this paper and are not kept with it."}},
	}})
	for _, p := range m.Points {
		if s, ran := commissioned(m.Job.Readings, p.Record.Name); ran {
			d.Sections = append(d.Sections, s)
		} else {
			d.Sections = append(d.Sections, Section{Heading: "Point " + p.Record.Name, Blocks: []Block{Paragraph{"Not commissioned: the record holds no run of this point."}}})
		}
	}
	d.Sections = append(d.Sections, Section{Heading: "Commissioned by", Blocks: []Block{Lines{"Name", "Date", "Signature", "Left in service, or taken out"}}})
	return d
}

// commissioned is the last run of a point.
func commissioned(readings []job.Reading, point string) (Section, bool) {
	facts := Facts{}
	steps := Table{Columns: []Column{{Head: "Outcome", Share: 26}, {Head: "Step", Share: 44}, {Head: "Seen", Share: 34}}}
	settings := Table{Columns: []Column{{Head: "Setting", Share: 60}, {Head: "After", Share: 50}, {Head: "Before, and why", Share: 80}}}
	pilot := Table{Columns: steps.Columns}
	for _, r := range readings {
		if r.At == point && strings.HasPrefix(r.Reading, ranPilot) {
			word, seen, _ := strings.Cut(r.Value, ": ")
			pilot.Rows = append(pilot.Rows, stepRow(strings.TrimPrefix(r.Reading, ranPilot), word, seen, r.Note))
		}
	}
	if all := Runs(readings, point); len(all) > 0 {
		last := all[len(all)-1]
		for _, said := range last.Says {
			facts = append(facts, Fact{capital(said.Reading), said.Value, "as the point says"})
		}
		facts = append(facts, Fact{"Over", last.Over, join(last.Who, last.When)})
		if last.Ended != "" {
			facts = append(facts, Fact{"Run", last.Ended, last.About})
		}
		for _, s := range last.Steps {
			steps.Rows = append(steps.Rows, stepRow(s.Key, s.Outcome, s.Seen, s.note))
		}
		for _, c := range last.Settings {
			settings.Rows = append(settings.Rows, Row{Cells: cells(c.Name, c.After, c.Before+"; "+c.Why)})
		}
	}
	s := Section{Heading: "Point " + point, Blocks: []Block{facts, Subheading{"Steps"}, steps}}
	if len(pilot.Rows) > 0 {
		s.Blocks = append(s.Blocks, Subheading{"Control pilot"}, pilot)
	}
	if len(settings.Rows) > 0 {
		s.Blocks = append(s.Blocks, Subheading{"Settings changed"}, settings)
	}
	return s, len(steps.Rows)+len(pilot.Rows) > 0
}

// stepRow is one step or measurement with its outcome.
func stepRow(key, word, seen, note string) Row {
	row := Row{Cells: []Cell{{Text: word, Bold: true}, {Text: capital(key)}, {Text: seen}}, Under: []Note{{"", note}}}
	var v finding.Verdict
	if v.UnmarshalText([]byte(word)) == nil {
		row.Cells[0] = verdictCell(v)
	}
	return row
}
