package web

// The line from the street to the vehicle as a list: each station with its one
// figure, what is said of it, and the readings that are taken there. What is
// alike is one station with a count.

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// station is one station of the line.
type station struct {
	Of            string // its sheet
	Symbol        string // what is drawn on the line
	Title, Sub    string
	Figure, Unit  string
	FigureAt      string // where the figure stands in the record
	Dotted        bool   // nobody has seen the figure yet
	Verdict       finding.Verdict
	Checked       bool
	Says          string // what its verdict is about
	Count         int    // how many are alike; 1 for one
	First, Last   bool   // of its run
	Earthed       bool   // joined to the protective conductor
	Beyond        bool   // a station before it fails
	Shown         *test  // the reading that stands for it
	Tests         []test
	Reads, Taken  int
	Places        []string // where its readings are taken
	Kinds         []string // which readings there are its own; none for all
	Here          bool     // its sheet is open
	Open          int      // what is asked for and not known
	parts         []string // of the record, whose findings are about it
	keys          []string // of findings about one of its parts that are about it and no other station there
	found         []finding.Finding
	likeOnes      []string // what the alike are called
	showsReadings []string // which of its readings stands for it, the best first
}

// stretch is stations one below the other.
type stretch struct {
	Title    string // where it comes from; nothing for the first
	Stations []*station
}

// leastAlike is how many it takes for what is alike to be one station.
const leastAlike = 3

// aboutCable is the findings of a circuit that are about its cable.
var aboutCable = []string{"cable rating", "volt drop", "adiabatic line conductor", "adiabatic cpc", "neutral size", "neutral current", "cable in wall",
	"burial", "buried separation", "protective conductor current", "separate cpc", "armour to electrode"}

// aboutCutOut is the findings of a supply that are about its cut-out.
var aboutCutOut = []string{"cut-out breaking capacity", "supply demand", "agreed capacity"}

// line lays out the stations of the job.
func (o *opened) line() []*stretch {
	if o.runs != nil {
		return o.runs
	}
	l := &liner{o: o, now: &stretch{}}
	l.runs = []*stretch{l.now}
	l.origin()
	l.stray()
	l.share()
	o.runs = l.runs
	return o.runs
}

type liner struct {
	o    *opened
	runs []*stretch
	now  *stretch
	done map[string]bool // points that hang on a circuit
}

func (l *liner) add(s *station) *station {
	s.Count = max(s.Count, 1)
	l.now.Stations = append(l.now.Stations, s)
	return s
}

func (l *liner) branch(title string) {
	l.now = &stretch{Title: title}
	l.runs = append(l.runs, l.now)
}

// origin is the stations up to the boards at the origin, and all beyond them.
func (l *liner) origin() {
	j := l.o.Job
	supply := &j.Supply
	s := l.add(&station{Of: "street", Symbol: "street", Title: "Supply", Earthed: supply.Earthing.Or("") != trade.TT, parts: []string{"supply"},
		Places: []string{"supply"}, showsReadings: []string{"Ze", "Ipf"}})
	if e, ok := supply.Earthing.Get(); ok {
		s.Title += ", " + string(e)
	}
	s.Sub = phasesSaid(supply.Phases)
	s.figure("supply/Ze", supply.Ze.Value, "Ω")
	if how, ok := supply.Ze.KnownBy.Get(); ok && s.Figure != "" {
		s.Sub = join(s.Sub, "Ze "+string(how))
	}
	s = l.add(&station{Of: "cut-out", Symbol: "fuse", Title: "Cut-out", parts: []string{"supply/cut-out", "supply"}, keys: aboutCutOut})
	s.Sub = join(wordOf(supply.CutOut.Type), wordOf(supply.ServiceCondition))
	s.figure("supply/cut-out/rating", supply.CutOut.Rating, "A")
	s = l.add(&station{Of: "meter", Symbol: "meter", Title: "Meter and tails", parts: []string{"supply/tails"}})
	s.Sub = wordOf(supply.Tails.Length)
	s.figure("supply/tails/csa", supply.Tails.CSA, "mm²")
	l.earthing()
	l.limiters("supply")
	origin := 0
	for _, b := range l.o.Model.Boards {
		if b.Feed == nil {
			if origin++; origin > 1 {
				l.branch("From the supply")
			}
			l.board(b)
		}
	}
	if origin == 0 {
		l.add(&station{Of: "", Symbol: "unknown", Title: "Board", Says: "which board the supply feeds", Verdict: finding.NotKnown, Checked: true})
	}
}

