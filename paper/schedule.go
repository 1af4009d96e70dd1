package paper

import (
	"slices"
	"strings"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/model"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

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
	about, here := "board "+r.Name, works.Under("boards", r.Name)
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
			field("board_Zdb: origin", before("the origin: Ze ", ifKnown("%v", c.m.Job.Supply.Ze.Value))))
	} else {
		fed, device, rcd, feeding := "", "", "none recorded", "circuits"
		if f := b.Feed; f != nil {
			feeding = works.Under("circuits", f.Record.Name)
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
		ipf.value, ipf.note = ifKnown("%v", c.m.Job.Supply.Ipf.Value), "as at the origin"
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
func wiringCode(cable *works.Cable) (code, says string) {
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
	where, here := "circuit "+r.Name, works.Under("circuits", r.Name)
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
	if ct.Earthing().Value == trade.TT {
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
			if r.Device.Type.Or("").Residual() {
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

// headed is a column of the schedule: an item of each circuit under a short head.
type headed struct {
	key, head string
	share     float64
}

// detailsAcross and resultsAcross are the schedule as it lies on its side, one
// line a circuit.
var (
	detailsAcross = []headed{{"circuit_number", "Way", 10}, {"circuit_description", "Serves", 22}, {"circuit_phase", "Lines", 16},
		{"wiring_type_code", "Wiring", 34},
		{"reference_method", "Method", 22}, {"points_served", "Points", 12}, {"live_csa", "Live", 18}, {"cpc_csa", "cpc", 26},
		{"ocpd_standard_type_rating", "Overcurrent device", 36}, {"ocpd_breaking_capacity", "Breaks", 14}, {"max_permitted_Zs", "Zs at most", 16},
		{"rcd_standard_type_IdeltaN_rating", "RCD", 32}}
	resultsAcross = []headed{{"circuit_number", "Way", 10}, {"circuit_description", "Serves", 22}, {"R1_plus_R2", "R1+R2", 22}, {"R2", "R2", 24},
		{"IR_test_voltage", "Insulation at", 20}, {"IR_live_live", "Live to live", 22}, {"IR_live_earth", "Live to earth", 22}, {"polarity_ok", "Polarity", 18},
		{"Zs_max_measured", "Zs, highest", 20}, {"rcd_time", "RCD at IΔn", 20}, {"rcd_button_ok", "RCD button", 20}, {"tester_name_sign_date", "By, when", 38}}
)

// blocks prints a board's schedule: the board, then a line a circuit for its
// details and one for its results. What is the same of all stands below, once;
// what differs besides runs under the circuit's line.
func (s *boardSchedule) blocks() []document.Block {
	return []document.Block{document.Subheading{Text: drawing.Named("Board", s.board.Record.Name)}, s.items.fields(),
		s.across(detailsAcross, func(one scheduled) items { return one.details }),
		s.across(resultsAcross, func(one scheduled) items { return one.results }),
		s.besides().fields()}
}

// across sets one line a circuit.
func (s *boardSchedule) across(columns []headed, list func(scheduled) items) document.Table {
	t := document.Table{}
	for _, c := range columns {
		t.Columns = append(t.Columns, document.Column{Head: c.head, Share: c.share})
	}
	for _, one := range s.circuits {
		var row document.Row
		for _, c := range columns {
			cell := document.Cell{Text: notKnown, Bold: true}
			for _, i := range append(slices.Clone(one.details), list(one)...) {
				if i.key == c.key && !i.missing() {
					cell = document.Cell{Text: i.value}
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		for _, i := range list(one) {
			if i.value != "" && !slices.ContainsFunc(columns, func(c headed) bool { return c.key == i.key }) && !s.alike(i.key) {
				row.Under = append(row.Under, document.Note{Label: i.what, Text: withNote(i.value, i.note)})
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// alike reports whether an item says the same of every circuit.
func (s *boardSchedule) alike(key string) bool {
	first, found := "", false
	for _, one := range s.circuits {
		for _, i := range append(slices.Clone(one.details), one.results...) {
			switch {
			case i.key != key:
			case !found:
				first, found = withNote(i.value, i.note), true
			case withNote(i.value, i.note) != first:
				return false
			}
		}
	}
	return found
}

// besides is what has no column and says the same of every circuit.
func (s *boardSchedule) besides() items {
	var out items
	first := s.circuits[0]
	for _, i := range append(slices.Clone(first.details), first.results...) {
		inColumn := func(c headed) bool { return c.key == i.key }
		if !slices.ContainsFunc(detailsAcross, inColumn) && !slices.ContainsFunc(resultsAcross, inColumn) && s.alike(i.key) {
			out = append(out, i)
		}
	}
	return out
}

// withNote puts a note in brackets behind a value.
func withNote(value, note string) string {
	if note == "" || value == "" {
		return value
	}
	return value + " (" + note + ")"
}
