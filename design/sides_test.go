package design

import (
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"chargewright/finding"
)

// side is a house changed, and a requirement that is met just inside its limit
// and not just outside.
type side struct {
	source, from string // several changes are told apart by a bar
	inside       string
	outside      string
	key, about   string
}

// sides are requirements of which no other table holds both sides.
var sides = []side{
	{"BS 7671 722.512.2.201: IP44", "IP: IP54", "IP: IP44", "IP: IP43", "IP", "CP1"},
	{"722.512.2.202: IK07 where the public can reach it", "public: no", "public: yes\n    IK: IK07", "public: yes\n    IK: IK06", "IK", "CP1"},
	{"722.531.3.101: 30 mA", rcd30, rcd30, "IΔn: 100 mA, poles: all live, time", "RCD residual current", "CP1"},
	{"722.531.3.101: Type A with 6 mA detection", rcdA, rcdA, "RCD: {type: AC, IΔn: 30 mA, poles", "RCD type", "CP1"},
	{"722.531.3.101: every live conductor, TT", "TN-C-S|" + allLive, "TT|" + allLive, "TT|poles: lines only, time delayed: no", "RCD poles", "CP1"},
	{"722.531.3.101: an RCD of its own", rcdLine, rcdLine, "", "RCD individual", "CP1"},
	{"415.1.1: no time delay", "time delayed: no", "time delayed: no", "time delayed: yes", "RCD delay", "CP1"},
	{"543.1.3: k²S² ≥ I²t", cores, cores, cores + ", cpc csa: 0.75 mm²", "adiabatic cpc", "EV"},
	{"434.5.2: k²S² ≥ I²t", "value: 1.2 kA|csa: 6 mm², cores", "value: 1.2 kA|csa: 6 mm², cores", "value: 5.9 kA|csa: 1 mm², cores", "adiabatic line conductor", "EV"},
	{"434.5.1: 1.2 kA at the board", "short-circuit rating: 16 kA", "short-circuit rating: 1.2 kA", "short-circuit rating: 1.1 kA", "assembly short-circuit rating", ""},
	{"434.5.1: 1.2 kA at the board", "breaking capacity: 6 kA, poles", "breaking capacity: 1.2 kA, poles", "breaking capacity: 1.1 kA, poles", "breaking capacity", "EV"},
	{"434.5.1: 1.2 kA at the origin", "breaking capacity: 33 kA", "breaking capacity: 1.2 kA", "breaking capacity: 1.1 kA", "cut-out breaking capacity", ""},
	{"common practice: 0.5 m deep", onWall, inGround + "0.50 m", inGround + "0.49 m", "burial", "EV"},
	{"operators, as quoted in a forum: 3.6 m in the ground", ownEarth, toRod("40 Ω", "3.6 m", "3 m", "16"), toRod("40 Ω", "3.5 m", "3 m", "16"), "buried separation", ""},
	{"411.3.1.1: 2.5 m from wherever the vehicle stands", ownEarth, toRod("40 Ω", "4 m", "2.5 m", "16"), toRod("40 Ω", "4 m", "2.4 m", "16"), "separation distance", ""},
	{"Table 54.1: 16 mm² sheathed in the ground", ownEarth, toRod("40 Ω", "4 m", "3 m", "16"), toRod("40 Ω", "4 m", "3 m", "10"), "electrode conductor", ""},
	{"Table 41.5 note 2: 200 Ω", ownEarth, toRod("200 Ω", "4 m", "3 m", "16"), toRod("201 Ω", "4 m", "3 m", "16"), "electrode stability", ""},
	{"433.1.1: 32 A in armoured cable on a wall", "csa: 6 mm², cores", "csa: 6 mm², cores", "csa: 2.5 mm², cores", "cable rating", "EV"},
	{"722.314: a circuit of its own", "    isolator rating: 0 A\n", "    isolator rating: 0 A\n", "    isolator rating: 0 A\n    existing: yes\n", "dedicated circuit", "CP1"},
	{"411.4.4: 1.37 Ω of a B32, 0.16 Ω of it in the cable", "value: 0.20 Ω", "value: 1.1 Ω", "value: 1.4 Ω", "disconnection", "EV"},
	{"an edition stands from the day it is out", "visited: 2026-11-19", "visited: 2026-11-19", "visited: 2020-11-19", "edition", ""},
	{"512.1.2: the greatest its maker allows", "greatest upstream device: 40 A", "greatest upstream device: 32 A", "greatest upstream device: 31 A", "greatest upstream device", ""},
	{"common practice: 750 mm", "underside: 800 mm", "underside: 750 mm", "underside: 740 mm", "height underside", ""},
	{"722.411.4.1: a device against a lost PEN", "open-PEN device: measures to earth electrode\n", "open-PEN device: measures to earth electrode\n", "open-PEN device: none\n",
		"open PEN", ""},
	{"534.4.1: Type 1 or 2 at the origin", "name: SPD 1, type: 2", "name: SPD 1, type: 2", "name: SPD 1, type: 3", "surge protection", ""},
	{"534.4.1: Type 3 behind another only", "name: SPD 1, type: 2", "name: SPD 1, type: 2", "name: SPD 1, type: 3", "surge type", ""},
	{"534.4.3: CT2 ahead of the RCD of a TT supply", "TN-C-S|connection: CT2", "TT|connection: CT2", "TT|connection: CT1", "surge connection", ""},
	{"534.4.8: 1 m of leads", leads, "live lead: 0.50 m, earth lead: 0.50 m", "live lead: 0.50 m, earth lead: 0.51 m", "surge leads", ""},
	{"534.4.4.2: 2.5 kV, and 1 kV for each metre of lead", "level: 1.4 kV", "level: 2.05 kV", "level: 2.06 kV", "surge level", ""},
	{"534.4.10: 2.5 mm² for Type 2", "live lead csa: 6 mm²", "live lead csa: 2.5 mm²", "live lead csa: 1.5 mm²", "surge live lead", ""},
	{"534.4.10: 6 mm² for Type 2", "earth lead csa: 16 mm²", "earth lead csa: 6 mm²", "earth lead csa: 4 mm²", "surge earth lead", ""},
	{"534.4.5: behind 80 A", "backup fuse: 125 A", "backup fuse: 80 A", "backup fuse: 63 A", "surge backup", ""},
	{"434.5.1: 1.2 kA where it stands", "backup fuse: 125 A", ownFuse + "1.2 kA}", ownFuse + "1.1 kA}", "surge device breaking", ""},
	{"534.4.9: 10 m of cable", "length: 20 m", "length: 10 m", "length: 10.1 m", "surge distance", "CP1"},
	{"Table 4Ab: 5 % of 230 V, 7.9 mV for each A and m at 32 A", "length: 20 m", "length: 44 m", "length: 47 m", "volt drop", "EV"},
	{"643.2.1: connected at both ends", "buried: no, connected: yes", "buried: no, connected: yes", "buried: no, connected: no", "earthing conductor connected", ""},
	{"common practice: 1.4 m without a screen", "highest control: 1100 mm", "highest control: 1400 mm", "highest control: 1410 mm", "height controls", ""},
	{"code of practice, 4.4: from 0.75 m", "outlet height: 900 mm", "outlet height: 750 mm", "outlet height: 740 mm", "height outlet", ""},
	{"PAS 1899: 1 m", "public: no|control: 1100 mm", "public: yes|control: 1000 mm", "public: yes|control: 1010 mm", "height controls public", ""},
	{"PAS 1899: 0.95 m", "public: no|outlet height: 900 mm", "public: yes|outlet height: 950 mm", "public: yes|outlet height: 960 mm", "height outlet public", ""},
	{"313.1: the fault current is established", ipf, ipf, "", "supply Ipf", ""},
	{"312.2: the earthing system is established", "  earthing: TN-C-S\n", "  earthing: TN-C-S\n", "", "supply earthing", ""},
	{"IEC 60269-2: two steps of the series, from 16 A", fusePair, "type: BS 88-2 gG, rating: 50 A|" + gg32, "type: BS 88-2 gG, rating: 40 A|" + gg32, "selectivity", ""},
	{"523.6.3: the neutral of a three-phase circuit", three, threes, threes + ", neutral csa: 2.5 mm²", "neutral current", "EV"},
	{"722.411.4.1(iv): 216.2 V less 9.2 V, 7.9 mV for each A and m at 32 A", window, "device: measures line to neutral\n|length: 35 m",
		"device: measures line to neutral\n|length: 38 m", "voltage window", ""},
	{"its maker's greatest", "notification: {", clampLead("20 m"), clampLead("21 m"), "clamp lead", ""},
	{"a way for each new circuit", "ways free: 2", "ways free: 1", "ways free: 0", "ways", ""},
}

