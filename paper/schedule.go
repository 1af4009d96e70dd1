package paper

import (
	"fmt"
	"strings"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// acrossPage is how many circuits stand side by side in a schedule.
const acrossPage = 4

// scheduled is one circuit of the schedule: its details and its results.
type scheduled struct {
	circuit *model.Circuit
	at      []string // where its readings may be written to
	details items
	results items
	gaps    []Gap // of readings that fail or are not explained
}

// boardSchedule is a board and the circuits of this work that start at it.
type boardSchedule struct {
	board    *model.Board
	items    items
	circuits []scheduled
	gaps     []Gap
}

// schedules is every board that feeds a circuit of this work.
func (c *certificate) schedules() []boardSchedule {
	var out []boardSchedule
	for _, b := range c.m.Boards {
		s := boardSchedule{board: b}
		for _, ct := range b.Circuits {
			if c.covers(ct) {
				s.circuits = append(s.circuits, c.scheduled(ct))
			}
		}
		if len(s.circuits) == 0 {
			continue
		}
		c.boardItems(&s)
		out = append(out, s)
	}
	return out
}

// covers reports that a circuit belongs to the work certified.
func (c *certificate) covers(ct *model.Circuit) bool {
	if names := c.m.Job.Certificate.Circuits; len(names) > 0 {
		return contains(names, ct.Record.Name)
	}
	return !ct.Record.Existing
}

// reading is a reading as an item of the schedule. A reading that is not there
// may stand as a limitation; one that fails or is not explained is a gap.
func (c *certificate) reading(at []string, about string, i item, gaps *[]Gap, names ...string) item {
	i.at, i.reading = at[len(at)-1], names[0]
	e, expected := c.readings.expected(at, names...)
	if expected {
		i.at, i.reading = e.At, e.Reading
	}
	n := c.readings.taken(at, names...)
	if n < 0 {
		if l, limited := c.readings.limited(at, names...); limited {
			i.value, i.note = "limited", join(l.Reason, before("agreed with ", l.Agreed))
		}
		return i
	}
	r := c.readings.job.Readings[n]
	i.value = r.Value
	if expected {
		var parts []string
		if e.Known() && e.Unit() != "" {
			parts = append(parts, "expected "+expectedText(e))
		}
		if !e.Limit.IsZero() {
			parts = append(parts, e.LimitIs+" "+e.Limit.String())
		}
		i.note = strings.Join(parts, "; ")
	}
	if g, bad := c.readings.held(n, e, about); bad {
		g.At, g.Reading = i.at, i.reading
		*gaps = append(*gaps, g)
	}
	if e.Unit() != "" && (r.Instrument == "" || r.Who == "") {
		*gaps = append(*gaps, Gap{Kind: wanting, About: about, What: r.Reading + ": instrument and who measured",
			Get: "complete the reading: instrument, who, when", Field: "instrument_serials", At: i.at, Reading: i.reading})
	}
	return i
}

func (c *certificate) boardItems(s *boardSchedule) {
	b := s.board
	r := b.Record
	about, here := "board "+r.Name, job.Under("boards", r.Name)
	at := []string{r.Name}
	origin := r.FedFrom == "supply"
	phases := r.Phases.Or(0)
	list := items{
		field("board_reference", r.Name),
		field("board_location", r.Place).under(here),
		field("board_phases", ifKnown("%d", r.Phases)).under(here),
	}
	if origin {
		list = append(list,
			field("board_fed_from: origin", ""),
			field("board_upstream_device: origin", join(ifKnown("%s", c.m.Job.Supply.CutOut.Type), ifKnown("%v", c.m.Job.Supply.CutOut.Rating))),
			field("board_ocpd_for_distribution: origin", ""),
			field("board_polarity_confirmed: origin", confirmed(c.m.Job.Supply.Polarity, "confirmed")),
			field("board_Zdb: origin", before("the origin: Ze ", lookup(say(c.m.Job.Supply.Ze.Value)))))
	} else {
		fed, device, rcd, feeding := "", "", "none recorded", "circuits"
		if f := b.Feed; f != nil {
			feeding = job.Under("circuits", f.Record.Name)
			fed = join(f.Record.From, before("way ", f.Record.Way))
			device = allOf(ifKnown("%s", f.Record.Device.Type), ifKnown("%v", f.Record.Device.Rating))
			rcd = orElse(rcdText(&f.Record.RCD), "none recorded")
			at = append(at, f.Record.Name)
		}
		list = append(list,
			field("board_fed_from", fed),
			field("board_upstream_device", device).under(feeding),
			field("board_ocpd_for_distribution", rcd),
			c.reading(at, about, field("board_polarity_confirmed", "").named(r.Name), &s.gaps, "polarity"),
			c.reading(at, about, field("board_Zdb", "").named(r.Name), &s.gaps, "Zs"))
	}
	sequence := field("board_phase_sequence_confirmed: single-phase", "")
	if phases == 3 {
		sequence = c.reading(at[:1], about, field("board_phase_sequence_confirmed", "").named(r.Name), &s.gaps, "phase sequence")
	}
	ipf := c.reading(at[:1], about, field("board_Ipf", "").named(r.Name), &s.gaps, "Ipf")
	if ipf.missing() && origin {
		ipf.value, ipf.note = lookup(say(c.m.Job.Supply.Ipf.Value)), "as at the origin"
	}
	list = append(list, sequence, ipf)
	surge := field("spd_indicator_ok: none", "")
	if len(r.Surge) > 0 && !r.Surge[0].Declined.Or(false) {
		var kinds []string
		for _, d := range r.Surge {
			kinds = append(kinds, join(d.Name, ifKnown("Type %s", d.Type)))
		}
		surge = c.reading(at[:1], about, field("spd_indicator_ok", "").named(r.Name), &s.gaps, "SPD indicator")
		if surge.value != "" {
			surge.value, surge.note = strings.Join(kinds, "; ")+", indicator "+surge.value, ""
		}
	}
	s.items = append(list, surge, field("board_spd_types_status", ""), field("spd_type_and_status", "")) // both stand in the line above
}

// wiringCode is the letter of the standard's list of wiring types.
func wiringCode(cable *job.Cable) (code, says string) {
	thermosetting := cable.Insulation.Or("") == standard.Thermosetting90
	switch construction, ok := cable.Construction.Get(); {
	case !ok:
		return "", ""
	case construction == standard.Armoured && thermosetting:
		return "G", "thermosetting, armoured"
	case construction == standard.Armoured:
		return "F", "thermoplastic, armoured"
	case construction == standard.FlatTwin:
		return "A", "thermoplastic, insulated and sheathed"
	default:
		return "O", "other: " + string(construction)
	}
}

// scheduled gathers the details and results of one circuit.
func (c *certificate) scheduled(ct *model.Circuit) scheduled {
	r := ct.Record
	where, here := "circuit "+r.Name, job.Under("circuits", r.Name)
	s := scheduled{circuit: ct, at: []string{r.Name, r.To}}
	wiring := perCable(ct, func(of []*model.Leg) string { code, _ := wiringCode(of[0].Cable); return code })
	wiringSays := perCable(ct, func(of []*model.Leg) string { _, says := wiringCode(of[0].Cable); return says })
	var methods []string
	for _, l := range ct.Legs {
		methods = append(methods, ifKnown("%s", l.Record.Method))
	}
	serves, points := r.To, 1
	if ct.Board != nil {
		serves = "board " + r.To
		points = len(ct.Finals())
	}
	limit, limitNote := "", ""
	if z, known := ct.GreatestZs().Get(); known {
		limit, limitNote = model.RoundDown(z).String(), "hot, by the overcurrent device"
	}
	if ct.Earthing().Value == job.TT {
		limit = ""
		if z, known := ct.GreatestZsByRCD().Get(); known {
			limit, limitNote = z.String(), "by the RCD"
		}
	}
	rcd, fitted := ct.RCD()
	rcdItem := field("rcd_standard_type_IdeltaN_rating: none", "")
	if fitted {
		own := "shared or ahead"
		if r.RCD.Residual.IsKnown() {
			own = "its own"
			if strings.Contains(string(r.Device.Type.Or("")), "61009") {
				own = "its own, BS EN 61009"
			}
		}
		rcdItem = field("rcd_standard_type_IdeltaN_rating",
			allOf(ifKnown("Type %s", rcd.Type), ifKnown("%v", rcd.Residual), orElse(ifKnown("%v", rcd.Rating), "rating of the device"))).under(here).noted(own)
	}
	phase := field("circuit_phase", ifKnown("%s", r.Phases)).named(where).under(here)
	s.details = items{
		field("circuit_number", r.Way).named(where).under(here),
		field("circuit_description", serves).named(where).under(here),
		phase,
		field("wiring_type_code", wiring).named(where).under(here).noted(wiringSays),
		field("reference_method", strings.Join(unique(methods), ", ")).named(where).under(here),
		field("points_served", itoa(points)),
		field("live_csa", perCable(ct, func(of []*model.Leg) string { return ifKnown("%v", of[0].Cable.CSA) })).named(where).under(here),
		field("cpc_csa", perCable(ct, cpcOf)).named(where).under(here),
		field("ocpd_standard_type_rating", allOf(ifKnown("%s", r.Device.Type), ifKnown("%v", r.Device.Rating))).named(where).under(here),
		field("ocpd_breaking_capacity", ifKnown("%v", r.Device.BreakingCapacity)).named(where).under(here),
		field("max_permitted_Zs", limit).named(where).under(here).noted(limitNote),
		rcdItem,
	}
	c.resultItems(&s, where)
	return s
}

// perCable prints something of each cable of a circuit: once where all its legs
// are alike in it, else leg by leg, and nothing where one of them does not say it.
func perCable(ct *model.Circuit, says func(legs []*model.Leg) string) string {
	if len(ct.Legs) == 0 {
		return says([]*model.Leg{{Cable: &ct.Record.Cable}})
	}
	var parts, names []string
	at := map[string]int{}
	for i := 0; i < len(ct.Legs); {
		from := i
		for i++; i < len(ct.Legs) && ct.Legs[i].Cable == ct.Legs[from].Cable; i++ {
		}
		of := ct.Legs[from:i]
		part := says(of)
		if part == "" {
			return ""
		}
		k, seen := at[part]
		if !seen {
			k = len(parts)
			at[part] = k
			parts, names = append(parts, part), append(names, "")
		}
		for _, l := range of {
			names[k] = join(names[k], l.ShortName())
		}
	}
	if len(parts) > 1 {
		for k := range parts {
			parts[k] = names[k] + ": " + parts[k]
		}
	}
	return strings.Join(parts, "; ")
}

// cpcOf prints what serves as protective conductor in legs of one cable, csa
// where it is known.
func cpcOf(legs []*model.Leg) string {
	cable := legs[0].Cable
	csa := ifKnown("%v", cable.CPCCSA)
	for _, l := range legs {
		if csa == "" && l.CPC.Known() && l.CPC.CSA > 0 {
			csa = l.CPC.CSA.String()
		}
	}
	what := ifKnown("%s", cable.CPC)
	if what == "" && cable.Construction.Or("") == standard.FlatTwin {
		what = "core"
	}
	return join(what, csa)
}

// gaps lists what keeps a board's schedule from standing.
func (s *boardSchedule) allGaps() []Gap {
	out := append(s.items.gaps("board "+s.board.Record.Name), s.gaps...)
	for _, one := range s.circuits {
		about := "circuit " + one.circuit.Record.Name
		out = append(out, one.details.gaps(about)...)
		out = append(out, one.results.gaps(about)...)
		out = append(out, one.gaps...)
	}
	return out
}

// blocks prints a board's schedule: the board, then its circuits side by side,
// as many to a table as the page takes.
func (s *boardSchedule) blocks() []document.Block {
	out := []document.Block{document.Subheading{Text: drawing.Named("Board", s.board.Record.Name)}, s.items.facts()}
	for from := 0; from < len(s.circuits); from += acrossPage {
		group := s.circuits[from:min(from+acrossPage, len(s.circuits))]
		var names []string
		for _, one := range group {
			names = append(names, one.circuit.Record.Name)
		}
		title := fmt.Sprintf("%s: %s", drawing.Named("Board", s.board.Record.Name), strings.Join(names, ", "))
		out = append(out, document.Subheading{Text: title + ", details"}, sideBySide(group, func(one scheduled) items { return one.details }),
			document.Subheading{Text: title + ", test results"}, sideBySide(group, func(one scheduled) items { return one.results }))
	}
	return out
}

// sideBySide sets circuits in columns, one item a row; under a reading stands
// what was expected of it and its limit.
func sideBySide(group []scheduled, list func(scheduled) items) document.Block {
	if len(group) == 1 {
		return list(group[0]).facts()
	}
	t := document.Table{Columns: []document.Column{{Head: "Circuit", Share: 34}}}
	for _, one := range group {
		t.Columns = append(t.Columns, document.Column{Head: one.circuit.Record.Name, Share: 36})
	}
	for i, first := range list(group[0]) {
		if first.what == "" {
			continue
		}
		row := document.Row{Cells: []document.Cell{{Text: first.what}}}
		for _, one := range group {
			it := list(one)[i]
			cell := document.Cell{Text: withNote(it.value, it.note)}
			if it.missing() {
				cell = document.Cell{Text: notKnown, Bold: true}
			}
			row.Cells = append(row.Cells, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// withNote puts a note in brackets behind a value.
func withNote(value, note string) string {
	if note == "" || value == "" {
		return value
	}
	return value + " (" + note + ")"
}
