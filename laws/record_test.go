package laws

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/works"
)

// sound returns drawn jobs in which an electrician finds little to say, so that
// what a law plants in them is what is seen.
func sound(t *testing.T, n int) []sample {
	t.Helper()
	if testing.Short() {
		n /= 4
	}
	var out []sample
	for seed := range uint64(n) {
		out = append(out, sample{name: "sound", entries: invent.Job(invent.Rand(1000+seed), invent.Options{Boards: 2, Points: 2})})
	}
	return out
}

// contradictions is facts that cannot both be true: where the fact stands, what
// it is changed to, and what else must be so for that to contradict it.
var contradictions = []struct{ what, pattern, value, unless, is string }{
	{"a three-phase point on one line", "points/*/phases", "3", "supply/phases", "3"},
	{"a single-phase supply with two lines", "circuits/*/phases", "L2", "supply/phases", "3"},
	{"two cores, one of them the cpc", "circuits/*/cable/cores", "2", "", ""},
	{"one core in an armoured cable", "circuits/*/cable/cores", "1", "", ""},
	{"a voltage line to line for line to neutral", "supply/voltage", "400 V", "", ""},
	{"a fault current less than Ze allows", "supply/Ipf", "0.05 kA (measured)", "supply/earthing", "TT"},
	{"a circuit that starts nowhere", "circuits/*/from", "", "", ""},
	{"a short-time setting below the long-time one", "circuits/*/device/short-time setting", "10 A", "", ""},
	{"a setting above the frame", "circuits/*/device/long-time setting", "2000 A", "", ""},
	{"an electrode as good as a cable", "electrodes/*/resistance", "0.2 Ω (measured)", "", ""},
	{"a point that draws more than it is rated for", "points/*/current", "100 A", "", ""},
	{"a measured demand far above the cut-out", "supply/maximum demand", "900 A (measured)", "", ""},
	{"an earthing conductor that is not connected", "supply/earthing conductor/connected", "no", "", ""},
	{"bonding that is not connected", "supply/main bonding/*/connected", "no", "", ""},
	{"a clamp that sees a phase the supply has not", "limiters/*/clamp phases", "L1 L2 L3", "supply/phases", "3"},
	{"a fail-safe current above the limit", "limiters/*/fail-safe current", "2 kA", "", ""},
	{"leads over metres to a surge device", "boards/*/surge protection/*/live lead", "9 m", "", ""},
	{"a device that cannot break anything", "circuits/*/device/breaking capacity", "500 A", "", ""},
	{"a cpc thinner than any fault allows", "circuits/*/cable/cpc csa", "0.5 mm²", "", ""},
	{"a leg of kilometres", "circuits/*/legs/*/length", "5 km", "", ""},
	{"an RCD rated for less than it carries", "circuits/*/RCD/rating", "1 A", "", ""},
	{"a main switch rated for less than it carries", "boards/*/main switch/rating", "6 A", "", ""},
	{"tails of bell wire", "supply/tails/csa", "1 mm²", "", ""},
	{"tails as long as a street", "supply/tails/length", "100 m", "", ""},
}

// rests is what may not be met, of the part or of the whole, on facts that
// contradict each other.
var rests = map[string]string{
	"a three-phase point on one line":              "design current|volt drop|cable rating|disconnection|adiabatic line conductor",
	"two cores, one of them the cpc":               "volt drop|cable rating|disconnection|adiabatic cpc|adiabatic line conductor",
	"one core in an armoured cable":                "volt drop|cable rating|disconnection|adiabatic cpc|adiabatic line conductor",
	"a voltage line to line for line to neutral":   "volt drop|disconnection|adiabatic line conductor|supply demand",
	"a fault current less than Ze allows":          "supply Ipf|breaking capacity|disconnection|adiabatic line conductor",
	"a short-time setting below the long-time one": "design current|cable rating|selectivity",
	"a setting above the frame":                    "design current|cable rating|selectivity",
	"an electrode as good as a cable":              "electrode stability",
}

