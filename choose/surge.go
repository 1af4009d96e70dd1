package choose

// Surge protection: where a device is needed along the line, and which.

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// SurgeChoice is a surge protective device chosen for a board.
type SurgeChoice struct {
	Board  string  `json:"board"`
	Type   string  `json:"type"`
	Level  float64 `json:"level"`         // Up, V
	Backup float64 `json:"backup"`        // greatest overcurrent device ahead, A
	Own    float64 `json:"own,omitempty"` // rating of a device of its own, where the one ahead is too large
	Cost   float64 `json:"cost"`
	Asks   string  `json:"asks"` // the ratings its data must state
	Why    string  `json:"why"`
}

// chooseSurge puts a device at each board at the origin that has none, and at
// each board further from the last device than the rules' distance
// (BS 7671 443.4.1, 534.4.9). A refusal on record is left alone.
func (s *site) chooseSurge() {
	for _, b := range s.model.Boards {
		for _, d := range b.Record.Surge {
			if d.Declined.Or(false) {
				return
			}
		}
	}
	distance := s.limit("spd distance")
	for _, b := range s.model.Boards {
		if len(b.Record.Surge) > 0 || b.Record.FedFrom == "" && b.Feed == nil {
			continue
		}
		why := "at the origin: required unless the owner declines it"
		if b.Feed != nil {
			metres, lacks := sinceSurge(b)
			if len(lacks) > 0 {
				s.lack(forSurge(b, lacks))
				continue
			}
			if metres <= distance {
				continue
			}
			why = fmt.Sprintf("%v of cable from the device ahead, more than %v", quantity.Metres(metres), quantity.Metres(distance))
		}
		s.putSurge(b, why)
	}
}

// sinceSurge returns the cable between a board and the nearest one ahead that
// has a surge device.
func sinceSurge(b *model.Board) (float64, finding.Lacks) {
	var sum float64
	for b.Feed != nil {
		l := b.Feed.Length()
		if !l.Known() {
			return 0, l.Lacks
		}
		sum += float64(l.Value)
		b = b.Feed.From
		if b == nil || len(b.Record.Surge) > 0 {
			break
		}
	}
	return sum, nil
}

// forSurge says what lacks are wanted for.
func forSurge(b *model.Board, lacks finding.Lacks) finding.Lacks {
	out := finding.Gather(lacks)
	for i, l := range out {
		out[i].Of, out[i].What = b.Record.Thing().Name, "surge protection; "+l.String()
	}
	return out
}

// putSurge chooses the cheapest device that suits the board, its backup in the
// price.
func (s *site) putSurge(b *model.Board, why string) {
	phases, ok := b.Record.Phases.Get()
	if !ok {
		s.lack(b.Record.Thing().Lack("phases", "phases"))
		return
	}
	ahead, lacks := s.job.Supply.CutOut.Rating.Or(0), s.model.NoFuse()
	if b.Feed != nil {
		in := b.Feed.Rated()
		ahead, lacks = in.Value, in.Lacks
	}
	if len(lacks) > 0 {
		s.lack(forSurge(b, lacks))
		return
	}
	perMetre, highest := s.limit("spd lead volts per metre"), s.limit("spd protection level")
	var best *surgeRow
	cost := 0.0
	for i := range s.catalogue.Surge {
		row := &s.catalogue.Surge[i]
		if row.Phases != phases || row.Level+perMetre*(row.LiveLead+row.Earth) > highest {
			continue
		}
		price := s.catalogue.Cost(row.outlay)
		if float64(ahead) > row.Backup {
			price += s.catalogue.Cost(s.catalogue.Sundries["surge device backup"])
		}
		if best == nil || price < cost {
			best, cost = row, price
		}
	}
	if best == nil {
		s.lack(b.Record.Thing().Lack("surge protection", fmt.Sprintf("a surge device of the catalogue that protects to %v", quantity.Volts(highest))))
		return
	}
	d := works.Surge{Name: "surge device"}
	r := s.boardRecord(b.Record.Name)
	at := func(field string) []string { return []string{"boards", r.Name, "surge protection", d.Name, field} }
	fill(s, &d.Type, best.Type, string(best.Type), at("type")...)
	fill(s, &d.Connection, best.Connection, string(best.Connection), at("connection")...)
	fill(s, &d.ProtectionLevel, quantity.Volts(best.Level), exact(quantity.Volts(best.Level)), at("protection level")...)
	fill(s, &d.LiveLead, quantity.Metres(best.LiveLead), exact(quantity.Metres(best.LiveLead)), at("live lead")...)
	class := "type 2"
	if best.Type == "1" || best.Type == "1+2" {
		class = "type 1"
	}
	live, earth := quantity.SquareMillimetres(s.limit("spd live lead "+class)), quantity.SquareMillimetres(s.limit("spd earth lead "+class))
	fill(s, &d.LiveCSA, live, exact(live), at("live lead csa")...)
	fill(s, &d.EarthCSA, earth, exact(earth), at("earth lead csa")...)
	fill(s, &d.EarthLead, quantity.Metres(best.Earth), exact(quantity.Metres(best.Earth)), at("earth lead")...)
	fill(s, &d.GreatestBackup, quantity.Amperes(best.Backup), exact(quantity.Amperes(best.Backup)), at("greatest backup fuse")...)
	choice := SurgeChoice{Board: r.Name, Type: string(best.Type), Level: best.Level, Backup: best.Backup, Cost: cost, Asks: s.surgeRatings(best), Why: why}
	if float64(ahead) > best.Backup {
		choice.Own = best.Backup
		fill(s, &d.Device.Type, "BS 88-2 gG", "BS 88-2 gG", "boards", r.Name, "surge protection", d.Name, "device", "type")
		fill(s, &d.Device.Rating, quantity.Amperes(best.Backup), exact(quantity.Amperes(best.Backup)), "boards", r.Name, "surge protection", d.Name, "device",
			"rating")
		if breaks, _, err := s.rules.BreakingCapacity(standard.Device{Family: standard.FuseGG, Rating: quantity.Amperes(best.Backup)}); err == nil {
			fill(s, &d.Device.BreakingCapacity, breaks, exact(breaks), "boards", r.Name, "surge protection", d.Name, "device", "breaking capacity")
		}
	}
	r.Surge = append(r.Surge, d)
	s.assume("board %s: leads of the surge device %v live and %v earth, as designed; measure them as fitted", r.Name, quantity.Metres(best.LiveLead),
		quantity.Metres(best.Earth))
	s.out.Surge = append(s.out.Surge, choice)
}

// surgeRatings says what the data of a device must state at the least
// (BS 7671 Tables 534.2 to 534.4).
func (s *site) surgeRatings(row *surgeRow) string {
	neutral := "spd nominal discharge current neutral single"
	if row.Phases == 3 {
		neutral = "spd nominal discharge current neutral three"
	}
	text := fmt.Sprintf("Uc %v; In %v line to neutral and %v neutral to earth (8/20)", quantity.Volts(s.limit("spd uc")),
		quantity.Amperes(s.limit("spd nominal discharge current")), quantity.Amperes(s.limit(neutral)))
	if row.Type == "1+2" || row.Type == "1" {
		text += fmt.Sprintf("; Iimp %v (10/350)", quantity.Amperes(s.limit("spd impulse current")))
	}
	return text + fmt.Sprintf("; leads of %v live and %v earth", quantity.SquareMillimetres(s.limit("spd live lead type 2")),
		quantity.SquareMillimetres(s.limit("spd earth lead type 2")))
}
