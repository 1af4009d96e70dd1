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
func (c *certificate) reading(at []string, about, key, what, get string, gaps *[]Gap, names ...string) item {
	i := item{key: key, what: what, at: at[len(at)-1], reading: names[0], get: get}
	e, expected := c.readings.expected(at, names...)
	if expected {
		i.at, i.reading = e.At, e.Reading
	}
	r, ok := c.readings.taken(at, names...)
	if !ok {
		if l, limited := c.readings.limited(at, names...); limited {
			i.value, i.note = "limited", join(l.Reason, before("agreed with ", l.Agreed))
		}
		return i
	}
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
	if g, bad := held(r, e, about); bad {
		g.At, g.Reading = i.at, i.reading
		*gaps = append(*gaps, g)
	}
	if e.Unit() != "" && (r.Instrument == "" || r.Who == "") {
		*gaps = append(*gaps, Gap{Kind: wanting, About: about, What: r.Reading + ": instrument and who measured", Get: "complete the reading: instrument, who, when", Field: "instrument_serials", At: i.at, Reading: i.reading})
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
		{key: "board_reference", what: "Board", value: r.Name},
		{key: "board_location", what: "Place", value: r.Place, of: here + "/place", get: "enter place of the board"},
		{key: "board_phases", what: "Phases", value: ifKnown("%d", r.Phases), of: here + "/phases", get: "enter phases of the board"},
	}
	if origin {
		list = append(list,
			item{key: "board_fed_from", what: "Fed from", value: "the supply", waive: true},
			item{key: "board_upstream_device", what: "Device ahead", value: join(ifKnown("%s", c.m.Job.Supply.CutOut.Type), ifKnown("%v", c.m.Job.Supply.CutOut.Rating)), waive: true},
			item{key: "board_ocpd_for_distribution", what: "RCD ahead", value: "none recorded", waive: true},
			item{key: "board_polarity_confirmed", what: "Polarity", value: confirmed(c.m.Job.Supply.Polarity, "confirmed"), of: "supply/polarity confirmed", get: "confirm it; enter supply, polarity confirmed"},
			item{key: "board_Zdb", what: "Loop at the board", value: before("the origin: Ze ", lookup(say(c.m.Job.Supply.Ze.Value))), waive: true})
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
			item{key: "board_fed_from", what: "Fed from", value: fed, of: "circuits", get: "enter the circuit that feeds the board"},
			item{key: "board_upstream_device", what: "Device ahead", value: device, of: feeding, get: "enter type and rating of the device of the circuit that feeds the board"},
			item{key: "board_ocpd_for_distribution", what: "RCD ahead", value: rcd, waive: true},
			c.reading(at, about, "board_polarity_confirmed", "Polarity", "confirm it; enter a reading polarity at "+r.Name, &s.gaps, "polarity"),
			c.reading(at, about, "board_Zdb", "Loop at the board", "measure it; enter a reading Zs at "+r.Name, &s.gaps, "Zs"))
	}
	sequence := item{key: "board_phase_sequence_confirmed", what: "Phase sequence", value: "single-phase", waive: true}
	if phases == 3 {
		sequence = c.reading(at[:1], about, "board_phase_sequence_confirmed", "Phase sequence", "see it with a rotation tester; enter a reading phase sequence at "+r.Name, &s.gaps, "phase sequence")
	}
	ipf := c.reading(at[:1], about, "board_Ipf", "Ipf at the board", "measure it; enter a reading Ipf at "+r.Name, &s.gaps, "Ipf")
	if ipf.missing() && origin {
		ipf.value, ipf.note = lookup(say(c.m.Job.Supply.Ipf.Value)), "as at the origin"
	}
	list = append(list, sequence, ipf)
	surge := item{key: "spd_indicator_ok", what: "Surge protection", value: "none recorded", waive: true}
	if len(r.Surge) > 0 && !r.Surge[0].Declined.Or(false) {
		var kinds []string
		for _, d := range r.Surge {
			kinds = append(kinds, join(d.Name, ifKnown("Type %s", d.Type)))
		}
		surge = c.reading(at[:1], about, "spd_indicator_ok", "Surge protection", "look at its window; enter a reading SPD indicator at "+r.Name+": good", &s.gaps, "SPD indicator")
		if surge.value != "" {
			surge.value, surge.note = strings.Join(kinds, "; ")+", indicator "+surge.value, ""
		}
	}
	s.items = append(list, surge, item{key: "board_spd_types_status", waive: true}, item{key: "spd_type_and_status", waive: true}) // both stand in the line above
}