func (l *liner) earthing() {
	j := l.o.Job
	supply := &j.Supply
	s := l.add(&station{Of: "earthing", Symbol: "earth", Title: "Earth and bonding", Earthed: true,
		parts: []string{"supply/earthing conductor", "supply/main bonding"}, keys: []string{"earthing conductor", "main bonding", "electrode conductor"},
		Places: []string{"earthing conductor"}, showsReadings: []string{"earthing conductor"}})
	var bonds []string
	for i := range supply.Bonding {
		b := &supply.Bonding[i]
		bonds = append(bonds, b.To)
		s.Places = append(s.Places, b.Thing().Name)
	}
	s.Sub = strings.Join(bonds, ", ")
	s.figure("supply/earthing conductor/csa", supply.EarthingConductor.CSA, "mm²")
	for i := range j.Electrodes {
		e := &j.Electrodes[i]
		one := l.add(&station{Of: works.Under("electrodes", e.Name), Symbol: "electrode", Title: drawing.Named("Electrode", e.Name), Earthed: true,
			Places: []string{e.Name}, parts: []string{works.Under("electrodes", e.Name)}, showsReadings: []string{"RA"}})
		one.Sub = join(wordOf(e.Kind), e.Place)
		one.figure(works.Under("electrodes", e.Name)+"/resistance", e.Resistance.Value, "Ω")
	}
}

func (l *liner) limiters(at string) {
	for i := range l.o.Job.Limiters {
		r := &l.o.Job.Limiters[i]
		if r.At != at {
			continue
		}
		path := works.Under("limiters", r.Name)
		s := l.add(&station{Of: path, Symbol: "clamp", Title: drawing.Named("Limiter", r.Name), Sub: r.Clamp, parts: []string{path}})
		s.Places, s.Kinds = []string{r.Name}, nil
		s.figure(path+"/limit", r.Limit, "A")
	}
}

func (l *liner) board(b *model.Board) {
	r := b.Record
	path := works.Under("boards", r.Name)
	s := l.add(&station{Of: path, Symbol: "board", Title: drawing.Named("Board", r.Name), Sub: r.Place, Earthed: true, parts: []string{path},
		keys: []string{"surge protection"}, Places: []string{r.Name}, showsReadings: []string{"Zs", "Ipf", "SPD indicator"}})
	s.figure(path+"/rated current", r.Rated, "A")
	l.limiters(r.Name)
	groups := l.groups(b)
	for _, g := range groups {
		if len(groups) > 1 {
			l.branch("From " + drawing.Named("board", r.Name))
		}
		l.circuit(g)
	}
}

// groups gathers the circuits of a board that are alike.
func (l *liner) groups(b *model.Board) [][]*model.Circuit {
	var out [][]*model.Circuit
	at := map[string]int{}
	for _, c := range l.o.Model.Circuits {
		if c.From != b {
			continue
		}
		sign := l.sign(c)
		if i, there := at[sign]; there && sign != "" {
			out[i] = append(out[i], c)
			continue
		}
		at[sign] = len(out)
		out = append(out, []*model.Circuit{c})
	}
	var parted [][]*model.Circuit // too few are drawn one by one
	for _, g := range out {
		if len(g) >= leastAlike {
			parted = append(parted, g)
			continue
		}
		for _, c := range g {
			parted = append(parted, []*model.Circuit{c})
		}
	}
	return parted
}

// sign is what is equal between circuits that are alike; nothing for one that
// is like no other.
func (l *liner) sign(c *model.Circuit) string {
	if c.Point == nil {
		return ""
	}
	r, p := c.Record, c.Point.Record
	return fmt.Sprint(r.Existing, c.PhaseCount(), r.Device, r.RCD, r.SharedRCD, r.Cable, len(r.Legs), p.Power, p.Phases, p.Outlet, p.Earthing.Measure, p.OpenPEN)
}

