package drawing

import (
	"fmt"
	"strings"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

type standardFamily = standard.Family

// boardStations is a board, with what protects it as a whole.
func (l *line) boardStations(b *model.Board) []*station {
	r := b.Record
	s := &station{id: "board-" + r.Name, title: Named("Board", r.Name), symbol: boardSymbol(), lane: l.lane(), of: []string{r.Thing().Path}}
	s.knows(list(r.Place, said(s, "phases", r.Phases, phaseWords)))
	free, freeKnown := r.WaysFree.Get()
	ways, waysKnown := r.Ways.Get()
	switch {
	case freeKnown && waysKnown:
		s.knows(fmt.Sprintf("%d of %d ways free", free, ways))
	case freeKnown:
		s.knows(counted(free, "way free", "ways free"))
	default:
		s.lacks("ways free")
	}
	for i := range r.RCDs {
		d := &r.RCDs[i]
		s.knows("shared " + Named("RCD", d.Name) + ": " + rcdWords(&d.RCD))
	}
	for i := range r.Surge {
		d := &r.Surge[i]
		if declined, ok := d.Declined.Get(); ok && declined {
			s.knows("no surge protection: declined by the owner")
			continue
		}
		s.knows(list("surge protection", said(s, "type of surge protection", d.Type, with[trade.SurgeType]("type %s")),
			said(s, "connection of surge protection", d.Connection, with[trade.SurgeConnection]("%s"))))
	}
	if len(r.Surge) == 0 && b.Feed == nil {
		s.lacks("surge protection")
	}
	if n := len(b.Loads); n > 0 {
		s.knows(counted(n, "existing load", "existing loads") + " in the record")
	}
	l.limits(s, r.Name)
	return []*station{s}
}

func rcdWords(r *works.RCD) string {
	var parts []string
	if t, ok := r.Type.Get(); ok {
		parts = append(parts, "Type "+string(t))
	} else {
		parts = append(parts, "type not known")
	}
	if i, ok := r.Residual.Get(); ok {
		parts = append(parts, i.String())
	} else {
		parts = append(parts, "IΔn not known")
	}
	if i, ok := r.Rating.Get(); ok {
		parts = append(parts, "rated "+i.String())
	}
	if d, ok := r.Delayed.Get(); ok && d {
		parts = append(parts, "time delayed")
	}
	return strings.Join(parts, ", ")
}

// hasRCD reports whether anything is said of an RCD.
func hasRCD(r *works.RCD) bool { return r.Type.IsKnown() || r.Residual.IsKnown() || r.Rating.IsKnown() }

// deviceWords is the overcurrent and residual current protection of a circuit.
func deviceWords(c *model.Circuit) []string {
	d := &c.Record.Device
	var lines []string
	s := &station{}
	if text := list(said(s, "type of device", d.Type, plain[standard.Family]), said(s, "rating of device", d.Rating, plain[quantity.Amperes]),
		breaking(d), poles(d)); text != "" {
		lines = append(lines, text)
	}
	switch {
	case hasRCD(&c.Record.RCD):
		lines = append(lines, "RCD of its own: "+rcdWords(&c.Record.RCD))
	case c.Record.SharedRCD != "" && c.Record.SharedRCD != "none":
		lines = append(lines, "behind the shared RCD "+c.Record.SharedRCD)
	}
	return lines
}

func breaking(d *works.Device) string {
	if i, ok := d.BreakingCapacity.Get(); ok {
		return "breaks " + i.String()
	}
	return ""
}

func poles(d *works.Device) string {
	if p, ok := d.Poles.Get(); ok {
		return "opens " + string(p)
	}
	return ""
}

// cableWords is a cable.
func cableWords(cable *works.Cable) string {
	s := &station{}
	cores := ""
	if n, ok := cable.Cores.Get(); ok {
		cores = fmt.Sprintf("%d cores", n)
	}
	cpc := ""
	if k, ok := cable.CPC.Get(); ok {
		cpc = "cpc: " + string(k)
		if a, ok := cable.CPCCSA.Get(); ok {
			cpc += " " + a.String()
		}
	}
	return list(said(s, "", cable.CSA, plain[quantity.SquareMillimetres]), said(s, "", cable.Construction, plain[standard.Construction]), cores,
		said(s, "", cable.Insulation, plain[standard.Insulation]), said(s, "", cable.Material, plain[standard.Material]), cpc)
}

// circuitStations is the device, cable and legs of a circuit; of several
// circuits alike, drawn as one.
func (l *line) circuitStations(k *kind) []*station {
	c := k.paths[0][0]
	r := c.Record
	names, ways, phases := []string{}, []string{}, []string{}
	s := &station{id: "circuit-" + r.Name, lane: lanePE}
	for _, p := range k.paths {
		of := p[0].Record
		names = append(names, of.Name)
		if of.Way != "" {
			ways = append(ways, of.Way)
		}
		if set, ok := of.Phases.Get(); ok {
			phases = append(phases, string(set))
		}
		s.of = append(s.of, p[0].Thing().Path)
	}
	s.title = "Circuit " + Names(names)
	if len(names) > 1 {
		s.title = "Circuits " + Names(names)
	}
	if l.lane() == laneUnknown {
		s.lane = laneUnknown
	}
	s.symbol = breakerSymbol(hasRCD(&r.RCD))
	state := "new"
	if r.Existing {
		state = "existing"
	}
	way := ""
	switch {
	case len(ways) == 1:
		way = "way " + ways[0]
	case len(ways) > 1:
		way = "ways " + Names(ways)
	default:
		s.lacks("way")
	}
	s.knows(list(state, way, phaseList(phases)))
	for _, d := range deviceWords(c) {
		s.knows(d)
	}
	if !r.Device.Type.IsKnown() {
		s.lacks("type of device")
	}
	if !r.Device.Rating.IsKnown() {
		s.lacks("rating of device")
	}
	s.knows(cableWords(&r.Cable))
	if !r.Cable.CSA.IsKnown() {
		s.lacks("csa of the cable")
	}
	out := []*station{s}
	if len(c.Legs) == 0 {
		leg := &station{id: s.id + "-legs", title: "Cable run", symbol: cableSymbol(c.PhaseCount()), lane: s.lane, missing: []string{"its legs, with their lengths"}}
		return append(out, leg)
	}
	for i := range c.Legs {
		out = append(out, l.legStation(k, i, s.lane))
	}
	return out
}

// phaseList says which lines circuits are on; several, how many on each.
func phaseList(phases []string) string {
	if len(phases) == 0 {
		return ""
	}
	times := map[string]int{}
	for _, p := range phases {
		times[p]++
	}
	if len(times) == 1 {
		return phases[0]
	}
	var parts []string
	for _, p := range trade.PhaseSet("").Values() {
		if n := times[p]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d on %s", n, p))
		}
	}
	return strings.Join(parts, ", ")
}

