package prove

import (
	"cmp"
	"testing"

	"chargewright/examples"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// TestWhatIsOfferedCanBeEntered enters every test that is offered, the
// continuity of earthing and bonding conductors among them, at the place it is
// offered for, and holds that it counts as taken there.
func TestWhatIsOfferedCanBeEntered(t *testing.T) {
	for _, name := range []string{"bakery/open.yaml", "terrace/job.yaml", "pool/open.yaml"} {
		text, err := examples.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		file, err := job.ReadRecord(name, text)
		if err != nil {
			t.Fatal(err)
		}
		j, err := file.Job()
		if err != nil {
			t.Fatal(err)
		}
		rules, err := standard.Open(j.Edition)
		if err != nil {
			t.Fatal(err)
		}
		offered := Expect(model.New(j, rules))
		conductors := 0
		for _, e := range offered {
			value := cmp.Or(e.Mid.String(), e.High.String(), e.Low.String(), e.Limit.String())
			if len(e.Seen) > 0 {
				value = e.Seen[0]
			}
			if value == "" {
				value = finding.Of(1, e.Kind().Measure).String()
			}
			if err := file.Append("readings", job.Given{Name: "at", Value: e.At}, job.Given{Name: "reading", Value: e.Reading}, job.Given{Name: "value", Value: value}); err != nil {
				t.Errorf("%s: %s at %s is offered and cannot be entered: %v", name, e.Reading, e.At, err)
			}
			if e.Reading == bondingContinuity {
				conductors++
			}
		}
		if conductors == 0 {
			t.Errorf("%s: no continuity of earthing or bonding conductors is offered", name)
		}
		if j, err = file.Job(); err != nil {
			t.Fatal(err)
		}
		for _, e := range Expect(model.New(j, rules)) {
			if e.Taken == "" {
				t.Errorf("%s: %s at %s was entered and counts as not taken", name, e.Reading, e.At)
			}
		}
	}
}
