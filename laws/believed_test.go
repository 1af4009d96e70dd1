package laws

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"chargewright/choose"
	"chargewright/demand"
	"chargewright/design"
	"chargewright/drawing"
	"chargewright/invent"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/works"
)

// disbelieved is facts that contradict the rest of a record: two values that do so
// alike. Which of the two stands there may then change no figure.
var disbelieved = []struct{ what, pattern, one, other, beside, is string }{
	{"a voltage line to line", "supply/voltage", "400 V", "500 V", "", ""},
	{"a fault current less than Ze allows", "supply/Ipf", "0.05 kA (measured)", "0.04 kA (measured)", "", ""},
	{"a Ze of a sheath on TT", "supply/Ze", "0.2 Ω (measured)", "0.3 Ω (measured)", "supply/earthing", "TT"},
	{"one core, or two with one as cpc", "circuits/*/cable/cores", "1", "2", "", ""},
	{"Im below Ir", "circuits/*/device/short-time setting", "10 A", "12 A", "", ""},
	{"Ir above the frame", "circuits/*/device/long-time setting", "2000 A", "1900 A", "", ""},
	{"an electrode as good as a cable", "electrodes/*/resistance", "0.2 Ω (measured)", "0.3 Ω (measured)", "", ""},
	{"a depth of a cable on a wall", "circuits/*/legs/*/depth", "600 mm", "800 mm", "circuits/*/legs/*/method", "C"},
	{"a cpc thicker than its cable", "circuits/*/cable/cpc csa", "95 mm²", "120 mm²", "", ""},
	{"a load of more power than its current", "loads/*/power", "90 kW", "120 kW", "", ""},
	{"a point of more power than its current", "points/*/power", "90 kW", "120 kW", "", ""},
}

// figuresOf is every number and every verdict in an answer, each by where it
// stands; words may quote what is not believed.
func figuresOf(t *testing.T, answer any) map[string]string {
	t.Helper()
	text, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, x := range v {
				walk(at+"/"+k, x)
			}
		case []any:
			for i, x := range v {
				walk(fmt.Sprintf("%s/%d", at, i), x)
			}
		case float64, bool:
			out[at] = fmt.Sprint(v)
		case string:
			if strings.HasSuffix(at, "/verdict") {
				out[at] = v
			}
		}
	}
	walk("", v)
	return out
}

// answered is what each room that people ask says of a job.
func answered(t *testing.T, m *model.Model, stock *choose.Catalogue, dear bool) map[string]map[string]string {
	t.Helper()
	must := func(v any, err error) map[string]string {
		if err != nil {
			return map[string]string{"error": ""}
		}
		return figuresOf(t, v)
	}
	faults := map[string]any{}
	for _, at := range m.FaultPlaces() {
		if f, err := m.StudyFault("L1-PE@" + at); err == nil {
			faults[at] = f
		}
	}
	proofs, found := demand.ProveAll(m)
	lost, err := m.StudyLostPEN()
	out := map[string]map[string]string{
		"check":     figuresOf(t, design.Check(m)),
		"expect":    figuresOf(t, prove.Expect(m)),
		"flow":      figuresOf(t, m.StudyFlow()),
		"lost PEN":  must(lost, err),
		"fault":     figuresOf(t, faults),
		"demand":    figuresOf(t, design.ReportDemand(m, nil, nil)),
		"limit":     figuresOf(t, []any{proofs, found}),
		"curves":    {"": string(drawing.Curves(m).SVG())},
		"reconcile": must(prove.Reconcile(m)),
		"explain":   must(prove.Explain(m, prove.UsualPriors())),
	}
	if dear {
		aim := choose.Aim{Purpose: choose.FirstCost}
		out["choose"] = figuresOf(t, choose.Choose(m.Job, m.Rules, stock, aim))
		out["options"] = figuresOf(t, choose.Options(m.Job, m.Rules, stock, aim))
	}
	return out
}

// TestNobodyComputesOnAContradiction: of two facts that cannot both be true nobody
// knows which is wrong, so a figure made of either is right about nothing. In
// every room the figures are the same whichever impossible value stands there.
func TestNobodyComputesOnAContradiction(t *testing.T) {
	stock, err := choose.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	var all []sample
	n := 24
	if testing.Short() {
		n = 4
	}
	for seed := range uint64(n) {
		all = append(all, sample{name: fmt.Sprint("sound ", seed), entries: invent.Job(invent.Rand(1000+seed), invent.Options{Boards: 2, Points: 2, Readings: true}), seed: seed})
	}
	b := breaches{}
	for n, of := range each(all, func(_ int, s sample) map[breach]string { return computed(t, s, stock) }) {
		for at, where := range of {
			b.add(at, where, all[n], never)
		}
	}
	hold(t, "nobody computes on a contradiction", b)
}

// computed tries each contradiction once in a job, and returns which rooms make
// figures of it.
func computed(t *testing.T, s sample, stock *choose.Catalogue) map[breach]string {
	out := map[breach]string{}
	for _, d := range disbelieved {
		path := placeOf(s, d.pattern, d.beside, d.is)
		if path == "" {
			continue
		}
		one, other := laid(t, with(s.entries, path, d.one)), laid(t, with(s.entries, path, d.other))
		if one == nil || other == nil || !doubts(one, path) || !doubts(other, path) {
			continue
		}
		dear := s.seed%6 == 0
		before, after := answered(t, one, stock, dear), answered(t, other, stock, dear)
		for room, figures := range before {
			var differ []string
			for at := range figures {
				if figures[at] != after[room][at] {
					differ = append(differ, at)
				}
			}
			if len(differ) > 0 || len(figures) != len(after[room]) {
				slices.Sort(differ)
				out[breach{d.what, room + " makes figures of it"}] = fmt.Sprint(path, " ", differ[:min(4, len(differ))])
			}
		}
	}
	return out
}

// doubts reports that a fact is not believed.
func doubts(m *model.Model, path string) bool {
	return slices.ContainsFunc(m.Doubts, func(d model.Doubt) bool {
		return !d.Ask && slices.ContainsFunc(d.Paths, func(p string) bool { return works.Within(path, p) })
	})
}

// placeOf is where a contradiction is planted: a fact that is there, or one that
// belongs to the first part of its kind.
func placeOf(s sample, pattern, beside, is string) string {
	of := func(path string) string { return path[:strings.LastIndex(path, "/")] }
	if beside == "supply/earthing" {
		if value(s.entries, beside) == is {
			return pattern
		}
		return ""
	}
	if beside != "" {
		for _, path := range every(s.entries, beside) {
			if value(s.entries, path) == is {
				return of(path) + "/" + pattern[strings.LastIndex(pattern, "/")+1:]
			}
		}
		return ""
	}
	if paths := every(s.entries, pattern); len(paths) > 0 {
		return slices.Min(paths)
	}
	parts := map[string]bool{}
	for _, e := range s.entries {
		if strings.Contains(e.Path, "/") && invent.Pattern(of(e.Path)) == of(pattern) {
			parts[of(e.Path)] = true
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return slices.Min(slices.Collect(maps.Keys(parts))) + pattern[strings.LastIndex(pattern, "/"):]
}
