package reckon

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Answer is what a handful of facts comes to.
type Answer struct {
	Facts   []Fact `json:"facts"` // said first, then assumed
	Rows    []Row  `json:"answers"`
	Edition string `json:"edition"`
}

// Row is one answer.
type Row struct {
	What    string          `json:"what"`
	Value   string          `json:"value,omitempty"` // empty where not known
	Limit   string          `json:"limit,omitempty"`
	Judged  bool            `json:"judged"` // it has a verdict
	Verdict finding.Verdict `json:"verdict"`
	Why     string          `json:"why,omitempty"`
	Source  string          `json:"source,omitempty"`
	Lacks   []string        `json:"lacks,omitempty"`
	Next    string          `json:"next,omitempty"`
}

// Assumed are the facts that nobody said.
func (a *Answer) Assumed() []Fact {
	return slices.DeleteFunc(slices.Clone(a.Facts), func(f Fact) bool { return !f.Assumed })
}

// Words are the verdict's, and what it hangs on where anything was assumed.
func (a *Answer) Words(r Row) string {
	switch {
	case !r.Judged:
		return ""
	case len(a.Assumed()) > 0 && (r.Verdict == finding.Meets || r.Verdict == finding.Fails):
		return r.Verdict.String() + ", if as assumed"
	}
	return r.Verdict.String()
}

// Summary is the summary of the verdicts given.
func (a *Answer) Summary() finding.Summary {
	var s finding.Summary
	for _, r := range a.Rows {
		if r.Judged {
			one := finding.Summarise([]finding.Finding{{Verdict: r.Verdict}})
			s.Meets, s.Fails, s.NotKnown, s.JudgeOnSite = s.Meets+one.Meets, s.Fails+one.Fails, s.NotKnown+one.NotKnown, s.JudgeOnSite+one.JudgeOnSite
		}
	}
	return s
}

// Caution stands with every answer.
const Caution = "Worked out beforehand, from what was said and what was assumed. It takes the place of no survey, no test and no judgement: " +
	"look, measure, and keep to the current edition and local rules. A qualified person answers for the design."

// Reckon answers from what was said. It refuses what cannot be used, every
// fault at once.
func Reckon(said Said) (*Answer, error) {
	f, err := begin(said)
	if err != nil {
		return nil, err
	}
	rules, err := standard.Open(standard.Edition(""))
	if err != nil {
		return nil, fmt.Errorf("open the rulebook: %w", err)
	}
	if err := f.fill(rules); err != nil {
		return nil, err
	}
	j, err := f.file.Job()
	if err != nil {
		return nil, fmt.Errorf("read what was reckoned with: %w", err)
	}
	run := &run{job: j, rules: rules}
	run.choose(f)
	j, _ = f.file.Job()
	run.job = j
	f.unsaid(said)
	a := &Answer{Facts: sorted(f.list), Edition: string(rules.Edition())}
	a.Rows = run.rows(said)
	return a, nil
}

// unsaid assumes what is no part of a record: how long a vehicle stays, and
// what it makes of the energy.
func (f *facts) unsaid(said Said) {
	if strings.TrimSpace(said["stay"]) == "" {
		f.list = append(f.list, Fact{Label: "Time plugged in", Value: "8 h", Assumed: true, Why: "a night"})
	} else {
		f.list = append(f.list, Fact{Label: "Time plugged in", Value: said["stay"]})
	}
	if r := strings.TrimSpace(said["reading"]); r != "" {
		f.list = append(f.list, Fact{Label: "R1+R2 read", Value: r})
	}
	f.list = append(f.list, Fact{Label: "A mile", Value: "0.27 to 0.32 kWh from the battery", Assumed: true,
		Why: "a car's average, by its kind (a market's figure, from memory)"},
		Fact{Label: "Into the battery", Value: "90 % of what the wall gives", Assumed: true, Why: "losses of charger and cable (from memory)"})
}

// sorted are the facts, what was said first.
func sorted(list []Fact) []Fact {
	slices.SortStableFunc(list, func(x, y Fact) int {
		switch {
		case x.Assumed == y.Assumed:
			return 0
		case x.Assumed:
			return 1
		}
		return -1
	})
	return list
}