// TestFactsAgreeOrTheRecordSaysSo: a sum made of facts that cannot both be true
// is right about nothing.
func TestFactsAgreeOrTheRecordSaysSo(t *testing.T) {
	b := breaches{}
	for _, s := range sound(t, 40) {
		before := verdictsOf(t, s.entries)
		for _, c := range contradictions {
			if c.unless != "" && value(s.entries, c.unless) == c.is {
				continue
			}
			for _, path := range every(s.entries, c.pattern) {
				if value(s.entries, path) == c.value || c.value == "L2" && strings.Contains(value(s.entries, path), " ") {
					continue
				}
				changed := with(s.entries, path, c.value)
				after := verdictsOf(t, changed)
				if after != nil && !warned(before, after) {
					b.add(breach{c.what, "nothing is said of it"}, c.pattern, sample{name: s.name, entries: []job.Entry{{Path: path, Value: c.value}}}, never)
				}
				for at, is := range after {
					if is == finding.Meets && slices.Contains(strings.Split(rests[c.what], "|"), at.key) && concerns(s.entries, path, at.about) {
						b.add(breach{c.what, at.key + " is met all the same"}, c.pattern,
							sample{name: s.name, entries: []job.Entry{{Path: path, Value: c.value}}}, never)
					}
				}
			}
		}
	}
	hold(t, "facts agree", b)
}

// concerns reports that what is asked about a part rests on a fact: of itself, of
// the circuit that feeds it, or of the supply.
func concerns(entries []job.Entry, path, about string) bool {
	names := works.NamesOf(path)
	name := names[min(1, len(names)-1)]
	switch names[0] {
	case "supply":
		return true
	case "points":
		for _, to := range every(entries, "circuits/*/to") {
			if value(entries, to) == name && about == "circuit "+works.NamesOf(to)[1] {
				return true
			}
		}
	case "electrodes":
		for _, by := range every(entries, "points/*/earthing/electrode") {
			if value(entries, by) == name && value(entries, works.Under("points", works.NamesOf(by)[1])+"/earthing/measure") == "separate electrode" &&
				about == "point "+works.NamesOf(by)[1] {
				return true
			}
		}
	}
	return about == "circuit "+name
}

// never keeps a job as it is: in a sound job, these facts are the smallest.
func never([]job.Entry) bool { return false }

// warned reports that something is worse than it was, or is asked that was not.
func warned(before, after map[asked]finding.Verdict) bool {
	for at, is := range after {
		if was, asked := before[at]; is != finding.Meets && (!asked || was == finding.Meets || is == finding.Fails && was != finding.Fails) {
			return true
		}
	}
	return false
}

// TestALimitHasBothSides: what has no number, or stands on the wrong side of a
// number, is a reading too.
func TestALimitHasBothSides(t *testing.T) {
	readings(t, "both sides", []reading{
		{"RCD time at IΔn", "does not trip", finding.Fails},
		{"RCD time at IΔn", "no trip", finding.Fails},
		{"RCD time at IΔn", "> 300 ms", finding.Fails},
		{"RCD time at IΔn", "310 ms", finding.Fails},
		{"RCD time at IΔn", "299 ms", finding.Meets},
		{"RCD at half IΔn", "trips", finding.Fails},
		{"RCD at half IΔn", "does not trip", finding.Meets},
		{"6 mA d.c.", "no trip", finding.Fails},
		{"6 mA d.c.", "6.4 mA", finding.Fails},
		{"6 mA d.c.", "2.5 mA", notMet},
		{"6 mA d.c.", "4.8 mA", finding.Meets},
		{"R1+R2", "open", finding.Fails},
		{"R1+R2", "> 2000 Ω", finding.Fails},
		{"R2", "open", finding.Fails},
		{"insulation live to earth", "> 200 MΩ", finding.Meets},
		{"insulation live to earth", "over range", finding.Meets},
		{"insulation live to earth", "0.02 MΩ", finding.Fails},
		{"insulation between live", "0.99 MΩ", finding.Fails},
		{"Zs", "open", finding.Fails},
		{"Zs", "> 2000 Ω", finding.Fails},
		{"polarity", "not correct", finding.Fails},
		{"voltage line to neutral", "20 V", finding.Fails},
		{"voltage line to neutral", "260 V", finding.Fails},
		{"voltage line to neutral", "238 V", finding.Meets},
		{"RCD test button", "does not work", finding.Fails},
		{"RCD time at IΔn", "not done", finding.NotKnown},
		{"R1+R2", "not done", finding.NotKnown},
		{"R1+R2", "?", finding.NotKnown},
	})
}