const (
	allLive  = "poles: all live, time delayed: no"
	rcd30    = "IΔn: 30 mA, poles: all live, time"
	rcdA     = "RCD: {type: A, IΔn: 30 mA, poles"
	rcdLine  = "    RCD: {type: A, IΔn: 30 mA, poles: all live, time delayed: no}\n"
	cores    = "cores: 3, cpc: core"
	onWall   = "method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m"
	inGround = "method: D buried, ambient: 20 °C, circuits together: 1, soil: 2.5 K·m/W, depth: "
	ipf      = "  Ipf: {value: 1.2 kA, known by: measured}\n"
	fusePair = "type: BS 88-3, rating: 80 A|type: BS EN 60898 type B, rating: 32 A, breaking capacity: 6 kA"
	gg32     = "type: BS 88-2 gG, rating: 32 A, breaking capacity: 80 kA"
	three    = "  phases: 1\n  voltage|fed from: supply\n    phases: 1|to: CP1\n    phases: L1|7.36 kW\n    phases: 1|1.2 kA|" + cores
	threes   = "  phases: 3\n  voltage|fed from: supply\n    phases: 3|to: CP1\n    phases: L1 L2 L3|22 kW\n    phases: 3|2.5 kA|cores: 5, cpc: core"
	window   = "device: measures to earth electrode\n|length: 20 m"
	leads    = "live lead: 0.20 m, earth lead: 0.25 m"
	ownFuse  = "backup fuse: 125 A, device: {type: BS 88-2 gG, rating: 63 A, breaking capacity: "
	ownEarth = "loads:\n|earthing: {measure: open-PEN device, opens protective conductor: yes}"
)