// circuit is the device, the cable and the end of a circuit, or of several
// alike.
func (l *liner) circuit(g []*model.Circuit) {
	c := g[0]
	r := c.Record
	device := &station{Symbol: "breaker", Count: len(g), showsReadings: []string{"RCD time at IΔn", "RCD test button"}}
	cable := &station{Symbol: "cable", Count: len(g), keys: aboutCable, showsReadings: []string{"R1+R2", "insulation live to earth"}}
	end := &station{Count: len(g), Earthed: true}
	var names []string
	for _, one := range g {
		path := works.Under("circuits", one.Record.Name)
		names = append(names, one.Record.Name)
		device.parts = append(device.parts, path)
		cable.parts = append(cable.parts, path+"/cable", path+"/legs", path)
		device.Places = append(device.Places, one.Record.To, one.Record.Name)
		cable.Places = append(cable.Places, one.Record.To, one.Record.Name)
	}
	path := works.Under("circuits", r.Name)
	device.Of, device.Title, device.likeOnes = path, deviceTitle(r), names
	device.Kinds, cable.Kinds = ofDevice, ofCable
	device.Sub = join(rcdSaid(&r.RCD, r.SharedRCD), drawing.Names(names))
	device.figure(path+"/device/rating", r.Device.Rating, "A")
	if r.RCD.Type.IsKnown() || r.RCD.Residual.IsKnown() || r.Device.Type.Or("").Residual() {
		device.Symbol = "rcbo"
	}
	l.add(device)

	cable.Of, cable.Title, cable.likeOnes = path+"/cable", "Cable", names
	if m, ok := c.Length().Get(); ok && len(g) == 1 {
		cable.Title += " " + m.String()
	}
	var legs []string
	for i := range r.Legs {
		legs = append(legs, strings.TrimSpace(r.Legs[i].Name+" "+wordOf(r.Legs[i].Length)))
	}
	if cable.Sub = strings.Join(legs, ", "); len(g) > 1 {
		cable.Sub = lengths(g)
	}
	cable.figure(path+"/cable/csa", r.Cable.CSA, "mm²")
	l.add(cable)

	switch {
	case c.Board != nil:
		l.board(c.Board)
		return
	case c.Point != nil:
		l.point(end, g)
	case c.Load != nil:
		p := works.Under("loads", c.Load.Name)
		end.Of, end.Symbol, end.Title, end.parts = p, "load", drawing.Named("Load", c.Load.Name), []string{p}
		end.figure(p+"/power", c.Load.Power, "kW")
	case c.Source() != nil:
		of := c.Source().Record
		p := of.Thing().Path
		end.Of, end.Symbol, end.Title, end.parts = p, "load", drawing.Named("Source", of.Name), []string{p}
		end.figure(p+"/output current", of.Output, "A")
	default:
		end.Of, end.Symbol, end.Title = path, "unknown", "Where it ends"
		end.Says, end.Verdict, end.Checked, end.Earthed = "what the circuit feeds", finding.NotKnown, true, false
	}
	l.add(end)
}

func (l *liner) point(s *station, g []*model.Circuit) {
	p := g[0].Point.Record
	path := works.Under("points", p.Name)
	var places []string
	for _, c := range g {
		one := c.Point.Record
		s.likeOnes = append(s.likeOnes, one.Name)
		s.parts = append(s.parts, works.Under("points", one.Name))
		s.Places = append(s.Places, one.Name)
		if one.Mounting.Place != "" && !slices.Contains(places, one.Mounting.Place) {
			places = append(places, one.Mounting.Place)
		}
		l.hangs(one.Name)
	}
	s.Of, s.Symbol, s.Title = path, "point", drawing.Named("Point", p.Name)
	if len(g) > 1 {
		s.Title = drawing.Names(s.likeOnes)
	}
	s.Sub = drawing.Names(places)
	s.showsReadings = []string{"Zs", "6 mA d.c."}
	s.figure(path+"/power", p.Power, "kW")
}

func (l *liner) hangs(point string) {
	if l.done == nil {
		l.done = map[string]bool{}
	}
	l.done[point] = true
}

// stray is the points and boards that no circuit leads to from the origin.
func (l *liner) stray() {
	for _, p := range l.o.Model.Points {
		if l.done[p.Record.Name] {
			continue
		}
		l.branch("Fed by no circuit yet")
		path := works.Under("points", p.Record.Name)
		s := l.add(&station{Of: path, Symbol: "point", Title: drawing.Named("Point", p.Record.Name), Sub: p.Record.Mounting.Place, parts: []string{path},
			Places: []string{p.Record.Name}})
		s.figure(path+"/power", p.Record.Power, "kW")
	}
}

// ofDevice and ofCable are the readings of a circuit that belong to one of its
// stations; what is left belongs to its end.
var (
	ofDevice = []string{"RCD time at IΔn", "RCD time at 5 IΔn", "RCD at half IΔn", "RCD ramp", "RCD test button"}
	ofCable  = []string{"R1+R2", "R2", "R1+Rn", "insulation live to earth", "insulation between live", "insulation line to earth", "insulation neutral to earth",
		"polarity"}
)

