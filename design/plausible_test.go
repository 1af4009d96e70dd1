package design

import (
	"strings"
	"testing"

	"chargewright/finding"
)

// TestWhatHardlyCanBeIsAskedBack: just inside and just outside of what facts of
// one thing can be. The sums are first principles; where nothing is published the
// edge is engineering judgement, and its row of the table says so.
func TestWhatHardlyCanBeIsAskedBack(t *testing.T) {
	const (
		way1, way2 = "{name: way 1, from: yard,", "{name: way 2, from: yard,"
		cp1        = "{name: CP1, current: 32 A"
		pump       = "kind: motor, current: 10 A"
		one        = "  - {name: yard, phases: 3, all"
		cable      = "device: {type: BS EN 61009 type B, rating: 40 A}"
		leg        = ", legs: [{name: yard wall, length: 20 m, method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]"
		twin       = cable + ", cable: {construction: flat twin and cpc, insulation: 70 °C thermoplastic, material: copper, csa: 10 mm²"
		armoured   = cable + ", cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: 16 mm², cores: 3, cpc: core"
		visited    = "site: {premises: workplace"
		seen       = "site: {visited: 2026-11-25, premises: workplace"
		rod        = "\nelectrodes:\n  - {name: rod, kind: rod, length: 2 m, diameter: 16 mm, soil: 100 Ω·m, resistance: "
	)
	held := "fail-safe current: 10 A"
	for _, r := range []struct {
		what, from, to, key string
		said                bool
	}{
		{"7.36 kW is 32 A at 230 V", cp1, cp1 + ", power: 7.36 kW", "power", false},
		{"6.41 kW is a seventh less: a plate rounds", cp1, cp1 + ", power: 6.41 kW", "power", false},
		{"6.39 kW is not 32 A", cp1, cp1 + ", power: 6.39 kW", "power", true},
		{"8.5 kW at 32 A: power factor 1.15", cp1, cp1 + ", power: 8.5 kW", "power", true},
		{"22 kW at 32 A on one line", cp1, cp1 + ", power: 22 kW", "power", true},
		{"a pump of 1.5 kW at 10 A: power factor 0.65", pump, pump + ", power: 1.5 kW", "power", false},
		{"a pump of 2.6 kW at 10 A and 230 V: plates round", pump, pump + ", power: 2.6 kW", "power", false},
		{"a pump of 2.7 kW at 10 A and 230 V: power factor 1.17", pump, pump + ", power: 2.7 kW", "power", true},
		{"set to its rating", cp1, cp1 + ", current limit: 32 A", "limit", false},
		{"set above its rating", cp1, cp1 + ", current limit: 33 A", "limit", true},
		{"set to the least it charges at", cp1, cp1 + ", current limit: 8 A, least current: 8 A", "limit", false},
		{"set below it", cp1, cp1 + ", current limit: 7 A, least current: 8 A", "limit", true},
		{"the last way of the board", way1 + "|" + one, way1 + " way: 8,|" + strings.Replace(one, "all", "ways: 8, all", 1), "way", false},
		{"a way that it has not", way1 + "|" + one, way1 + " way: 9,|" + strings.Replace(one, "all", "ways: 8, all", 1), "way", true},
		{"two circuits in two ways", way1 + "|" + way2, way1 + " way: 3,|" + way2 + " way: 4,", "way", false},
		{"two circuits in one way", way1 + "|" + way2, way1 + " way: 3,|" + way2 + " way: 3,", "way", true},
		{"a demand of two years ago", visited + "|when: 2026-11-20", seen + "|when: 2024-11-25", "demand age", false},
		{"a demand of a day more", visited + "|when: 2026-11-20", seen + "|when: 2024-11-24", "demand age", true},
		{"Ipf read as entered, 15 % more", "limiters:", "readings:\n  - {at: main, reading: Ipf, value: 1.72 kA}\nlimiters:", "Ipf read", false},
		{"Ipf read 16 % above", "limiters:", "readings:\n  - {at: main, reading: Ipf, value: 1.74 kA}\nlimiters:", "Ipf read", true},
		{"Ipf read far from the origin", "limiters:", "readings:\n  - {at: yard, reading: Ipf, value: 1.74 kA}\nlimiters:", "Ipf read", false},
		{"an RCBO has one rating", cable, cable + ", RCD: {type: A, IΔn: 30 mA, rating: 40 A}", "settings", false},
		{"an RCBO with two", cable, cable + ", RCD: {type: A, IΔn: 30 mA, rating: 63 A}", "settings", true},
		{"an RCBO opens what it opens", "type B, rating: 40 A}", "type B, rating: 40 A, poles: all live}, RCD: {poles: all live}", "settings", false},
		{"an RCBO that opens more than itself", "type B, rating: 40 A}", "type B, rating: 40 A, poles: lines only}, RCD: {poles: all live}", "settings", true},
		{"BS 6004: 10 mm² flat twin has a cpc of 4 mm²", cable, twin + ", cpc csa: 4 mm²}" + leg, "cable", false},
		{"BS 6004: 10 mm² flat twin has none of 6 mm²", cable, twin + ", cpc csa: 6 mm²}" + leg, "cable", true},
		{"a cpc of 6 mm² beside it", cable, twin + ", cpc: separate, cpc csa: 6 mm²}" + leg, "cable", false},
		{"flat twin has two cores and a cpc", cable, twin + ", cores: 3}" + leg, "cable", false},
		{"flat twin of four cores", cable, twin + ", cores: 4}" + leg, "cable", true},
		{"flat twin has no armour", cable, twin + ", cpc: armour}" + leg, "cable", true},
		{"BS 5467: the cores of 16 mm² are alike", cable, armoured + ", neutral csa: 16 mm², cpc csa: 16 mm²}" + leg, "cable", false},
		{"a neutral that is thinner", cable, armoured + ", neutral csa: 10 mm²}" + leg, "cable", true},
		{"a core that is thicker", cable, armoured + ", cpc csa: 25 mm²}" + leg, "cable", true},
		{"BS 7430: a rod of 2 m in 100 Ω·m has 47 Ω, and 5 Ω are read", "limiters:", rod + "5 Ω}\nlimiters:", "electrode", false},
		{"a tenth of its shape and less", "limiters:", rod + "4.5 Ω}\nlimiters:", "electrode", true},
		{"58 A behind 63 A never opens it", held, held + ", response time: 600 s", "response", false},
		{"BS 88-2 gG: 102 A opens 63 A within the hour", "current: 10 A|" + held, "current: 54 A|" + held + ", response time: 10 h", "response", true},
		{"a limiter of 10 s is sooner", "current: 10 A|" + held, "current: 54 A|" + held + ", response time: 10 s", "response", false},
	} {
		found := changed(t, yard, row{what: r.what, from: r.from, to: r.to})
		f, said := found.has("agree "+r.key, "")
		if said != r.said || said && (f.Verdict == finding.Meets || f.Next == "") {
			t.Errorf("%s: said is %v, want %v (%v, %v)", r.what, said, r.said, f.Verdict, f.Why)
		}
	}
}