func (l *line) legStation(k *kind, i int, lane earthLane) *station {
	c := k.paths[0][0]
	leg := c.Legs[i]
	name := leg.ShortName()
	s := &station{id: fmt.Sprintf("circuit-%s-leg-%d", c.Record.Name, i+1), title: "L" + name[1:],
		symbol: cableSymbol(c.PhaseCount()), lane: lane}
	var least, most quantity.Metres
	known := 0
	for _, p := range k.paths {
		of := p[0].Legs[i]
		s.of = append(s.of, of.Thing().Path)
		if m, ok := of.Record.Length.Get(); ok {
			if known == 0 || m < least {
				least = m
			}
			most = max(most, m)
			known++
		}
	}
	length := ""
	switch {
	case known > 0 && least == most:
		length = most.String()
	case known > 0:
		length = fmt.Sprintf("%v to %v", least, most)
	}
	if known < len(k.paths) {
		s.lacks("length")
	}
	s.knows(list(length, said(s, "method of installation", leg.Record.Method, with[standard.Method]("method %s"))))
	for _, text := range legConditions(leg)[1:] {
		s.knows(text)
	}
	if leg.Cable != &c.Record.Cable {
		s.knows("in " + cableWords(leg.Cable))
	}
	return s
}

// legConditions is what surrounds a leg, the method first.
func legConditions(l *model.Leg) []string {
	leg := l.Record
	out := []string{leg.Method.String()}
	add := func(text string) {
		if text != "" {
			out = append(out, text)
		}
	}
	s := &station{}
	add(said(s, "", leg.Ambient, with[quantity.Celsius]("surroundings %v")))
	if n, ok := leg.Together.Get(); ok && n > 1 {
		add(list(fmt.Sprintf("%d circuits together", n), said(s, "", leg.Arrangement, plain[standard.Arrangement])))
	}
	if m, ok := leg.Surrounded.Get(); ok && m > 0 {
		add(fmt.Sprintf("%v wholly in thermal insulation", m))
	}
	add(list(said(s, "", leg.Depth, with[quantity.Metres]("%v deep")), said(s, "", leg.Soil, with[quantity.KelvinMetresPerWatt]("soil %v"))))
	return out
}
