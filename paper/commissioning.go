package paper

import (
	"bytes"
	"time"

	"chargewright/document"
	"chargewright/job"
	"chargewright/model"
	"chargewright/trade"
)

// Commissioning makes the commissioning paper of a job from its runs, as
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
		document.Paragraph{Text: "Each step was asked of the charge point itself; beside it stands what was observed, and without that it is not known. " +
			"It meets its rule, fails, is not supported by the point, is not known, or is left to judge on site. None of these says " +
			"that anything is safe. The raw messages are in the evidence file of the run."},
		document.Caution{Head: "Before anyone opens the point", Lines: []string{
			"A charge point that is commissioned may go live at any moment, by card, by link or by itself. Isolate, lock off, prove dead.",
			"Passwords, keys and network secrets are not on this paper and are not kept with it."}},
	}})
	for _, p := range m.Points {
		if s, ran := commissioned(m.Job, p.Record.Name); ran {
			d.Sections = append(d.Sections, s)
		} else {
			d.Sections = append(d.Sections, document.Section{Heading: "Point " + p.Record.Name,
				Blocks: []document.Block{document.Paragraph{Text: "Not commissioned: the record holds no run of this point."}}})
		}
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Commissioned by",
		Blocks: []document.Block{document.Lines{"Name", "Date", "Signature", "Left in service, or taken out"}}})
	return d
}

// commissioned is the last run of a point, and its control pilot as it was last
// measured.
func commissioned(j *job.Job, point string) (document.Section, bool) {
	s := document.Section{Heading: "Point " + point}
	columns := []document.Column{{Head: "Outcome", Share: 26}, {Head: "Step", Share: 44}, {Head: "Seen", Share: 34}}
	steps, pilot := document.Table{Columns: columns}, document.Table{Columns: columns}
	settings := document.Table{Columns: []document.Column{{Head: "Setting", Share: 60}, {Head: "After", Share: 50}, {Head: "Before, and why", Share: 80}}}
	facts := document.Facts{}
	last, ran := lastRun(j, point, trade.Commissioning)
	if ran {
		if last.Trained() {
			s.Heading += ": training"
			s.Blocks = append(s.Blocks, document.Caution{Head: "Training",
				Lines: []string{"This run was against a pretended point, for training. It says nothing of the charge point on the wall."}})
		}
		for _, said := range [][2]string{{"Serial number", last.Serial}, {"Firmware", last.Firmware}} {
			if said[1] != "" {
				facts = append(facts, document.Fact{What: said[0], Value: said[1], Note: "as the point says"})
			}
		}
		facts = append(facts, document.Fact{What: "Over", Value: RunOver(last), Note: join(last.Who, last.When)})
		if last.Ended != "" {
			facts = append(facts, document.Fact{What: "Run", Value: last.Ended, Note: RunAbout(last)})
		}
		for _, step := range last.Steps {
			steps.Rows = append(steps.Rows, runRow(step))
		}
		for _, c := range last.Settings {
			settings.Rows = append(settings.Rows, document.Row{Cells: document.Cells(c.Name, c.After, c.Before+"; "+c.Why)})
		}
	}
	s.Blocks = append(s.Blocks, facts, document.Subheading{Text: "Steps"}, steps)
	if measured, ok := lastRun(j, point, trade.ControlPilot); ok {
		ran = true
		for _, step := range measured.Steps {
			pilot.Rows = append(pilot.Rows, runRow(step))
		}
		s.Blocks = append(s.Blocks, document.Subheading{Text: "Control pilot"}, pilot)
	}
	if len(settings.Rows) > 0 {
		s.Blocks = append(s.Blocks, document.Subheading{Text: "Settings changed"}, settings)
	}
	return s, ran
}