// fill assumes what has a usual value and was not said, but the size and the
// device, which are chosen.
func (f *facts) fill(rules *standard.Rulebook) error {
	const usual = "common practice, no source"
	unless := func(label, path, value, why string) {
		if _, known := f.known(path); !known {
			f.assume(label, path, value, why)
		}
	}
	power, byPower := f.known(point + "/power")
	_, byCurrent := f.known(point + "/current")
	phases, one := "1", "a point of 32 A or less in a dwelling is single-phase ("+usual+")"
	if w, err := quantity.ParseWatts(power); byPower && err == nil && w > singlePhaseMost {
		phases, one = "3", "above what one phase gives a point at 32 A, 7.4 kW ("+usual+")"
	}
	unless("Phases", point+"/phases", phases, one)
	phases, _ = f.known(point + "/phases")
	if !byPower && !byCurrent {
		power = "7.4 kW"
		if phases == "3" {
			power = "22 kW"
		}
		f.assume("Power of the point", point+"/power", power, "32 A a phase, the most common rating ("+usual+")")
	}
	unless("Phases of the supply", "supply/phases", phases, "as many as the point has")
	unless("Nominal voltage", "supply/voltage", "230 V", "line to neutral, declared in Great Britain (BS EN 50160)")
	unless("Earthing of the supply", "supply/earthing", "TN-C-S", "most supplies in Great Britain ("+usual+"): look at the cut-out")
	earthing, _ := f.known("supply/earthing")
	if _, known := f.known("supply/Ze"); !known {
		key := "ze " + strings.ToLower(earthing)
		if earthing == string(trade.TT) { // the supply's own part is nothing beside the electrode
			key = "electrode stability"
		}
		if v, cite, err := rules.Limit(key); err == nil {
			why := "the most a network operator usually declares for " + earthing
			if earthing == string(trade.TT) {
				why = "an electrode no higher than that; above, it may not be stable"
			}
			f.enter(Fact{Label: "Ze", Value: quantity.Ohms(v).String(), Assumed: true, Why: why + ": " + cite.String(), path: "supply/Ze",
				marked: fmt.Sprintf("%v (assumed, %s)", quantity.Ohms(v), bare(why))})
		}
	}
	lines := "L1"
	if phases == "3" {
		lines = "L1 L2 L3"
	}
	unless("Lines", circuit+"/phases", lines, "by the phases of the point")
	unless("Cable", cable+"/construction", string(standard.FlatTwin), "indoors and clipped ("+usual+")")
	made, _ := f.known(cable + "/construction")
	if phases == "3" && made == string(standard.FlatTwin) {
		if f.assumed(cable + "/construction") {
			f.replace(cable+"/construction", string(standard.Armoured), "flat twin has no cores for three phases ("+usual+")")
			made = string(standard.Armoured)
		} else {
			return Wrong{"cable", made, "it has one line: armoured, multicore or singles are wanted for three phases"}
		}
	}
	insulation, why := standard.Thermoplastic70, "usual for "+made+" ("+usual+")"
	if made == string(standard.Armoured) {
		insulation = standard.Thermosetting90
	}
	unless("Insulation", cable+"/insulation", string(insulation), why)
	unless("Material", cable+"/material", string(standard.Copper), "usual at these sizes ("+usual+")")
	if made != string(standard.FlatTwin) {
		cores := "3"
		if phases == "3" {
			cores = "5"
		}
		if made == string(standard.Singles) {
			cores = "1"
		}
		unless("Cores", cable+"/cores", cores, "a core for the neutral and one as cpc")
		unless("CPC", cable+"/cpc", string(trade.CPCCore), "a core of the same csa; armour beside it would lower R2")
	}
	method := standard.MethodC
	if made == string(standard.Singles) {
		method = standard.MethodB
	}
	unless("How it runs", leg+"/method", string(method), "clipped direct, or in conduit where single-core; thermal insulation or a duct would carry less")
	ambient := "30 °C"
	if m, _ := f.known(leg + "/method"); standard.Method(m).Buried() {
		ambient = "20 °C"
		unless("Depth", leg+"/depth", "700 mm", "what the tables of ratings are made for")
		unless("Soil", leg+"/soil", "2.5 K·m/W", "what the tables of ratings are made for")
	}
	unless("Surroundings", leg+"/ambient", ambient, "what the tables of ratings are made for")
	unless("Circuits together", leg+"/circuits together", "1", "it runs alone")
	unless("Thermal insulation around it", leg+"/in insulation", "0 m", "none on its way")
	unless("Terminals", circuit+"/terminals rated", "70 °C", "as accessories are unless marked otherwise ("+usual+")")
	unless("RCD, type", circuit+"/RCD/type", "A", "with 6 mA d.c. detection in the point")
	unless("RCD, IΔn", circuit+"/RCD/IΔn", "30 mA", "no more is allowed ahead of a point (BS 7671 722.531.3)")
	unless("RCD, poles", circuit+"/RCD/poles", "all live", "a point's RCD opens the neutral too")
	unless("Temperature of the day", "site/temperature", "20 °C", "what tables of resistance are made for")
	return nil
}

