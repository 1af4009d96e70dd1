package choose

// What was found, in words, for a terminal and a page alike.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Search says how far the search went, and what it shows.
func (o *Outcome) Search() string {
	p := o.Proof
	text := fmt.Sprintf("%d candidates, %d held to the rules, %d branches cut by a bound", p.Candidates, p.Tried, p.Cut)
	if p.StruckOut > 0 {
		text += fmt.Sprintf(", %d refused by the whole model", p.StruckOut)
	}
	if p.Complete {
		return text + ": nothing permitted is better"
	}
	if o.Aim.Purpose == Materials {
		return text + fmt.Sprintf(": not proven, and the search was ended; nothing has fewer than %d different materials", p.AtLeast)
	}
	return text + fmt.Sprintf(": not proven, nothing costs less than %.0f", o.Bound)
}

// Currents says what the lines of the board carry.
func (p PhaseChoice) Currents() string {
	return fmt.Sprintf("%.4g, %.4g, %.4g A, neutral %.3g A", p.Current[0], p.Current[1], p.Current[2], p.Neutral)
}

// Shared says which circuit is on which line.
func (p PhaseChoice) Shared() string {
	by := map[string][]string{}
	for circuit, line := range p.Lines {
		by[line] = append(by[line], circuit)
	}
	var parts []string
	for _, line := range []string{"L1", "L2", "L3"} {
		if len(by[line]) > 0 {
			slices.Sort(by[line])
			parts = append(parts, line+": "+strings.Join(by[line], ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// Settings says what a limiter is set to; nothing where none is.
func (l *LimiterChoice) Settings() string {
	if l.Name == "" {
		return ""
	}
	return fmt.Sprintf("%s: limit %.4g A, fail-safe current %.4g A", l.Name, l.Limit, l.FailSafe)
}

// Material says what a circuit is made of.
func (c CircuitChoice) Material() string {
	text := c.Cable + "; " + c.Device
	if c.RCD != "" {
		text += "; RCD " + c.RCD
	}
	return text
}

// Tightest returns the rules of the circuit, the one with the least room first.
func (c CircuitChoice) Tightest() []Margin {
	tight := slices.Clone(c.Margins)
	slices.SortStableFunc(tight, func(a, b Margin) int {
		switch x, y := a.Room/a.Limit, b.Room/b.Limit; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return tight
}

// Alike gathers circuits with one cable, one device and one RCD.
func Alike(all []CircuitChoice) [][]CircuitChoice {
	var out [][]CircuitChoice
	at := map[string]int{}
	for _, c := range all {
		key := c.Material()
		if i, seen := at[key]; seen {
			out[i] = append(out[i], c)
			continue
		}
		at[key] = len(out)
		out = append(out, []CircuitChoice{c})
	}
	return out
}

// String says which device, and what backs it up.
func (s SurgeChoice) String() string {
	own := "none of its own needed"
	if s.Own > 0 {
		own = fmt.Sprintf("a gG fuse of its own, %.0f A", s.Own)
	}
	return fmt.Sprintf("%s: type %s, %.1f kV; %s (%s)", s.Board, s.Type, s.Level/1000, own, s.Why)
}

// String says what a measure is, what it costs and what it needs.
func (m Measure) String() string {
	text := m.Measure
	if m.Chosen > 0 {
		text += fmt.Sprintf(" (chosen for %d)", m.Chosen)
	}
	if m.Cost > 0 {
		text += fmt.Sprintf(", %.0f", m.Cost)
	}
	return text + ": " + m.Needs + " [" + m.Why + "]"
}

// String says how full a board becomes.
func (b BoardChoice) String() string {
	text := fmt.Sprintf("%d ways used, %d left", b.Used, b.Left)
	if b.Bought {
		text += ", chosen from the catalogue"
	}
	if b.Why != "" {
		text += "; " + b.Why
	}
	return text
}

// Price says what an option costs, and against the job as it is drawn.
func (o Option) Price() string {
	if !o.Known {
		return "no design found"
	}
	text := fmt.Sprintf("%.0f", o.Cost)
	if o.Against != 0 {
		text += fmt.Sprintf(" (%+.0f)", o.Against)
	}
	return text
}

// Fetch says what to cut, bend and terminate; nothing where the cable or its
// length is not known.
func (r Route) Fetch() string {
	if r.Cut == 0 {
		return ""
	}
	text := fmt.Sprintf("cut %.1f m, slack included", r.Cut)
	if r.Bend > 0 {
		text += fmt.Sprintf("; bend no tighter than %.0f mm inside", 1000*r.Bend)
	}
	if r.Gland != "" {
		text += "; 2 glands " + r.Gland
	}
	return text + "; " + r.Ends
}

// String says what one leg needs.
func (l LegRoute) String() string {
	text := fmt.Sprintf("%s, %.4g m", l.Leg, l.Length)
	if l.Cut > 0 {
		text += fmt.Sprintf(", cut %.1f m of its own cable", l.Cut)
	}
	if l.Clips > 0 {
		text += fmt.Sprintf(": %d clips, every %.0f mm along, %.0f mm upright", l.Clips, 1000*l.Every, 1000*l.Upright)
	}
	if l.Holds != "" {
		text += ": " + l.Holds
	}
	return text
}

// Part is settings that belong together: those of a circuit, a point, a
// limiter. One of them may be put into a job without the others.
type Part struct {
	Of       string    `json:"of"` // path of the item
	Reasons  []string  `json:"reasons"`
	Flips    []string  `json:"flips"`
	Settings []Setting `json:"settings"`
}

// Parts takes the settings apart, in their order. Which limiter a point obeys
// goes with the limiter: neither is of use alone.
func (o *Outcome) Parts() []Part {
	var out []Part
	at := map[string]int{}
	for _, s := range o.Settings {
		names := works.NamesOf(s.Path)
		of := works.Under(works.Under("", names[0]), names[1])
		if names[0] == "points" && names[len(names)-1] == "limiter" {
			of = works.Under("limiters", s.Value)
		}
		i, seen := at[of]
		if !seen {
			i = len(out)
			at[of] = i
			out = append(out, o.part(of))
		}
		out[i].Settings = append(out[i].Settings, s)
	}
	return out
}

// part begins a part with its reasons.
func (o *Outcome) part(of string) Part {
	p := Part{Of: of, Reasons: []string{}, Flips: []string{}}
	add := func(text string) {
		if text != "" {
			p.Reasons = append(p.Reasons, text)
		}
	}
	names := works.NamesOf(of)
	switch kind, name := names[0], names[1]; kind {
	case "circuits":
		for _, c := range o.Circuits {
			if c.Circuit == name {
				add(c.Material())
				add(c.Binding)
				for _, f := range c.Flips {
					p.Flips = append(p.Flips, f.String())
				}
			}
		}
		for _, x := range o.Phases {
			if line, on := x.Lines[name]; on {
				add(fmt.Sprintf("%s at %s, by least current in the most loaded line: %s", line, x.Board, x.Currents()))
			}
		}
	case "limiters":
		if o.Limiter != nil {
			add(o.Limiter.Why)
		}
	case "boards":
		for _, b := range o.Boards {
			if b.Board == name {
				add(b.String())
			}
		}
		for _, x := range o.Surge {
			if x.Board == name {
				add("surge protection: " + x.String())
			}
		}
	case "points", "electrodes":
		for _, m := range o.Earthing {
			if m.Chosen > 0 {
				add(m.String())
			}
		}
	}
	return p
}

// Asked is what is asked of the ground at a job.
type Asked struct {
	Target    quantity.Ohms
	Soil      quantity.Maybe[quantity.OhmMetres] // of the lower layer where there are two; the job's own if not said
	Upper     quantity.Maybe[quantity.OhmMetres]
	Thickness quantity.Metres // of the upper layer
}

// Rod is a rod through two layers.
type Rod struct {
	Length     quantity.Metres `json:"length"`
	Resistance quantity.Ohms   `json:"resistance"`
}

// Ground is what electrodes the ground of a job allows.
type Ground struct {
	Soil       quantity.OhmMetres `json:"soil"`
	Target     quantity.Ohms      `json:"target"`
	Electrodes []Electrode        `json:"electrodes"`
	Single     string             `json:"single"` // the one rod that would do, or why none does
	Layers     []Rod              `json:"layers,omitempty"`
	Near       []string           `json:"near"` // buried metal beside the job's electrodes
	Lacks      finding.Lacks      `json:"notKnown"`
}

// Reaches reports that an electrode is good enough.
func (g Ground) Reaches(e Electrode) bool { return e.Resistance <= float64(g.Target) }

// Diameter and lengths of the rods that are tried one by one: sizes in common
// use, no source.
const rodDiameter quantity.Metres = 0.016

var rodLengths = []quantity.Metres{1.2, 2.4, 3.6, 4.8}

// StudyGround says which electrodes reach a resistance in the soil of a job, or
// in the soil that is given.
func StudyGround(m *model.Model, stock *Catalogue, a Asked) (Ground, error) {
	g := Ground{Target: a.Target, Near: []string{}, Lacks: finding.Lacks{}}
	soil, known := a.Soil.Get()
	for _, e := range m.Job.Electrodes {
		if rho, has := e.Soil.Get(); has && !known {
			soil, known = rho, true
		}
	}
	if !known {
		g.Lacks = append(g.Lacks, finding.Lack{Path: "electrodes", Of: "resistivity of the soil", What: "measure it with four pins"})
		return g, nil
	}
	g.Soil, g.Electrodes = soil, stock.Reaching(m.Rules, soil, a.Target)
	if l, err := neededLength(m.Rules, soil, rodDiameter, a.Target); err == nil {
		g.Single = fmt.Sprintf("a single rod of 16 mm needs %v", l)
	} else {
		g.Single = err.Error()
	}
	if upper, two := a.Upper.Get(); two {
		for _, l := range rodLengths {
			r, _, err := rodInLayers(m.Rules, upper, soil, a.Thickness, l, rodDiameter)
			if err != nil {
				return g, err
			}
			g.Layers = append(g.Layers, Rod{l, r})
		}
	}
	for _, e := range m.Job.Electrodes {
		d, ok := e.FromPME.Get()
		if !ok {
			g.Lacks = append(g.Lacks, noDistance(&e)...)
			continue
		}
		length := e.Length.Or(rodLengths[0])
		if share, _, err := m.Rules.MutualShare(length, e.Diameter.Or(rodDiameter), d); err == nil && e.Kind.Or(trade.Rod) == trade.Rod {
			g.Near = append(g.Near, fmt.Sprintf("electrode %s: metal %v away picks up %.1f %% of the voltage of a rod of %v", e.Name, d, 100*share, length))
		}
	}
	return g, nil
}

// Cautions that go with what is chosen.
const (
	GroundCaution = "A predicted electrode is measured before it is relied on, in the dry season if it can be. Locate buried services before anything is driven."
	RouteCaution  = "Cable sizes are nominal and makers vary: measure the cable at hand. Clips hold in a fire too (521.10.202)."
	PriceCaution  = "Prices and hours are those of the catalogue, round and invented. A qualified person answers for the design."
)