// share hands findings and readings to the stations that they are about.
func (l *liner) share() {
	var all []*station
	for _, r := range l.runs {
		r.Stations[0].First, r.Stations[len(r.Stations)-1].Last = true, true
		all = append(all, r.Stations...)
	}
	// Findings and readings look up their stations: a depot has thousands of each.
	byPart, byPlace := map[string][]*station{}, map[string][]*station{}
	put := func(into map[string][]*station, at string, s *station) {
		if there := into[at]; len(there) == 0 || there[len(there)-1] != s {
			into[at] = append(there, s)
		}
	}
	for _, s := range all {
		for _, part := range s.parts {
			put(byPart, part, s)
		}
		for _, place := range s.Places {
			put(byPlace, place, s)
		}
	}
	for _, f := range l.o.Found {
		if s := l.owner(all, byPart, f); s != nil {
			s.found = append(s.found, f)
		}
	}
	for _, t := range l.o.tests() {
		for _, s := range byPlace[t.At] {
			if s.Kinds == nil || slices.Contains(s.Kinds, t.Reading) {
				s.take(t)
				break
			}
		}
	}
	for _, f := range l.o.failedReadings() {
		for _, s := range all {
			if slices.ContainsFunc(s.Tests, func(t test) bool { return f.Key == "reading "+t.Reading && f.Path == prove.PathAt(l.o.Model, t.At) }) {
				s.found = append(s.found, f)
				break
			}
		}
	}
	for _, r := range l.runs {
		fails := false
		for _, s := range r.Stations {
			s.Beyond = fails
			l.o.say(s)
			fails = fails || s.Verdict == finding.Fails && s.Checked
		}
	}
}

// owner is the station that a finding is about: where what it lacks is asked
// for; else of those whose parts hold it the one with the innermost, and among
// equals the one that claims its kind.
func (l *liner) owner(all []*station, byPart map[string][]*station, f finding.Finding) *station {
	if f.Verdict == finding.NotKnown && len(f.Lacks) > 0 && f.Lacks[0].Path != "" {
		for _, s := range all {
			if l.o.asks(s, f.Lacks[0].Path) {
				return s
			}
		}
	}
	seen := map[*station]bool{} // by the innermost of its parts
	for at := f.Path; ; at = above(at) {
		var best *station
		claimed := false
		for _, s := range byPart[at] {
			claims := slices.Contains(s.keys, f.Key)
			passed := seen[s] || at == f.Path && !claims && (s.Symbol == "cable" || s.Symbol == "fuse" && f.Path == "supply")
			if seen[s] = true; passed {
				continue // of the circuit, not of its cable; of the supply, not of its cut-out
			}
			if best == nil || claims && !claimed {
				best, claimed = s, claims
			}
		}
		if best != nil || at == "" {
			return best
		}
	}
}

func (s *station) take(t test) {
	s.Tests = append(s.Tests, t)
	s.Reads++
	if t.Taken == "" {
		return
	}
	s.Taken++
	better := func(name string) int {
		if i := slices.Index(s.showsReadings, name); i >= 0 {
			return i
		}
		return len(s.showsReadings)
	}
	if len(t.Seen) == 0 && (s.Shown == nil || better(t.Reading) < better(s.Shown.Reading)) && better(t.Reading) < len(s.showsReadings) {
		s.Shown = &t
	}
}

// say gives a station the verdict that a reader must see first, and says
// what it is about.
func (o *opened) say(s *station) {
	left := slices.DeleteFunc(slices.Clone(s.found), func(f finding.Finding) bool {
		return o.settled(f) || f.Verdict == finding.Fails && o.Job.Departed(f)
	})
	if v, checked := finding.Worst(left); checked && !s.Checked {
		s.Verdict, s.Checked = v, true
		for _, f := range left {
			if f.Verdict != v || f.WaitsOn != "" && s.Says != "" {
				continue
			}
			switch {
			case v == finding.NotKnown && len(f.Lacks) > 0:
				if s.Says = f.Lacks[0].What; f.Lacks[0].Path != "" {
					s.Says = questionOf(f.Lacks[0].Path)
				}
			case v == finding.Meets:
			case v == finding.Fails && !f.Margin.IsZero():
				s.Says = brief(f.What) + " by " + strings.TrimLeft(f.Margin.String(), "-−")
			default:
				s.Says = brief(f.What)
			}
			break
		}
	} else if !checked && !s.Checked && len(s.found) > 0 {
		s.Verdict, s.Checked = finding.Meets, true
	}
	if s.FigureAt != "" {
		s.Dotted = o.Job.IsAssumed(s.FigureAt)
	}
}

