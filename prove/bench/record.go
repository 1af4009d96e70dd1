package bench

import (
	"fmt"
	"math"
	"strings"
)

// write writes the job file as a person would have kept it: lengths measured or
// thought, the figures of the supply declared or read once, units and the way a
// reading was taken often left out.
func (c *Case) write() string {
	s := c.Site
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	said := s.Earthing
	if _, other := s.odd["said TN-S"]; other {
		said = "TN-S"
	}
	line("job: Bench\ninvented: yes\nedition: BS 7671:2018+A4:2026\nstage: live")
	line("site: {premises: workplace, visited: 2026-11-24, temperature: %.0f °C}", s.Said)
	line("people: [{name: A. Spark, role: tester}]")
	nulled := ""
	if s.meter.nulled {
		nulled = ", leads nulled: yes"
	}
	line("instruments: [{name: tester, kind: multifunction, serial: invented%s}, {name: stakes, kind: electrode}, "+
		"{name: adaptor, kind: adaptor}, {name: tongs, kind: clamp}]", nulled)
	line("supply:\n  earthing: %s\n  phases: %d\n  voltage: 230 V", said, s.Phases)
	ze, known := map[string]string{"TN-C-S": "0.35 Ω", "TN-S": "0.8 Ω"}[said]
	if known {
		line("  Ze: {value: %s, known by: declared}", ze)
	}
	line("  tails: {csa: 25 mm², length: 2 m}\n  earthing conductor: {csa: 16 mm², length: 4 m}")
	if s.ohms["pipes"] < 1e5 && (c.Full || c.bonds) {
		line("  main bonding: [{to: water, csa: 10 mm²}]")
	}
	if said == "TT" {
		line("  electrode: rod\nelectrodes: [{name: rod, kind: rod, length: 2.4 m, diameter: 16 mm}]")
	}
	surge := ""
	if s.Surge {
		surge = ", surge protection: [{name: SPD 1, type: 2}]"
	}
	line("boards:\n  - {name: main board, fed from: supply, phases: %d%s}", s.Phases, surge)
	phases := "L1"
	if s.Phases == 3 {
		phases = "L1 L2 L3"
	}
	if s.Sub > 0 {
		line("  - {name: sub-board, phases: %d}", s.Phases)
	}
	line("circuits:")
	from := "main board"
	if s.Sub > 0 {
		cores := map[int]int{1: 2, 3: 4}[s.Phases]
		line("  - name: sub-main\n    from: main board\n    to: sub-board\n    phases: %s\n    device: {type: BS 88-3, rating: 63 A}", phases)
		line("    cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: 16 mm², cores: %d, cpc: armour}", cores)
		line("    legs: [{name: run, %s, method: C}]", c.length(s.Sub))
		from = "sub-board"
	}
	point := "L1"
	if s.Three {
		point = "L1 L2 L3"
	}
	line("  - name: point circuit\n    from: %s\n    to: CP1\n    phases: %s", from, point)
	line("    device: {type: BS EN 61009 type B, rating: 40 A, breaking capacity: 6 kA}\n    RCD: {type: A, IΔn: 30 mA}")
	switch {
	case s.Flat:
		line("    cable: {construction: flat twin and cpc, insulation: 70 °C thermoplastic, material: copper, csa: %g mm²}", s.CSA)
	default:
		line("    cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: %g mm², cores: %d, cpc: %s}", s.CSA, s.cores(), s.CPC)
	}
	line("    legs: [{name: run, %s, method: C}]", c.length(s.Length))
	outlet := "socket"
	if s.Tethered {
		outlet = "tethered"
	}
	power := 7.4
	number := 1
	if s.Three {
		power, number = 22, 3
	}
	line("points:\n  - {name: CP1, power: %g kW, phases: %d, outlet: %s}", power, number, outlet)
	line("readings:")
	for i, r := range c.Readings {
		extra := ""
		if r.Function != "" && (c.Full || r.asked || i%3 != 0) {
			extra = fmt.Sprintf(", function: %q", r.Function)
		}
		if r.asked { // nothing was altered in between
			extra += ", earlier stands: yes"
		}
		line("  - {at: %s, reading: %s, value: %q, instrument: tester, who: A. Spark, when: 2026-11-24T%02d:%02d:00Z%s}", r.At, r.Reading, r.Value, 9+i/60, i%60,
			extra)
	}
	return b.String()
}

// length is what is written of a run: taped, or thought within a fifth.
func (c *Case) length(real float64) string {
	if c.Site.Measured || c.Full {
		return fmt.Sprintf("length: %.0f m, length known by: measured", real)
	}
	guess := math.Max(1, math.Round(real*(1+0.12*math.Sin(real*7)))) // always the same guess of one run
	return fmt.Sprintf("length: %.0f m, length known by: assumed", guess)
}