// wiringCode is the letter of the standard's list of wiring types.
func wiringCode(cable *job.Cable) (code, says string) {
	thermosetting := strings.HasPrefix(string(cable.Insulation.Or("")), "90")
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
	code, codeSays := wiringCode(&r.Cable)
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
	if z, _, gap := ct.GreatestZs(); gap == "" {
		limit, limitNote = model.RoundDown(z).String(), "hot, by the overcurrent device"
	}
	if e, gap := ct.Earthing(); gap == "" && e == job.TT {
		limit = ""
		if z, _, gap := ct.GreatestZsByRCD(); gap == "" {
			limit, limitNote = z.String(), "by the RCD"
		}
	}
	rcd, fitted := ct.RCD()
	rcdItem := item{key: "rcd_standard_type_IdeltaN_rating", what: "RCD", value: "none recorded", waive: true}
	if fitted {
		own := "shared or ahead"
		if r.RCD.Residual.IsKnown() {
			own = "its own"
			if strings.Contains(string(r.Device.Type.Or("")), "61009") {
				own = "its own, BS EN 61009"
			}
		}
		rcdItem = item{key: "rcd_standard_type_IdeltaN_rating", what: "RCD", value: allOf(ifKnown("Type %s", rcd.Type), ifKnown("%v", rcd.Residual), orElse(ifKnown("%v", rcd.Rating), "rating of the device")), note: own, of: here + "/RCD", get: "enter type, IΔn and rating of the RCD"}
	}
	phase := item{key: "circuit_phase", what: "Lines", value: ifKnown("%s", r.Phases), of: here + "/phases", get: "enter phases of " + where}
	s.details = items{
		{key: "circuit_number", what: "Way", value: r.Way, of: here + "/way", get: "enter way of " + where},
		{key: "circuit_description", what: "Serves", value: serves, of: here + "/to", get: "enter to of " + where},
		phase,
		{key: "wiring_type_code", what: "Wiring type", value: code, note: codeSays, of: here + "/cable", get: "enter cable, construction and insulation of " + where},
		{key: "reference_method", what: "Reference method", value: strings.Join(unique(methods), ", "), of: here, get: "enter method of every leg of " + where},
		{key: "points_served", what: "Points served", value: itoa(points)},
		{key: "live_csa", what: "Live conductors", value: ifKnown("%v", r.Cable.CSA), of: here + "/cable/csa", get: "enter cable, csa of " + where},
		{key: "cpc_csa", what: "cpc", value: cpcOf(ct), of: here + "/cable", get: "enter cpc and its csa of " + where},
		{key: "ocpd_standard_type_rating", what: "Overcurrent device", value: allOf(ifKnown("%s", r.Device.Type), ifKnown("%v", r.Device.Rating)), of: here + "/device", get: "enter device, type and rating of " + where},
		{key: "ocpd_breaking_capacity", what: "Breaks", value: ifKnown("%v", r.Device.BreakingCapacity), of: here + "/device/breaking capacity", get: "enter device, breaking capacity of " + where},
		{key: "max_permitted_Zs", what: "Greatest Zs allowed", value: limit, note: limitNote, of: here, get: "complete device, RCD and earthing of " + where},
		rcdItem,
	}
	c.resultItems(&s, where)
	return s
}

// cpcOf prints what serves as protective conductor, csa where it is known.
func cpcOf(ct *model.Circuit) string {
	cable := &ct.Record.Cable
	csa := ifKnown("%v", cable.CPCCSA)
	for _, l := range ct.Legs {
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
