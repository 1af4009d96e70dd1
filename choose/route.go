package choose

// The route of each circuit in things to fetch and distances to keep: bends,
// clips, glands, what a conduit or trunking must hold, lengths to cut.

import (
	"fmt"
	"math"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Route is what one circuit's cable asks of the way it takes.
type Route struct {
	Circuit string        `json:"circuit"`
	Cable   string        `json:"cable"`
	Cut     float64       `json:"cut"`            // m to cut, slack in
	Bend    float64       `json:"bend,omitempty"` // least inner radius, m
	Gland   string        `json:"gland,omitempty"`
	Ends    string        `json:"ends"`
	Legs    []LegRoute    `json:"legs"`
	Lacks   finding.Lacks `json:"notKnown,omitempty"`
}

// LegRoute is one leg of a route.
type LegRoute struct {
	Leg     string  `json:"leg"`
	Length  float64 `json:"length"`
	Clips   int     `json:"clips,omitempty"`
	Every   float64 `json:"every,omitempty"`   // m between clips, horizontal
	Upright float64 `json:"upright,omitempty"` // m between clips, vertical
	Cut     float64 `json:"cut,omitempty"`     // m to cut of the leg's own cable
	Holds   string  `json:"holds,omitempty"`   // smallest conduit or trunking that takes it
	Limit   string  `json:"limit,omitempty"`   // what speaks against this cable here
}

// slackShare and slackEnd are what is cut beyond the length of the route: 3 % of
// it and 0.5 m an end (common practice, no source).
const (
	slackShare = 0.03
	slackEnd   = 0.5
)

// cut returns what to cut for a length of route.
func cut(length float64) float64 {
	return math.Ceil((length*(1+slackShare)+2*slackEnd)*10) / 10
}

// conduits and trunkings are the sizes tried, smallest first: those of the
// space factors of the IET On-Site Guide.
var (
	conduits  = []float64{16, 20, 25, 32}
	trunkings = []string{"50x38", "50x50", "75x50", "75x75", "100x50", "100x75", "100x100"}
)

// Routes works out the route of every circuit that is not there already.
func Routes(m *model.Model) []Route {
	var out []Route
	for _, c := range m.Circuits {
		if !c.Record.Existing {
			out = append(out, routeOf(m, c))
		}
	}
	return out
}

func routeOf(m *model.Model, c *model.Circuit) Route {
	cable := &c.Record.Cable
	r := Route{Circuit: c.Record.Name, Cable: cableName(cable)}
	run := c.Length()
	csa, sized := cable.CSA.Get()
	if r.Lacks = finding.Gather(run.Lacks, c.Thing().Unless(sized, "cable/csa", "cable")); len(r.Lacks) > 0 {
		return r
	}
	length := run.Value
	for _, l := range c.Legs {
		if l.Cable != cable { // run in a cable of its own
			length -= l.Record.Length.Or(0)
		}
	}
	r.Cut = cut(float64(length))
	construction := cable.Construction.Or("")
	kind, cores := "non-armoured", cable.Cores.Or(1)
	if construction == standard.Armoured {
		kind = "armoured"
		gland, _, err := m.Rules.Gland(cores, csa)
		if err != nil {
			r.Lacks = append(r.Lacks, finding.Cannot(err.Error())...)
		}
		r.Gland = gland
	}
	wide, slim, note := outlines(m.Rules, cable)
	if note != "" {
		r.Lacks = append(r.Lacks, finding.Cannot(note)...)
	}
	if wide > 0 {
		bent := kind
		if construction == standard.Armoured && csa > 25 { // shaped cores, by the data sheets of the facts
			bent = "armoured, shaped conductors"
		}
		if bend, _, err := m.Rules.BendRadius(bent, wide); err == nil {
			r.Bend = float64(bend)
		}
	}
	r.Ends = ends(c, csa)
	for _, l := range c.Legs {
		r.Legs = append(r.Legs, legRoute(m, c, l, kind, slim))
	}
	return r
}

// outlines returns the overall measure of a cable that a bend is drawn from, and
// the one that clips are set by; 0 where none is known. A number of cores that
// is not tabulated lies between its neighbours: the bend is taken from the
// thicker, the clips from the slimmer, both on the safe side.
func outlines(rules *standard.Rulebook, cable *works.Cable) (bend, clip quantity.Metres, note string) {
	construction, csa := cable.Construction.Or(""), cable.CSA.Or(0)
	cores := cable.Cores.Or(1)
	if construction == standard.FlatTwin {
		cores = 3 // line, neutral and cpc
	}
	o, _, err := rules.Outline(construction, cores, csa)
	if err == nil {
		return o.Thickness, o.Width, ""
	}
	if construction == standard.Singles {
		return 0, 0, ""
	}
	if more, _, err := rules.Outline(construction, cores+1, csa); err == nil {
		bend = more.Thickness
	}
	if less, _, err := rules.Outline(construction, cores-1, csa); err == nil {
		clip = less.Width
	}
	note = err.Error()
	if bend > 0 || clip > 0 {
		note += "; what is given is by its neighbours, on the safe side"
	}
	return bend, clip, note
}

// ends says what is terminated: one ferrule or lug for each core at each end.
func ends(c *model.Circuit, csa quantity.SquareMillimetres) string {
	what := "ferrules"
	if csa > 16 {
		what = "lugs"
	}
	cores := c.PhaseCount() + 1
	text := fmt.Sprintf("%d %s of %v", 2*cores, what, csa)
	cpc := c.Record.Cable.CPC.Or(trade.CPCCore)
	if cpc != trade.CPCArmour {
		text += fmt.Sprintf(" and 2 for the cpc of %v", c.Record.Cable.CPCCSA.Or(csa))
	}
	return text
}

func legRoute(m *model.Model, c *model.Circuit, l *model.Leg, kind string, slim quantity.Metres) LegRoute {
	length := float64(l.Record.Length.Or(0))
	method := l.Record.Method.Or("")
	construction := l.Cable.Construction.Or("")
	out := LegRoute{Leg: l.ShortName(), Length: length}
	if own := l.Cable != &c.Record.Cable; own {
		_, slim, _ = outlines(m.Rules, l.Cable)
		out.Cut = cut(length)
	}
	switch {
	case method.Buried():
	case construction == standard.Singles:
		out.Holds = holds(m, c, l)
	case slim > 0:
		if s, _, err := m.Rules.ClipSpacing(kind, slim); err == nil {
			out.Every, out.Upright = float64(s.Horizontal), float64(s.Vertical)
			out.Clips = int(math.Ceil(length/out.Every)) + 1
		}
	}
	out.Limit = against(method, construction)
	return out
}

// against says what speaks against a cable by a method (BS 7671 521.10.1,
// 522.8.10).
func against(m standard.Method, c standard.Construction) string {
	switch {
	case m == standard.MethodDBuried && c != "" && c != standard.Armoured:
		return "laid in the ground it wants an earthed armour, or a duct (522.8.10)"
	case c == standard.Singles && m != standard.MethodA && m != standard.MethodB && m != standard.MethodDDuct:
		return "unsheathed singles want conduit, ducting or trunking (521.10.1)"
	}
	return ""
}

// holds returns the smallest conduit with two bends, and the smallest trunking,
// that take the singles of the circuit.
//
//	formula  Σ terms ≤ factor
//	source   IET On-Site Guide Appendix E, by package standard
func holds(m *model.Model, c *model.Circuit, l *model.Leg) string {
	line, cpc := l.Cable.CSA.Or(0), l.Cable.CPCCSA.Or(l.Cable.CSA.Or(0))
	n := float64(c.PhaseCount() + 1)
	sum := func(kind string) (float64, bool) {
		a, _, err1 := m.Rules.SpaceTerm(kind, line)
		b, _, err2 := m.Rules.SpaceTerm(kind, cpc)
		return n*a + b, err1 == nil && err2 == nil
	}
	var out []string
	if terms, ok := sum(standard.ConduitRun); ok {
		run := min(l.Record.Length.Or(0), 10) // a draw-in point every 10 m at most
		for _, size := range conduits {
			if f, _, err := m.Rules.ConduitFactor(size, run, 2); err == nil && terms <= f {
				out = append(out, fmt.Sprintf("conduit of %.0f mm with two bends, drawn in every %v at most (terms %.0f of %.0f)", size, run, terms, f))
				break
			}
		}
	}
	kind := standard.TrunkingStranded70
	if l.Cable.Insulation.Or("") == standard.Thermosetting90 {
		kind = standard.TrunkingStranded90
	}
	if terms, ok := sum(kind); ok {
		for _, size := range trunkings {
			if f, _, err := m.Rules.TrunkingFactor(size); err == nil && terms <= f {
				out = append(out, fmt.Sprintf("trunking of %s mm (terms %.0f of %.0f)", size, terms, f))
				break
			}
		}
	}
	if len(out) == 0 {
		return "no conduit or trunking of the tables takes it alone"
	}
	return strings.Join(out, ", or ")
}

// Lead is a clamp lead against the length its maker allows.
type Lead struct {
	Limiter string `json:"limiter"`
	Says    string `json:"says"`
}

// Leads returns what is known of each limiter's clamp lead.
func Leads(m *model.Model) []Lead {
	var out []Lead
	for i := range m.Job.Limiters {
		l := &m.Job.Limiters[i]
		lead, ok1 := l.ClampLead.Get()
		most, ok2 := l.ClampLeadMost.Get()
		says := "not known: length of the clamp lead, and the greatest its maker allows"
		switch {
		case ok1 && ok2 && lead <= most:
			says = fmt.Sprintf("clamp lead %v, %v to spare of the %v its maker allows", lead, most-lead, most)
		case ok1 && ok2:
			says = fmt.Sprintf("clamp lead %v, %v more than its maker allows", lead, lead-most)
		case ok2:
			says = fmt.Sprintf("clamp lead at most %v by its maker; its length is not known", most)
		}
		out = append(out, Lead{l.Name, says})
	}
	return out
}
