package choose

// Surge protection: where a device is needed along the line, and which.

import (
	"fmt"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
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
			metres, gap := sinceSurge(b)
			if gap != "" {
				s.gap("board %s: surge protection; %s", b.Record.Name, gap)
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
func sinceSurge(b *model.Board) (float64, string) {
	var sum float64
	for b.Feed != nil {
		l, gap := b.Feed.Length()
		if gap != "" {
			return 0, gap
		}
		sum += float64(l)
		b = b.Feed.From
		if b == nil || len(b.Record.Surge) > 0 {
			break
		}
	}
	return sum, ""
}

// putSurge chooses the cheapest device that suits the board, its backup in the
// price.
func (s *site) putSurge(b *model.Board, why string) {
	phases, ok := b.Record.Phases.Get()
	if !ok {
		s.gap("board %s: phases", b.Record.Name)
		return
	}
	ahead, ok := s.job.Supply.CutOut.Rating.Get()
	if b.Feed != nil {
		in, gap := b.Feed.Rated()
		ahead, ok = in, gap == ""
	}
	if !ok {
		s.gap("board %s: surge protection; the rating of the device ahead", b.Record.Name)
		return
	}
	perMetre, highest := s.limit("spd lead volts per metre"), s.limit("spd protection level")
	var best *SurgeRow
	cost := 0.0
	for i := range s.catalogue.Surge {
		row := &s.catalogue.Surge[i]
		if row.Phases != phases || row.Level+perMetre*(row.LiveLead+row.Earth) > highest {
			continue
		}
		price := s.catalogue.Cost(row.Work)
		if float64(ahead) > row.Backup {
			price += s.catalogue.Cost(s.catalogue.Sundries["surge device backup"])
		}
		if best == nil || price < cost {
			best, cost = row, price
		}
	}
	if best == nil {
		s.gap("board %s: a surge device of the catalogue that protects to %v", b.Record.Name, quantity.Volts(highest))
		return
	}
	d := job.Surge{Name: "surge device"}
	r := s.boardRecord(b.Record.Name)
	at := func(field string) []string { return []string{"boards", r.Name, "surge protection", d.Name, field} }
	fill(s, &d.Type, best.Type, string(best.Type), at("type")...)
	fill(s, &d.Connection, best.Connection, string(best.Connection), at("connection")...)
	fill(s, &d.ProtectionLevel, quantity.Volts(best.Level), exact(quantity.Volts(best.Level)), at("protection level")...)
	fill(s, &d.LiveLead, quantity.Metres(best.LiveLead), exact(quantity.Metres(best.LiveLead)), at("live lead")...)
	fill(s, &d.EarthLead, quantity.Metres(best.Earth), exact(quantity.Metres(best.Earth)), at("earth lead")...)
	fill(s, &d.GreatestBackup, quantity.Amperes(best.Backup), exact(quantity.Amperes(best.Backup)), at("greatest backup fuse")...)
	choice := SurgeChoice{Board: r.Name, Type: string(best.Type), Level: best.Level, Backup: best.Backup, Cost: cost, Asks: s.surgeRatings(best), Why: why}
	if float64(ahead) > best.Backup {
		choice.Own = best.Backup
		fill(s, &d.Device.Type, "BS 88-2 gG", "BS 88-2 gG", "boards", r.Name, "surge protection", d.Name, "device", "type")
		fill(s, &d.Device.Rating, quantity.Amperes(best.Backup), exact(quantity.Amperes(best.Backup)), "boards", r.Name, "surge protection", d.Name, "device",
			"rating")
	}
	r.Surge = append(r.Surge, d)
	s.assume("board %s: leads of the surge device %v live and %v earth, as designed; measure them as fitted", r.Name, quantity.Metres(best.LiveLead),
		quantity.Metres(best.Earth))
	s.out.Surge = append(s.out.Surge, choice)
}

// surgeRatings says what the data of a device must state at the least
// (BS 7671 Tables 534.2 to 534.4).
func (s *site) surgeRatings(row *SurgeRow) string {
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
