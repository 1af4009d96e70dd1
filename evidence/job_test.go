package evidence

import (
	"strings"

	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// lay makes a job of lines "path: value" and lays it out.
func (in inputs) lay(lines ...string) *model.Model {
	in.t.Helper()
	var entries []job.Entry
	for _, l := range append([]string{"job: example", "supply/earthing: TN-C-S", "supply/phases: 3", "supply/voltage: 230 V",
		"boards/board: 1", "boards/board/fed from: supply", "boards/board/phases: 3"}, lines...) {
		path, value, _ := strings.Cut(l, ": ")
		entries = append(entries, job.Entry{Path: path, Value: value})
	}
	j, err := job.NewRecord(entries...).Job("example")
	if err != nil {
		in.t.Fatal(err)
	}
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		in.t.Fatal(err)
	}
	return model.New(j, rules)
}

// run lays out one circuit of one leg to a load, as the inputs say.
func (in inputs) run() (*model.Model, *model.Circuit) {
	const c, leg = "circuits/run", "circuits/run/legs/leg"
	phases := in.text("phases", "L1")
	lines := []string{
		"supply/Ze: " + in.text("Ze", "0.35 Ω"), "supply/Ipf: 6 kA", c + ": 1", c + "/from: board", c + "/to: load", c + "/phases: " + phases,
		c + "/RCD/type: A", c + "/RCD/IΔn: " + in.text("residual", "30 mA"),
		c + "/cable/construction: " + in.text("construction", "flat twin and cpc"),
		c + "/cable/insulation: " + in.text("insulation", string(standard.Thermoplastic70)),
		c + "/cable/material: copper", c + "/cable/csa: " + in.text("csa", "2.5 mm²"), c + "/cable/cpc: core",
		leg + ": 1", leg + "/length: " + in.text("length", "10 m"), leg + "/method: " + in.text("method", "C"), leg + "/ambient: " + in.text("ambient", "30 °C"),
		leg + "/circuits together: 1", leg + "/in insulation: 0 m",
		"loads/load: 1", "loads/load/board: board", "loads/load/phases: " + phases, "loads/load/current: " + in.text("current", "10 A"), "site/temperature: 20 °C",
	}
	if cpc := in.text("cpc", ""); cpc != "" {
		lines = append(lines, c+"/cable/cpc csa: "+cpc)
	}
	m := in.lay(lines...)
	return m, m.Circuits[0]
}