// singlePhaseMost is the highest power that the name of a single-phase point of
// 32 A is given: 7.36 kW at 230 V, called 7.4 kW, less often 7.5 kW or 7.7 kW
// at 240 V (common practice, no source).
const singlePhaseMost = 7700

// bare is a reason that fits between brackets.
func bare(why string) string {
	return strings.NewReplacer("(", "", ")", "", ",", "", ":", "").Replace(why)
}

func (f *facts) assumed(path string) bool {
	return slices.ContainsFunc(f.list, func(x Fact) bool { return x.path == path && x.Assumed })
}

// replace assumes something else.
func (f *facts) replace(path, value, why string) {
	for i := range f.list {
		if f.list[i].path == path {
			label := f.list[i].Label
			f.list = slices.Delete(f.list, i, i+1)
			f.assume(label, path, value, why)
			return
		}
	}
}

// run is one circuit that is reckoned with.
type run struct {
	job   *job.Job
	rules *standard.Rulebook
	none  string // why no size was found
}

// asked is the requirements that a handful of facts can speak of.
var asked = []string{"design current", "cable rating", "volt drop", "disconnection"}

// found holds the circuit to what must hold for it.
func (r *run) found() (*model.Model, map[string]finding.Finding) {
	m := model.New(r.job, r.rules)
	out := map[string]finding.Finding{}
	for _, f := range design.Check(m) {
		if works.Within(f.Path, circuit) {
			if before, twice := out[f.Key]; !twice || worse(f.Verdict, before.Verdict) {
				out[f.Key] = f
			}
		}
	}
	return m, out
}

func worse(a, b finding.Verdict) bool {
	fs := []finding.Finding{{Verdict: b}, {Verdict: a}}
	finding.ByUrgency(fs)
	return fs[0].Verdict == a && a != b
}

// holds reports whether nothing of what is asked speaks against the circuit.
func (r *run) holds(keys ...string) (bool, string) {
	_, found := r.found()
	for _, key := range keys {
		if f, is := found[key]; is && (f.Verdict == finding.Fails || key == "disconnection" && f.Verdict == finding.JudgeOnSite) {
			return false, f.What
		}
	}
	return true, ""
}

// Sizes and ratings that are tried, smallest first: those that final circuits
// of charge points are run in (IEC 60228; BS EN 61009-1 preferred values).
var (
	sizes   = []quantity.SquareMillimetres{2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120}
	ratings = []quantity.Amperes{16, 20, 25, 32, 40, 50, 63, 80, 100, 125}
)

// choose assumes the device and the size that were not said: the smallest that
// hold by the rules themselves.
func (r *run) choose(f *facts) {
	c := &r.job.Circuits[0]
	_, sized := f.known(cable + "/csa")
	_, rated := f.known(device + "/rating")
	tried := sizes
	if sized {
		tried = []quantity.SquareMillimetres{c.Cable.CSA.Or(0)}
	}
	if !rated {
		c.Device.Type = quantity.Known(standard.RCBOB)
		f.assume("Type of device", device+"/type", string(standard.RCBOB), "an RCBO of curve B, usual for a point (common practice, no source)")
	}
	if !rated { // by its current alone first: the rest is the cable's to meet
		for _, in := range ratings {
			c.Device.Rating = quantity.Known(in)
			if ok, _ := r.holds("design current"); ok {
				f.assume("Rating of device", device+"/rating", in.String(), "the smallest that carries the current of the point: Ib ≤ In")
				break
			}
		}
	}
	if !sized {
		for _, csa := range tried {
			c.Cable.CSA = quantity.Known(csa)
			if _, found := r.found(); found["cable rating"].Verdict == finding.NotKnown {
				continue // no table has it
			}
			if ok, _ := r.holds(asked...); ok {
				f.assume("Size", cable+"/csa", csa.String(), "the smallest of a table that holds for the current, the volt drop and the fault")
				return
			}
		}
		_, found := r.found()
		for _, key := range asked {
			if f := found[key]; f.Verdict != finding.Meets {
				r.none = fmt.Sprintf("none up to %v holds: %s; %s", sizes[len(sizes)-1], f.What, f.Why)
			}
		}
		c.Cable.CSA = quantity.Maybe[quantity.SquareMillimetres]{}
	}
}

