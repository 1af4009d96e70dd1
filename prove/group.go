package prove

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// group is hypotheses that no measurement on the list can tell apart.
type group struct {
	members []*hypothesis
	chance  float64
	other   bool   // all the unlikely ones together
	none    bool   // none of those on the list
	title   string // in place of its members' words
}

// words names a group: its likeliest member.
func (g *group) words() string {
	switch {
	case g.title != "":
		return g.title
	case g.other:
		return "something else"
	case g.none:
		return "none of the causes on the list"
	case len(g.members[0].parts) == 0:
		return "no fault shows in these readings"
	}
	var parts []string
	for _, p := range g.members[0].parts {
		parts = append(parts, p.words())
	}
	return strings.Join(parts, ", and ")
}

// words names a cause and its place.
func (p supposed) words() string {
	if p.where.about != "" {
		return strings.Replace(p.cause.words, "this reading", p.where.about, 1)
	}
	switch p.where.name {
	case "", "site", "supply", "no-trip readings":
		return p.cause.words
	}
	if p.cause.places == "instrument" {
		return p.cause.words + " (" + p.where.name + ")"
	}
	text := p.cause.words + ", " + p.where.name
	if p.where.run != nil && len(p.where.run.lines) > 1 && p.cause.places == "line" {
		text += [3]string{" L1", " L2", " L3"}[p.where.phase]
	}
	return text
}

// groupUp puts the likelier hypotheses into groups, and the rest into one.
func (b *bench) groupUp(all []hypothesis) []group {
	const least, most = 0.003, 14
	var kept []*hypothesis
	rest := group{other: true}
	for i := range all {
		h := &all[i]
		switch {
		case h.chance >= least && len(kept) < most && (len(h.parts) == 0 || b.explains(h)): // of others the readings say nothing
			kept = append(kept, h)
		default:
			if len(rest.members) < 4 {
				rest.members = append(rest.members, h)
			}
			rest.chance += h.chance
		}
	}
	var places []where
	for _, h := range kept {
		for _, p := range h.parts {
			places = append(places, b.placeOf(p))
		}
	}
	var groups []group
	var shows [][]float64
	b.listed = b.candidates(places)
	cs := b.listed
	noise := make([]float64, len(cs))
	for k, c := range cs {
		r, _ := b.sound.row(c.question)
		noise[k] = r.noise
	}
	for _, h := range kept {
		show := make([]float64, len(cs))
		if b.explains(h) {
			s := b.solved(h, h.best())
			for k, c := range cs {
				show[k] = b.shows(s, c.question)
			}
		}
		joined := false
		for g := range groups {
			first := groups[g].members[0]
			apart := h.none || first.none || h.inUse() || first.inUse()
			if !apart && len(first.parts) == len(h.parts) && b.explains(h) && b.explains(first) && near(show, shows[g], noise) {
				groups[g].members = append(groups[g].members, h)
				groups[g].chance += h.chance
				joined = true
				break
			}
		}
		if !joined {
			groups = append(groups, group{members: []*hypothesis{h}, chance: h.chance, none: h.none})
			shows = append(shows, show)
		}
	}
	slices.SortStableFunc(groups, func(a, c group) int { return cmp.Compare(c.chance, a.chance) })
	foremost(groups)
	if len(rest.members) > 0 {
		groups = append(groups, rest)
	}
	return groups
}

// inUse reports a cause that is nothing of the wiring, or of wiring that the
// record does not hold: no measurement tells it, and it is told from others by
// looking.
func (h *hypothesis) inUse() bool {
	return slices.ContainsFunc(h.parts, func(p supposed) bool { return p.cause.is == "use" })
}

// foremost puts a danger before a harmless cause that is hardly likelier: what
// is named first is what is acted on.
func foremost(groups []group) {
	const hardly = 0.5 // of its share
	if len(groups) == 0 || groups[0].dangerous() || groups[0].none {
		return
	}
	for i := range groups {
		if g := groups[i]; g.dangerous() && g.chance >= hardly*groups[0].chance {
			copy(groups[1:i+1], groups[:i])
			groups[0] = g
			return
		}
	}
}

// explains reports whether the readings speak for a hypothesis at all: one that
// they do not touch is not known rather than likely.
func (b *bench) explains(h *hypothesis) bool {
	return h.none || len(h.parts) > 0 && h.log-h.prior > b.soundLog+0.7
}

// shows is what a hypothesis at its best size makes of a measurement.
func (b *bench) shows(s *solved, q *question) float64 {
	mean, _, ok := b.expect(s, q)
	if !ok {
		return math.Inf(1)
	}
	return mean
}

func near(a, b, noise []float64) bool {
	for i := range a {
		if d := math.Abs(a[i] - b[i]); d > 1.5*max(noise[i], 0.02*math.Abs(a[i])) && !math.IsInf(a[i], 0) {
			return false
		}
	}
	return true
}