// TestNumbersFromOutsideAreHeldAgainstPhysics: a meter, a lead or a hand can be
// wrong, and what cannot be is never met by it.
func TestNumbersFromOutsideAreHeldAgainstPhysics(t *testing.T) {
	readings(t, "held against physics", []reading{
		{"Zs", "0.001 Ω", notMet}, // less than Ze alone
		{"Ze", "0.0001 Ω", notMet},
		{"R1+R2", "0.00 Ω", notMet},
		{"R1+R2", "0.0001 Ω", notMet},
		{"Ipf", "900 kA", notMet},
		{"RCD time at IΔn", "0.01 ms", notMet},
		{"RCD ramp", "0.1 mA", notMet},
		{"6 mA d.c.", "0.01 mA", notMet},
		{"voltage line to neutral", "2 V", notMet},
		{"voltage neutral to earth", "230 V", notMet},
		{"RA", "0.01 Ω", notMet},
		{"insulation live to earth", "-3 MΩ", notMet},
		{"pilot voltage in state A", "230 V", notMet},
	})
}

// reading is a value of one reading and the verdict it must have.
type reading struct {
	name, value string
	want        finding.Verdict
}

const notMet finding.Verdict = 200 // any verdict but meets

func readings(t *testing.T, law string, rows []reading) {
	t.Helper()
	b := breaches{}
	for _, s := range sound(t, 12) {
		for _, r := range rows {
			at := "CP1"
			switch r.name {
			case "Ze", "Ipf":
				at = "supply"
			case "RA":
				if paths := every(s.entries, "electrodes/*"); len(paths) > 0 {
					at = works.NamesOf(paths[0])[1]
				} else {
					continue
				}
			}
			changed := append(s.entries[:len(s.entries):len(s.entries)], job.Entry{Path: "readings/1", Value: "1"}, job.Entry{Path: "readings/1/at", Value: at},
				job.Entry{Path: "readings/1/reading", Value: r.name}, job.Entry{Path: "readings/1/value", Value: r.value})
			m := laid(t, changed)
			if m == nil {
				continue // refused, and the person is told
			}
			for asked, is := range judged(t, m) {
				if strings.HasPrefix(asked.key, "reading") && (r.want == notMet && is == finding.Meets || r.want != notMet && is != r.want) {
					b.add(breach{r.name + " " + r.value, "is said to be: " + is.String()}, "readings", sample{name: s.name, entries: changed[len(changed)-4:]}, never)
				}
			}
		}
	}
	hold(t, law, b)
}

// TestAnAssumptionIsNoObservation: what the program took for granted itself
// cannot carry a requirement that is met.
func TestAnAssumptionIsNoObservation(t *testing.T) {
	all := tried(t, 1000, invent.Options{Boards: 2, Points: 2})
	b := breaches{}
	for n, of := range each(all, func(_ int, s sample) map[string]string { return assumed(t, s.entries) }) {
		for what, facts := range of {
			b.add(breach{what, "taken for granted, and nothing is left open by it"}, facts, all[n], func(less []job.Entry) bool {
				_, ok := assumed(t, less)[what]
				return ok
			})
		}
	}
	hold(t, "observations carry findings", b)
}

var namesAndNumbers = regexp.MustCompile(`^[^:]*: |[0-9.]+`)

// assumed returns what the model took for granted about a part of the job of
// which every finding is met.
func assumed(t *testing.T, entries []job.Entry) map[string]string {
	m := laid(t, entries)
	if m == nil {
		return nil
	}
	verdicts := judged(t, m)
	out := map[string]string{}
	for _, text := range m.Assumptions {
		about, _, named := strings.Cut(text, ": ")
		about, _, _ = strings.Cut(about, ", leg ")
		open := false
		met := false
		for at, v := range verdicts {
			if named && at.about == about {
				open, met = open || v == finding.NotKnown, met || v == finding.Meets
			}
		}
		if named && met && !open {
			out[namesAndNumbers.ReplaceAllString(text, "")] = "assumed"
		}
	}
	return out
}