// rows are the answers.
func (r *run) rows(said Said) []Row {
	m, found := r.found()
	c, p := m.Circuits[0], m.Points[0]
	current := m.PointCurrents(p)
	var out []Row
	add := func(row Row) { out = append(out, row) }

	load := Row{What: "current and power", Lacks: current.Lacks.Words()}
	if u0, known := m.U0().Get(); known && current.Known() {
		phases := c.PhaseCount()
		load.Value = fmt.Sprintf("%v a phase; %v", current.Greatest(), model.PowerAt(phases, u0, current.Greatest()))
		if phases == 1 {
			load.Value = fmt.Sprintf("%v; %v", current.Greatest(), model.PowerAt(phases, u0, current.Greatest()))
		}
		load.Why = current.Says()
	}
	add(load)
	if r.none != "" {
		add(Row{What: "size", Value: "none", Why: r.none, Next: "say a size, a shorter length, another kind of cable or way to run it"})
	}
	for _, key := range asked {
		what := map[string]string{"design current": "device", "cable rating": "cable carries the device", "volt drop": "volt drop",
			"disconnection": "Zs, hot"}[key]
		f, is := found[key]
		if !is {
			continue
		}
		row := Row{What: what, Value: f.Value.String(), Limit: f.Limit.String(), Judged: true, Verdict: f.Verdict, Why: f.What + ". " + f.Why.String(),
			Source: f.Source.String(), Lacks: f.Lacks.Words(), Next: f.Next}
		if d := c.Device(); key == "design current" && d.Known() {
			row.What = fmt.Sprintf("device, %v", d.Value)
		}
		add(row)
	}
	add(r.longest())
	for _, e := range prove.Expect(m) {
		if e.At != p.Record.Name || e.Reading != "R1+R2" && e.Reading != "Zs" {
			continue
		}
		row := Row{What: e.Reading + " to expect", Lacks: e.Missing.Words(), Source: e.Clause.String()}
		if e.Known() {
			row.Value = fmt.Sprintf("%v, from %v to %v", e.Mid, e.Low, e.High)
		}
		if !e.Limit.IsZero() {
			row.Limit = e.LimitIs + " " + e.Limit.String()
		}
		add(row)
		if e.Reading == "R1+R2" {
			add(r.split(c, "R1 and R2 of it", nil))
			if read, err := readingOf(said["reading"]); err == nil {
				add(r.split(c, "R1+R2 read, "+read.String(), &read))
			}
		}
	}
	if current.Known() {
		add(r.stay(m, c, current.Greatest(), said["stay"]))
	}
	return out
}

// split parts R1+R2 into its line and its cpc, by the conductors themselves; a
// reading is parted in the same share and told as a length.
func (r *run) split(c *model.Circuit, what string, read *quantity.Ohms) Row {
	length := c.Length()
	if !length.Known() && read != nil { // the share and the resistance of a metre are those of any length
		one := *r
		j := *r.job
		j.Circuits = slices.Clone(j.Circuits)
		j.Circuits[0].Legs = slices.Clone(j.Circuits[0].Legs)
		j.Circuits[0].Legs[0].Length = quantity.Known(quantity.Metres(1))
		one.job = &j
		c = model.New(one.job, r.rules).Circuits[0]
		length = c.Length()
	}
	r1, r2 := c.R1(model.AtTest), c.R2(model.AtTest)
	row := Row{What: what, Lacks: finding.Gather(length.Lacks, r1.Lacks, r2.Lacks).Words()}
	if len(row.Lacks) > 0 {
		return row
	}
	line, cpc := r1.Magnitude(), r2.Magnitude()
	row.Why, row.Source = "in the share of the two conductors by the table", r1.Parts[0].Citation.String()
	if read == nil {
		row.Value = fmt.Sprintf("R1 %v, R2 %v", line, cpc)
		return row
	}
	share := float64(*read / (line + cpc))
	row.Value = fmt.Sprintf("R1 %v, R2 %v; %v of this cable", quantity.Ohms(share)*line, quantity.Ohms(share)*cpc,
		quantity.Metres(share*float64(length.Value)))
	return row
}

