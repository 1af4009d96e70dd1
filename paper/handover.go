package paper

import (
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/job"
	"chargewright/model"
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
		{key: "ho_instructions", what: "To start and stop", value: o.Start, get: "ask your electrician: it is not written down yet"},
		{key: "ho_instructions", what: "To set the hours", value: o.Schedule, get: "ask your electrician"},
		{key: "ho_rating_label", what: "What it is set to", value: h.setTo(), get: "ask your electrician", note: "only an electrician may change it: the cable and the supply were chosen for it"},
		{key: "ho_load_limit_note", what: "Why it may charge slower", value: h.limitNote(), waive: true},
		{key: "ho_cable_care", what: "The charging lead", value: "Look along it before you use it. Never use one that is cut, bent at the plug, or hot. No adaptors, no extension leads, no coils under load.", waive: true},
	}
	var lights items
	for _, l := range o.Lights {
		lights = append(lights, item{key: "ho_fault_lights", what: "Light: " + l.Shows, value: l.Means})
	}
	if len(lights) == 0 {
		lights = items{{key: "ho_fault_lights", what: "What the lights mean", get: "see the maker's leaflet, and ask your electrician to write it here"}}
	}
	use = append(use, lights...)
	trouble = items{
		{key: "ho_what_to_do_tripped", what: "It went off by itself", value: "Unplug the vehicle, without touching bare metal. Push the switch that has dropped up once. If it drops again, leave it down and call.", waive: true},
		{key: "ho_what_to_do_tripped", what: "Do not switch it on again", value: "after a knock by a vehicle, after water got in, if anything is hot, smells or buzzes, or if anyone felt a tingle. Call.", waive: true},
		{key: "ho_pen_note", what: "If the whole point is dead and the house is not, or lights are too bright or too dim", value: "A wire of the street may be broken. Keep away from the vehicle, the point and any metal joined to them. Do not reset anything. Call the network operator (105 in Great Britain), then us.", note: h.penNote()},
		{key: "ho_isolation", what: "To switch it off altogether", value: h.isolation(), get: "have the switch shown to you, and write here where it is"},
		{key: "ho_warranty_service", what: "Whom to call", value: o.Call, get: "write the name and number of the one who looks after it"},
	}
	papers = items{
		{key: "ho_certificates", what: "Papers that belong to it", value: "the certificate with its schedules, the notice to the network operator, the building-control certificate where there is one, this paper", waive: true},
		{key: "ho_records_location", what: "Where they are kept", value: o.Records, get: "say where: by the board is best"},
		{key: "ho_as_built", what: "How it was built", value: orElse(strings.Join(o.AsBuilt, "; "), "single-line drawing and routes in the design sheet"), waive: true},
		{key: "ho_cdm_file", what: "Health and safety file", value: "given where more than one contractor worked on it", waive: true},
		{key: "ho_warranty_service", what: "Warranty", value: join(o.Warranty, before("ends ", o.WarrantyEnd)), get: "ask who stands for what, and until when"},
		{key: "ho_data_security", what: "Password and account", value: o.Password, get: "set a password of your own; never keep the one it came with"},
		{key: "scp_owner_data", what: "To erase your data", value: o.Erase, get: "see the maker's instructions before you sell the house or the point"},
		{key: "ho_network_owner", what: "Its connection", value: orElse(o.Network, "not recorded"), waive: true},
		{key: "ho_admin_transfer", what: "The installer's access", value: orElse(o.Access, "not recorded"), waive: true},
		{key: "om_drawing", what: "Drawings", value: "the line from the street to the vehicle in the design sheet; the chart at each board", waive: true},
		{key: "om_defect_log", what: "Log", value: "the page at the end of this paper", waive: true},
		{key: "ho_instructions", what: "Shown to", value: allOf(o.Instructed, o.ShownOn), get: "have it shown to you, and write the date here"},
	}
	months, _ := h.m.Job.Certificate.InspectAgain.Get()
	again := ""
	if due, ok := dueDate(&h.m.Job.Certificate); ok {
		again = "by " + due.Format("2 January 2006") + ", within " + inYears(months) + " of the work; sooner after damage or if its use changes"
	}
	upkeep = items{
		{key: "ho_rcd_test", what: "To test the RCD", value: "as in the next line; an RCD that is not moved for years may stick", waive: true},
		{key: "om_rcd_button", what: "Every 6 months", value: "Press the button marked T on the switch of the point (RCD). It must drop at once. Push it up again. If it does not drop, leave the point alone and call.", waive: true},
		{key: "om_visual", what: "Every month", value: "Look at the case, the lead, the lock, the labels and the post it stands on.", waive: true},
		{key: "om_inspection_interval", what: "Inspection by an electrician", value: again, get: "the certificate says when"},
		{key: "om_surge_indicator", what: "After a thunderstorm", value: h.surgeNote(), waive: true},
		{key: "om_firmware_review", what: "Every 12 months", value: join("Look whether the maker has an update", before("updates end ", o.UpdatesEnd)), note: o.Updates, waive: true},
		{key: "om_load_limit_retest", what: "At each inspection", value: h.retest(), waive: true},
		{key: "om_spare_parts", what: "Spare parts", value: orElse(o.Spares, "none recorded"), waive: true},
	}
	return use, trouble, papers, upkeep
}

func (h *handover) setTo() string {
	var out []string
	for _, of := range h.sets {
		for _, s := range of.Settings {
			if s.What == "Greatest charging current" && s.Known {
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
		if p.Record.Earthing.Measure.Or("") == job.OpenPENDetection {
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
	d := newDocument(m, made, "For the owner", "How to use your charge point, what to do when something is wrong, and when to have it looked at. Keep this with the other papers.")
	d.Mark = "owner's hand-over"
	d.Sections = []document.Section{
		{Heading: "If something is wrong", Blocks: []document.Block{document.Caution{Head: "Electricity can kill", Lines: []string{
			"Never open the point or the board. Never push anything into the socket.",
			"If someone is hurt: do not touch them while they touch metal. Switch off at the main switch if you can. Call 999."}}, trouble.facts()}},
		{Heading: "Using it", Blocks: []document.Block{use.facts()}},
		{Heading: "Looking after it", Blocks: []document.Block{upkeep.facts()}},
		{Heading: "Papers, warranty, data", Blocks: []document.Block{papers.facts()}},
		{Heading: "Smart charge point regulations", Blocks: []document.Block{
			document.Paragraph{Text: "What the Electric Vehicles (Smart Charge Points) Regulations 2021 ask where a private point is sold in Great Britain. Whoever sells the point, the installer too, answers for it. Tick what was seen; what is not ticked is not known."},
			smartTable(m)}},
		{Heading: "What happened", Blocks: []document.Block{document.Paragraph{Text: "Write down trips, damage and work done: it helps whoever looks for a fault."}, document.Lines{"Date, what", "Date, what", "Date, what", "Date, what", "Date, what", "Date, what"}}},
		{Heading: "Given and taken over", Blocks: []document.Block{document.Lines{"Handed over by", "Date", "Taken over by", "Date"}}},
	}
	return d
}

// smartTable is what the regulations ask, to be ticked on site.
func smartTable(m *model.Model) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "Asked", Share: 120}, {Head: "Seen, by, date", Share: 50, Boxed: true}}}
	for _, f := range m.Rules.FormFields() {
		if f.Paper == "Smart charge point statement" {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: capital(f.Meaning)}, {}}, Least: 9})
		}
	}
	return t
}
