package paper

import (
	"strings"
	"time"
	"unicode"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/model"
	"chargewright/trade"
)

// handover is for the owner, in plain words: how to use it, what a trip means,
// how to test it, whom to call, and when to have it looked at.
type handover struct {
	m    *model.Model
	made time.Time
	sets []settingsOf
}

// items is what an owner must be told, under the keys of the forms table.
func (h *handover) items() (use, trouble, papers, upkeep items) {
	o := &h.m.Job.Handover
	use = items{
		field("ho_instructions", o.Start),
		field("ho_instructions: hours", o.Schedule),
		field("ho_rating_label", h.setTo()).noted("only an electrician may change it: the cable and the supply were chosen for it"),
		field("ho_load_limit_note", h.limitNote()),
		field("ho_cable_care", ""),
	}
	var lights items
	for _, l := range o.Lights {
		lights = append(lights, field("ho_fault_lights", l.Means).named(l.Shows))
	}
	if len(lights) == 0 {
		lights = items{field("ho_fault_lights: none", "")}
	}
	use = append(use, lights...)
	trouble = items{
		field("ho_what_to_do_tripped", ""),
		field("ho_what_to_do_tripped: leave it off", ""),
		field("ho_pen_note", "").noted(h.penNote()),
		field("ho_isolation", h.isolation()),
		field("ho_warranty_service", callLine(o.Call)),
	}
	papers = items{
		field("ho_certificates", ""),
		field("ho_records_location", o.Records),
		field("ho_as_built", strings.Join(o.AsBuilt, "; ")),
		field("ho_cdm_file", ""),
		field("ho_warranty_service: warranty", join(o.Warranty, before("ends ", o.WarrantyEnd))),
		field("ho_data_security", o.Password),
		field("scp_owner_data", o.Erase),
		field("ho_network_owner", o.Network),
		field("ho_admin_transfer", o.Access),
		field("om_drawing", ""),
		field("om_defect_log", ""),
		field("ho_instructions: shown", allOf(o.Instructed, o.ShownOn)),
	}
	months, _ := h.m.Job.Certificate.InspectAgain.Get()
	again := ""
	if due, ok := dueDate(&h.m.Job.Certificate); ok {
		again = "by " + due.Format("2 January 2006") + ", within " + inYears(months) + " of the work; sooner after damage or if its use changes"
	}
	upkeep = items{
		field("ho_rcd_test", ""),
		field("om_rcd_button", ""),
		field("om_visual", ""),
		field("om_inspection_interval", again),
		field("om_surge_indicator", h.surgeNote()),
		field("om_firmware_review", join("Look whether the maker has an update", before("updates end ", o.UpdatesEnd))).noted(o.Updates),
		field("om_load_limit_retest", h.retest()),
		field("om_spare_parts", o.Spares),
	}
	return use, trouble, papers, upkeep
}

// callLine is whom to call, where there is a number to call.
func callLine(call string) string {
	if !strings.ContainsFunc(call, unicode.IsDigit) {
		return ""
	}
	return call
}

func (h *handover) setTo() string {
	var out []string
	for _, of := range h.sets {
		for _, s := range of.Settings {
			if s.What == greatestCurrent && s.Known {
				out = append(out, drawing.Names(of.Points)+": "+s.To)
			}
		}
	}
	return strings.Join(out, "; ")
}

// isolation says which switch takes the power off each point.
func (h *handover) isolation() string {
	var out []string
	for _, p := range h.m.Points {
		c := p.Circuit
		if c == nil || c.From == nil || c.Record.Way == "" {
			return ""
		}
		out = append(out, p.Record.Name+": way "+c.Record.Way+" of "+c.Record.From+before(", ", c.From.Record.Place))
	}
	return strings.Join(out, "; ")
}

func (h *handover) limitNote() string {
	var held []string
	for _, p := range h.m.Points {
		if p.Record.Limiter != "" && p.Record.Limiter != "none" {
			held = append(held, p.Record.Name)
		}
	}
	if len(held) == 0 {
		return "no load limiting is recorded; the vehicle itself may hold back"
	}
	return "When much else is on, " + drawing.Names(held) + " gets less, or waits, so that the main fuse is not overloaded. It goes on by itself. It is no fault."
}

func (h *handover) penNote() string {
	for _, p := range h.m.Points {
		if p.Record.Earthing.Measure.Or("") == trade.OpenPENDetection {
			return "the point has a device that opens when it notices this; it may also open without cause: then call us"
		}
	}
	return ""
}

func (h *handover) surgeNote() string {
	for _, b := range h.m.Boards {
		if len(b.Record.Surge) > 0 {
			return "Look at the window of the surge protector at " + b.Record.Name + ". If its colour has changed, it has done its work and must be replaced: call."
		}
	}
	return "no surge protector is recorded"
}

func (h *handover) retest() string {
	if len(h.m.Job.Limiters) == 0 {
		return "no load limiting is recorded"
	}
	return "The electrician unplugs the clamp of the load limiting and sees that the points fall to their fail-safe current."
}

// ownersHandover sets the paper.
func ownersHandover(m *model.Model, sets []settingsOf, made time.Time) *document.Document {
	h := &handover{m, made, sets}
	use, trouble, papers, upkeep := h.items()
	d := newDocument(m, made, "For the owner", "How to use your charge point, what to do when something is wrong, and when to have it looked at. Keep this "+
		"with the other papers.")
	d.Mark = "owner's hand-over"
	dates := dayTable(m, made)
	for i := range dates.Rows {
		dates.Rows[i].Cells = dates.Rows[i].Cells[:2]
	}
	dates.Columns, dates.Small = dates.Columns[:2], true
	d.Sections = []document.Section{
		{Heading: "If something is wrong", Blocks: []document.Block{document.Caution{Head: "Electricity can kill", Lines: []string{
			"Never open the point or the board. Never push anything into the socket.",
			"If someone is hurt: do not touch them while they touch metal. Switch off at the main switch if you can. Call 999."}}, trouble.facts()}},
		{Heading: "Using it", Blocks: []document.Block{use.facts()}},
		{Heading: "Looking after it", Blocks: []document.Block{upkeep.facts()}},
		{Heading: "Papers, warranty, data", Blocks: []document.Block{papers.facts()}},
		{Heading: "Days to remember", Whole: true, Blocks: []document.Block{dates}},
		{Heading: "What happened", Whole: true, Blocks: []document.Block{
			document.Paragraph{Text: "Write down trips, damage and work done: it helps whoever looks for a fault."},
			document.Lines{"Date, what", "Date, what", "Date, what", "Date, what"}}},
		{Heading: "Given and taken over", Whole: true, Blocks: []document.Block{document.Lines{"Handed over by", "Date", "Taken over by", "Date"}}},
	}
	return d
}
