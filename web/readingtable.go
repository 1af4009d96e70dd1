package web

// Readings from a table, as an instrument or another program hands them over:
// all of them are entered, or none.

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/works"
)

// readingTablePage is a table of readings with which heading means what.
type readingTablePage struct {
	Frame
	Slot     slot
	Columns  []columnField
	Each     []columnField // of a column that is one reading
	Rest     bool
	Problems []string
}

func (s *Server) readingTablePage(r *http.Request, o *opened, file table) *readingTablePage {
	p := &readingTablePage{Frame: o.frame(s, r, "Readings from a table", "readings"), Rest: r.PostFormValue("rest") != "",
		Slot: slot{Field: "table", Label: "Table of readings (CSV)",
			Hint: "One reading a row, with where, which reading and what was shown; or one circuit a row with a column for each reading. " +
				"Headings are known by the words of the trade; others can be matched once it was sent."}}
	if file.Name == "" {
		return p
	}
	p.Slot.Held = []table{file}
	head, err := reading.Headings(bytes.NewReader(file.text))
	if err != nil {
		return p // it is said when the table is read
	}
	column := func(field, label string) columnField {
		return columnField{"column-" + strings.ReplaceAll(field, " ", "-"),
			choice{Name: "column-" + field, Label: label, Chosen: r.PostFormValue("column-" + field), Found: reading.Meant(head, field)}, offered(head.Names)}
	}
	for _, field := range reading.Fields() {
		p.Columns = append(p.Columns, column(field, capital(field)))
	}
	for _, name := range reading.Names() {
		p.Each = append(p.Each, column(name, name))
	}
	return p
}

func (s *Server) readingTable(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "readingtable.html", s.readingTablePage(r, o, table{}))
}

func (s *Server) enterReadingTable(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	file, err := tableOf(r, "table")
	if err != nil {
		return err
	}
	p := s.readingTablePage(r, o, file)
	a := s.act(r, o.ID, "")
	readings, told, err := o.readingsIn(r, file)
	if err == nil {
		a.What = strings.Join(append([]string{fmt.Sprintf("%d readings from %s", len(readings), file.Name)}, told...), "; ")
		a.Entries = o.enteredFrom(a.ID, readings)
	}
	if err == nil {
		err = s.enter(w, r, o, a.Stamped(), "/jobs/"+o.ID+"/why")
	}
	if err == nil {
		return nil
	}
	status, lines := explain(err)
	if status == http.StatusInternalServerError {
		return err
	}
	p.Problems, p.Form = lines, a.ID
	return render(w, status, "readingtable.html", p)
}

// readingsIn reads the table by the headings that were chosen.
func (o *opened) readingsIn(r *http.Request, file table) (rs []works.Reading, told []string, err error) {
	if file.Name == "" {
		return nil, nil, Refuse(http.StatusUnprocessableEntity, "Choose a table first.")
	}
	asked := reading.Asked{Columns: map[string]string{}, Rest: r.PostFormValue("rest") != ""}
	for _, field := range slices.Concat(reading.Fields(), reading.Names()) {
		if h := r.PostFormValue("column-" + field); h != "" {
			asked.Columns[field] = h
		}
	}
	if rs, told, err = prove.ReadTable(o.Model, file.Name, bytes.NewReader(file.text), asked); err != nil {
		return nil, nil, Refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	return rs, told, nil
}

// enteredFrom is admitted readings as entries.
func (o *opened) enteredFrom(act string, readings []works.Reading) (entries []job.Entry) {
	there := len(o.Record.Items("readings"))
	for i, one := range readings {
		in := taken{one.At, one.Reading, one.Value, one.Function, one.Instrument, yesNo(one.LeadsNulled), "", one.Note, one.Who, one.When}
		if t, said := one.Temperature.Get(); said {
			in.temperature = t.String()
		}
		entries = append(entries, in.entries(works.Under("readings", fmt.Sprintf("%s-%03d", act, i+1)), there+i+1)...)
	}
	return entries
}

func yesNo(b quantity.Maybe[bool]) string {
	yes, said := b.Get()
	switch {
	case !said:
		return ""
	case yes:
		return "yes"
	}
	return "no"
}
