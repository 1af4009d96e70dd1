package choose

// Boards: ways used and left, and the heat of a row of loaded devices.

import (
	"fmt"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/works"
)

// BoardChoice says how full and how hot a board becomes.
type BoardChoice struct {
	Board     string  `json:"board"`
	Used      int     `json:"used"` // ways of the new circuits
	Left      int     `json:"left"` // ways
	Diversity float64 `json:"diversity"`
	Assumed   float64 `json:"assumedLoading"` // what the product standard assumes for so many circuits
	Bought    bool    `json:"bought"`
	Cost      float64 `json:"cost"`
	Why       string  `json:"why"`
}

// waysOf counts the ways that new circuits of a board need, one for each line.
func waysOf(b *model.Board) (ways, circuits int) {
	for _, c := range b.Circuits {
		circuits++
		if !c.Record.Existing {
			ways += max(1, c.PhaseCount())
		}
	}
	return ways, circuits
}

// chooseBoards gives every board that has no number of ways the cheapest of the
// catalogue that has enough, and stands the fault current of the origin, which
// is never less than its own.
func (s *site) chooseBoards(least map[string]int) {
	for _, b := range s.model.Boards {
		ways, circuits := waysOf(b)
		r := b.Record
		choice := BoardChoice{Board: r.Name, Used: ways}
		choice.Assumed, _ = s.rules.AssumedLoading(circuits)
		if !r.Ways.IsKnown() && !r.DiversityFactor.IsKnown() {
			best := s.boardFor(r, max(ways, least[r.Name]))
			if best == nil {
				s.lack(r.Thing().Lack("ways", fmt.Sprintf("a board of the catalogue with %d ways for %s", ways, s.job.Supply.Ipf.Value)))
				continue
			}
			at := func(field string) []string { return []string{"boards", r.Name, field} }
			fill(s, &r.Ways, best.Ways, fmt.Sprint(best.Ways), at("ways")...)
			fill(s, &r.WaysFree, best.Ways, fmt.Sprint(best.Ways), at("ways free")...)
			fill(s, &r.Rated, quantity.Amperes(best.Rated), exact(quantity.Amperes(best.Rated)), at("rated current")...)
			fill(s, &r.ShortCircuitRating, quantity.Amperes(best.Capacity), exact(quantity.Amperes(best.Capacity)), at("short-circuit rating")...)
			fill(s, &r.DiversityFactor, best.Diversity, fmt.Sprint(best.Diversity), at("rated diversity factor")...)
			choice.Bought, choice.Cost = true, s.catalogue.Cost(best.outlay)
		}
		choice.Diversity = r.DiversityFactor.Or(0)
		if free, ok := r.WaysFree.Get(); ok {
			choice.Left = free - ways
		}
		if choice.Diversity > 0 {
			choice.Why = heat(choice.Diversity)
			if circuits > 1 {
				choice.Why += fmt.Sprintf("; of %d circuits the product standard assumes %.2g where the maker states nothing", circuits, choice.Assumed)
			}
		}
		s.out.Boards = append(s.out.Boards, choice)
	}
}

// shortOfWays counts the ways of the devices chosen, notes them, and reports
// whether a board that was to be bought has too few; least then says what it
// must have.
func (s *site) shortOfWays(least map[string]int) bool {
	again := false
	for i := range s.out.Boards {
		b := &s.out.Boards[i]
		used, whole := 0, true
		for _, c := range s.circuits {
			if c.model.From == nil || c.model.From.Record.Name != b.Board || c.model.Record.Existing {
				continue
			}
			used += c.ways
			whole = whole && c.ways > 0
		}
		if !whole {
			continue
		}
		if b.Left += b.Used - used; b.Left < 0 {
			if b.Bought {
				if !s.enlarge(b, used) {
					least[b.Board], again = used, true
				}
			} else if s.boardRecord(b.Board).WaysFree.IsKnown() {
				s.lack(s.boardRecord(b.Board).Thing().Lack("ways free", fmt.Sprintf("%d more ways for the devices chosen, or another board", -b.Left)))
			}
		}
		b.Used = used
	}
	return again
}

// enlarge puts a larger board of the same rated diversity factor in the place
// of one that was bought too small, which changes nothing for its circuits.
func (s *site) enlarge(b *BoardChoice, ways int) bool {
	r := s.boardRecord(b.Board)
	row := s.boardFor(r, ways)
	if row == nil || row.Diversity != b.Diversity {
		return false
	}
	b.Left += row.Ways - r.Ways.Or(0)
	b.Cost = s.catalogue.Cost(row.outlay)
	for field, value := range map[string]string{"ways": fmt.Sprint(row.Ways), "ways free": fmt.Sprint(row.Ways),
		"rated current": exact(quantity.Amperes(row.Rated)), "short-circuit rating": exact(quantity.Amperes(row.Capacity))} {
		path := pathTo("boards", r.Name, field)
		for i := range s.out.Settings {
			if s.out.Settings[i].Path == path {
				s.out.Settings[i].Value = value
			}
		}
	}
	r.Rated = quantity.Known(quantity.Amperes(row.Rated))
	r.Ways, r.WaysFree, r.ShortCircuitRating = quantity.Known(row.Ways), quantity.Known(row.Ways), quantity.Known(quantity.Amperes(row.Capacity))
	return true
}

// boardFor returns the cheapest board of the catalogue with so many ways that
// stands the fault current of the origin.
func (s *site) boardFor(r *works.Board, ways int) *boardRow {
	if len(s.model.Doubted("supply/Ipf")) > 0 {
		return nil
	}
	ipf := float64(s.job.Supply.Ipf.Value.Or(0))
	var best *boardRow
	for i := range s.catalogue.Boards {
		row := &s.catalogue.Boards[i]
		if row.Phases == r.Phases.Or(0) && row.Ways >= ways && row.Capacity >= ipf && (best == nil || s.catalogue.Cost(row.outlay) < s.catalogue.Cost(best.outlay)) {
			best = row
		}
	}
	return best
}

// heat says why a device larger than its point is taken.
//
//	formula  Ib ≤ In × RDF
//	source   BS EN 61439-1; BS 7671 536.4.3
func heat(rdf float64) string {
	return fmt.Sprintf("beside neighbours loaded for hours a device carries %.2g of its rating: 32 A gives %.3g A, 40 A gives %.3g A", rdf, 32*rdf, 40*rdf)
}
