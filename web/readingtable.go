package web

// Readings from a table, as an instrument or another program hands them over:
// all of them are entered, or none.

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"chargewright/job"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/works"
)

// readingTablePage is a table of readings with which heading means what.
type readingTablePage struct {
	Frame
	Slot     slot
	Columns  []columnField
	Problems []string
}

func (s *Server) readingTablePage(r *http.Request, o *opened, file table) *readingTablePage {
	p := &readingTablePage{Frame: o.frame(s, r, "Readings from a table", "readings"),
		Slot: slot{Field: "table", Label: "Table of readings (CSV)",
			Hint: "Columns: " + strings.Join(prove.Columns(), ", ") + "; the first three there must be. Other headings can be matched once it was sent."}}
	if file.Name == "" {
		return p
	}
	p.Slot.Held = []table{file}
	all, err := prove.Headings(bytes.NewReader(file.text))
	if err != nil {
		return p // it is said when the table is read
	}
	for _, field := range prove.Columns() {
		c := choice{Name: "column-" + field, Label: capital(field), Chosen: r.PostFormValue("column-" + field)}
		for _, h := range all {
			if strings.EqualFold(strings.TrimSpace(h), field) {
				c.Found = h
			}
		}
		p.Columns = append(p.Columns, columnField{"column-" + strings.ReplaceAll(field, " ", "-"), c, offered(all)})
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
	readings, err := readingsIn(r, file)
	if err == nil {
		a.What = fmt.Sprintf("%d readings from %s", len(readings), file.Name)
		a.Entries, err = o.admitted(a.ID, readings)
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
func readingsIn(r *http.Request, file table) ([]works.Reading, error) {
	if file.Name == "" {
		return nil, Refuse(http.StatusUnprocessableEntity, "Choose a table first.")
	}
	chosen := map[string]string{}
	for _, field := range prove.Columns() {
		if h := r.PostFormValue("column-" + field); h != "" {
			chosen[field] = h
		}
	}
	readings, err := prove.ReadColumns(file.Name, bytes.NewReader(file.text), chosen)
	if err == nil && len(readings) == 0 {
		err = errors.New("no readings stand in it")
	}
	if err != nil {
		return nil, Refuse(http.StatusUnprocessableEntity, "%s: %v", file.Name, err)
	}
	return readings, nil
}

// admitted is readings as entries, or everything that is wrong with them.
func (o *opened) admitted(act string, readings []works.Reading) ([]job.Entry, error) {
	var entries []job.Entry
	var wrong []string
	there := len(o.Record.Items("readings"))
	for i, one := range readings {
		one, err := prove.Admit(o.Model, one)
		if err != nil {
			wrong = append(wrong, fmt.Sprintf("reading %d: %v", i+1, err))
			continue
		}
		in := taken{one.At, one.Reading, one.Value, one.Function, one.Instrument, yesNo(one.LeadsNulled), "", one.Note, one.Who, one.When}
		if t, said := one.Temperature.Get(); said {
			in.temperature = t.String()
		}
		entries = append(entries, in.entries(works.Under("readings", fmt.Sprintf("%s-%03d", act, i+1)), there+i+1)...)
	}
	if len(wrong) > 0 {
		return nil, Refuse(http.StatusUnprocessableEntity, "%s", strings.Join(wrong, "\n"))
	}
	return entries, nil
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