// longest finds how far the cable may run, by asking the rules at one length
// after another: volt drop and disconnection only grow with it.
func (r *run) longest() Row {
	row := Row{What: "longest run"}
	try := *r
	j := *r.job
	j.Circuits = slices.Clone(j.Circuits)
	c := &j.Circuits[0]
	c.Legs = slices.Clone(c.Legs)
	try.job = &j
	at := func(tenths int) (bool, string) {
		c.Legs[0].Length = quantity.Known(quantity.Metres(float64(tenths) / 10))
		return try.holds("volt drop", "disconnection")
	}
	if _, found := func() (*model.Model, map[string]finding.Finding) { at(10); return try.found() }(); true {
		for _, key := range []string{"volt drop", "disconnection"} {
			if f := found[key]; f.Verdict == finding.NotKnown {
				row.Lacks = f.Lacks.Words()
				return row
			}
		}
	}
	const most = 10000 // 1 km, in tenths of a metre
	if ok, why := at(1); !ok {
		row.Value, row.Why = "none", "at no length: "+why
		return row
	}
	if ok, _ := at(most); ok {
		row.Value, row.Why = "more than 1 km", "neither volt drop nor disconnection stops it"
		return row
	}
	low, high := 1, most
	for high-low > 1 {
		mid := (low + high) / 2
		if ok, _ := at(mid); ok {
			low = mid
		} else {
			high = mid
		}
	}
	_, why := at(high)
	row.Value, row.Why = quantity.Metres(float64(low)/10).String(), "beyond it: "+why
	return row
}

// Kilowatt-hours and miles. What a car makes of it is from memory, and a
// market's figure, not a standard's.
const (
	intoBattery            = 0.90       // of what the wall gives
	thriftyMile, heavyMile = 0.27, 0.32 // kWh from the battery
)

// stay says what a stay gives: energy at the wall, and how far it takes a car.
//
//	formula  E = P × t;  miles = 0.90 × E / (0.27 to 0.32 kWh)
func (r *run) stay(m *model.Model, c *model.Circuit, i quantity.Amperes, said string) Row {
	t, err := stayOf(said)
	why := "energy at the wall; a car that is not full before, and takes all it is given"
	if err != nil {
		t = 8 * 3600
	}
	u0, known := m.U0().Get()
	if !known {
		return Row{What: "a stay", Lacks: m.U0().Lacks.Words()}
	}
	wh := quantity.WattHours(float64(model.PowerAt(c.PhaseCount(), u0, i)) * float64(t) / 3600)
	miles := func(each float64) string {
		return strconv.Itoa(int(math.Round(float64(wh) / 1000 * intoBattery / each)))
	}
	return Row{What: "a stay of " + strconv.FormatFloat(math.Round(float64(t)/360)/10, 'f', -1, 64) + " h", Why: why,
		Value: fmt.Sprintf("%v; %s to %s miles", wh, miles(heavyMile), miles(thriftyMile))}
}

// Job returns a job of that name made of what was said: an ordinary record.
// What was assumed is written as assumed: nobody has seen it yet.
func (a *Answer) Job(name string) ([]byte, error) {
	f, err := job.ReadRecord("", job.Starter(name))
	if err != nil {
		return nil, fmt.Errorf("read the starter: %w", err)
	}
	for _, fact := range a.Facts {
		if fact.path == "" {
			continue
		}
		if fact.Assumed && fact.marked == "" {
			fact.marked = job.Assumption{Value: fact.Value, Reason: bare(fact.Why)}.String()
		}
		if err := f.Set(fact.path, cmp.Or(fact.marked, fact.Value)); err != nil {
			return nil, fmt.Errorf("carry over %s: %w", fact.Label, err)
		}
	}
	return f.Bytes(), nil
}