// toRod earths the point by a rod of its own.
func toRod(ohms, buried, away, csa string) string {
	return "electrodes:\n  - {name: rod, kind: rod, length: 2.4 m, diameter: 16 mm, soil: 100 Ω·m, resistance: {value: " + ohms +
		", known by: measured}, from buried PME metalwork: " + buried + "}\nloads:\n|earthing: {measure: separate electrode, electrode: rod, from PME metalwork: " +
		away + ", earthing conductor: {csa: " + csa + " mm², buried: yes, protection: sheathed}}"
}

// clampLead puts the house's point under a limiter.
func clampLead(long string) string {
	return "limiters:\n  - {name: L, at: supply, limit: 60 A, fail-safe current: 0 A, clamp place: tail, clamp phases: L1, clamp lead: " + long +
		", greatest clamp lead: 20 m}\nnotification: {"
}

func TestBothSidesOfALimit(t *testing.T) {
	text, err := os.ReadFile("testdata/house.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range sides {
		t.Run(s.key+", "+s.source, func(t *testing.T) {
			for _, to := range []string{s.inside, s.outside} {
				f, asked := changed(t, string(text), row{what: s.source, from: s.from, to: to}).has(s.key, s.about)
				if want := to == s.inside; !asked || (f.Verdict == finding.Meets) != want {
					t.Errorf("with %q it is asked: %v; %v with %v, limit %v (%v); met is wanted: %v", to, asked, f.Verdict, f.Value, f.Limit, f.Why, want)
				}
			}
		})
	}
}

// oneSided are requirements with no limit between two sides, each with the reason.
var oneSided = map[string]string{
	"armour to electrode":  "a person ends the armour: it is asked only where there is some",
	"backup fault":         "held to both sides of the inverter's current by the tests of sources, on a site that works without the street",
	"backup neutral":       "what joins is judged, what does not fails: nothing of it is met on paper",
	"battery charging":     "met where it is counted, not known where it is not: no figure limits it",
	"building control":     "a person tells them",
	"emergency switching":  "rests on a risk assessment",
	"hazards":              "a person looks",
	"height controls code": "said only above the range of the code, and judged",
	"isolation":            "a matter of position and access",
	"separation":           "a person confirms the source",
	"source":               "asked only while its kind is not said",
	"sources":              "asked only while a source is not entered",
	"storage":              "a chapter that was not read",
	"TT circuit RCD":       "said only of a circuit without one, which fails",
}

// TestEveryRequirementHasBothSides lists what this room can ask, from its own text,
// and fails for a requirement that no table holds to both sides of its limit.
func TestEveryRequirementHasBothSides(t *testing.T) {
	asks := map[string]bool{}
	in, out := map[string]bool{}, map[string]bool{}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	stated, met, unmet := regexp.MustCompile(`\b(?:start\(|height\(at, )"([^"]+[^" ])"`), regexp.MustCompile(`\b(meets_?|finding\.Meets)\b`),
		regexp.MustCompile(`\b(fails_?|judge_?|open_?|finding\.(Fails|JudgeOnSite|NotKnown))\b`)
	var tests []string
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(file, "_test.go") {
			tests = append(tests, strings.Split(string(text), "\n")...)
			continue
		}
		for _, m := range stated.FindAllStringSubmatch(string(text), -1) {
			asks[m[1]] = true
		}
	}
	for key := range asks {
		for _, line := range tests {
			if strings.Contains(line, `"`+key+`"`) {
				in[key], out[key] = in[key] || met.MatchString(line), out[key] || unmet.MatchString(line)
			}
		}
	}
	for _, s := range sides {
		asks[s.key], in[s.key], out[s.key] = true, true, true
	}
	for _, key := range slices.Sorted(maps.Keys(asks)) {
		why, listed := oneSided[key]
		switch both := in[key] && out[key]; {
		case !both && !listed:
			t.Errorf("%q: held to its inside %v, to its outside %v: give it a row on either side, or say why it has none", key, in[key], out[key])
		case both && listed:
			t.Errorf("%q is held to both sides, and is listed as one of none (%s)", key, why)
		}
	}
	for key := range oneSided {
		if !asks[key] {
			t.Errorf("%q is listed, and nothing asks it", key)
		}
	}
}