// brief is a requirement without its formula.
func brief(what string) string {
	short, _, _ := strings.Cut(what, ": ")
	return short
}

// figure is the one figure of a station.
func (s *station) figure(path string, m any, unit string) {
	s.FigureAt, s.Unit = path, unit
	text := fmt.Sprint(m)
	if k, ok := m.(interface{ IsKnown() bool }); ok && !k.IsKnown() {
		text = ""
	}
	s.Figure, s.Unit = figureAndUnit(text, unit)
}

// figureAndUnit parts what is written into its figure and its unit.
func figureAndUnit(text, unit string) (figure, of string) {
	if text == "" {
		return "", unit
	}
	number, rest, found := strings.Cut(text, " ")
	if !found {
		return text, ""
	}
	if strings.TrimLeft(number, "<>≤≥") == "" { // "> 200 MΩ"
		more, last, _ := strings.Cut(rest, " ")
		return number + " " + more, last
	}
	return number, rest
}

func wordOf[Q any](m quantity.Maybe[Q]) string {
	q, ok := m.Get()
	if !ok {
		return ""
	}
	return fmt.Sprint(q)
}

func join(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), ", ")
}

func phasesSaid(m quantity.Maybe[int]) string {
	switch m.Or(0) {
	case 1:
		return "one phase"
	case 3:
		return "three phases"
	}
	return ""
}

// deviceTitle is what the trade calls a device.
func deviceTitle(c *works.Circuit) string {
	family, ok := c.Device.Type.Get()
	if !ok {
		return "Device"
	}
	for _, is := range []struct {
		family standard.Family
		says   string
	}{{standard.BreakerB, "MCB, curve B"}, {standard.BreakerC, "MCB, curve C"}, {standard.BreakerD, "MCB, curve D"},
		{standard.RCBOB, "RCBO, curve B"}, {standard.RCBOC, "RCBO, curve C"}, {standard.RCBOD, "RCBO, curve D"}} {
		if family == is.family {
			return is.says
		}
	}
	return string(family)
}

func rcdSaid(r *works.RCD, shared string) string {
	kind := ""
	if t, ok := r.Type.Get(); ok {
		kind = "Type " + string(t)
	}
	if shared != "" && shared != "none" && kind == "" {
		kind = "behind " + shared
	}
	return join(kind, wordOf(r.Residual))
}

// lengths is the shortest and the longest of several circuits.
func lengths(g []*model.Circuit) string {
	var all []quantity.Metres
	for _, c := range g {
		if m, ok := c.Length().Get(); ok {
			all = append(all, m)
		}
	}
	switch {
	case len(all) == 0:
		return ""
	case cmp.Compare(slices.Min(all), slices.Max(all)) == 0:
		return all[0].String()
	}
	return slices.Min(all).String() + " to " + slices.Max(all).String()
}

// Ones is what the things are called that a station stands for.
func (s *station) Ones() []string { return s.likeOnes }

// stationOf is the station whose sheet it is, or that the sheet is about.
func (o *opened) stationOf(of string) *station {
	var all []*station
	for _, r := range o.line() {
		for _, s := range r.Stations {
			if s.Of == of {
				return s
			}
			all = append(all, s)
		}
	}
	if i := slices.IndexFunc(all, func(s *station) bool { return slices.Contains(s.parts, of) }); i >= 0 {
		return all[i]
	}
	return nil
}

// Fails, NotKnown, Judge and Meets report the verdict of a station that was
// checked.
func (s *station) Fails() bool    { return s.Checked && s.Verdict == finding.Fails }
func (s *station) NotKnown() bool { return s.Checked && s.Verdict == finding.NotKnown }
func (s *station) Judge() bool    { return s.Checked && s.Verdict == finding.JudgeOnSite }

// Class is how the line is drawn there.
func (s *station) Class() string {
	var out []string
	for _, c := range []struct {
		is  bool
		say string
	}{{s.First, "first"}, {s.Last, "last"}, {s.Fails(), "stop"}, {s.NotKnown(), "gap"}, {s.Judge(), "eye"}, {s.Beyond, "beyond"}, {s.Earthed, "joint"},
		{s.Here, "here"}} {
		if c.is {
			out = append(out, c.say)
		}
	}
	return strings.Join(out, " ")
}

// Noun is what a station is called in a sentence.
func (s *station) Noun() string { return cmp.Or(nouns[s.Symbol], lower(s.Title)) }

func lower(text string) string {
	return strings.ToLower(text[:min(1, len(text))]) + text[min(1, len(text)):]
}
