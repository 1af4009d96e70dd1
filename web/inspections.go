package web

// The schedule of inspections, entered in one round.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/paper"
	"chargewright/trade"
	"chargewright/works"
)

// inspectionRow is one item of the schedule, as found and as it is being
// entered.
type inspectionRow struct {
	paper.Inspectable
	Path, Follows string
	Now           works.Inspection
	Outcome, Note string
}

// inspectedAt is the round: where each item is looked at, from the intake out.
var inspectedAt = []struct {
	place string
	items []trade.InspectionItem
}{
	{"At the intake", []trade.InspectionItem{trade.InspectIntake, trade.InspectSources, trade.InspectProsumer, trade.InspectADS}},
	{"At the board", []trade.InspectionItem{trade.InspectBoards, trade.InspectBasic, trade.InspectAdditional, trade.InspectIsolation, trade.InspectNotices}},
	{"Along the cable", []trade.InspectionItem{trade.InspectCircuits, trade.InspectOther, trade.InspectBath, trade.InspectSpecial}},
	{"At the charge points", []trade.InspectionItem{trade.InspectEquipment, trade.InspectOwnCircuit, trade.InspectDiversity, trade.InspectPointRCD,
		trade.InspectPEN, trade.InspectEnclosure, trade.InspectHeight, trade.InspectPointOff, trade.InspectMarkings, trade.InspectSimultaneous}},
}

// inspectionPlace is the items looked at in one place.
type inspectionPlace struct {
	Title string
	Rows  []*inspectionRow
}

// inspectionPage is the schedule as a form.
type inspectionPage struct {
	Frame
	Places   []*inspectionPlace
	Rows     []*inspectionRow
	Outcomes []string
	People   []string
	Inspects string // who
	Left     int
	Next     string
	Problems []string
}

func (s *Server) inspectionPage(r *http.Request, o *opened) *inspectionPage {
	p := &inspectionPage{Frame: o.frame(s, r, "Inspections", "papers"), Outcomes: trade.Outcome("").Values(), People: o.Record.Items("people"),
		Inspects: s.Who(r), Next: r.FormValue("next")}
	at := map[string]string{}
	for _, name := range o.Record.Items("inspections") {
		path := works.Under("inspections", name)
		at[o.Record.Now(path+"/item").Value] = path
	}
	for _, one := range paper.Inspections() {
		row := &inspectionRow{Inspectable: one, Path: at[string(one.Item)]}
		if row.Path == "" {
			row.Path = works.Under("inspections", string(one.Item)) // the same on every device
			p.Left++
		}
		row.Follows = o.Record.Shown(row.Path + "/outcome")
		for _, seen := range o.Job.Inspections {
			if seen.Item.Or("") == one.Item {
				row.Now, row.Outcome, row.Note = seen, string(seen.Outcome.Or("")), seen.Note
			}
		}
		p.Rows = append(p.Rows, row)
	}
	for _, at := range inspectedAt {
		place := &inspectionPlace{Title: at.place}
		for _, item := range at.items {
			if i := slices.IndexFunc(p.Rows, func(r *inspectionRow) bool { return r.Item == item }); i >= 0 {
				place.Rows = append(place.Rows, p.Rows[i])
			}
		}
		p.Places = append(p.Places, place)
	}
	return p
}

func (s *Server) inspections(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "inspections.html", s.inspectionPage(r, o))
}

func (s *Server) enterInspections(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p := s.inspectionPage(r, o)
	p.Inspects = strings.Join(strings.Fields(r.PostFormValue("who")), " ")
	there := len(o.Record.Items("inspections"))
	var entries []job.Entry
	said := 0
	var rest []string // said of all that was left, each by its name
	for _, row := range p.Rows {
		row.Outcome, row.Note = r.PostFormValue("outcome "+row.Path), strings.Join(strings.Fields(r.PostFormValue("note "+row.Path)), " ")
		if row.Outcome == "" && row.Now.Item == (works.Inspection{}).Item && r.PostFormValue("rest") != "" {
			row.Outcome = string(trade.Satisfactory)
			rest = append(rest, string(row.Item))
		}
		if row.Outcome == "" || row.Outcome == string(row.Now.Outcome.Or("")) && row.Note == row.Now.Note {
			continue
		}
		if said++; row.Now.Item == (works.Inspection{}).Item {
			there++
			entries = append(entries, o.entry(r, row.Path, whole(there)), o.entry(r, row.Path+"/item", string(row.Item)))
		}
		entries = append(entries, job.Entry{Path: row.Path + "/outcome", Value: row.Outcome, Follows: r.PostFormValue("follows " + row.Path)},
			job.Entry{Path: row.Path + "/who", Value: p.Inspects, Follows: o.Record.Shown(row.Path + "/who")},
			job.Entry{Path: row.Path + "/when", Value: s.Now().Format("2006-01-02 15:04"), Follows: o.Record.Shown(row.Path + "/when")})
		if row.Note != row.Now.Note {
			entries = append(entries, job.Entry{Path: row.Path + "/note", Value: row.Note, Follows: o.Record.Shown(row.Path + "/note")})
		}
	}
	next := p.Next
	if next == "" {
		next = "/jobs/" + o.ID + "/inspections"
	}
	switch {
	case said == 0:
		http.Redirect(w, r, o.onward(next), http.StatusSeeOther)
		return nil
	case p.Inspects == "":
		p.Problems, p.Form = []string{"Say who inspected: a schedule names who looked."}, r.PostFormValue("act")
		return render(w, http.StatusUnprocessableEntity, "inspections.html", p)
	}
	entries = slices.DeleteFunc(entries, func(e job.Entry) bool { return e.Value == "" && e.Follows == "" })
	what := whole(said) + " inspections by " + p.Inspects
	if len(rest) > 0 {
		what += "; the rest satisfactory: " + strings.Join(rest, ", ")
	}
	return s.enter(w, r, o, s.act(r, o.ID, what, entries...), o.onward(next))
}
