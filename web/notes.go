package web

// Notes, each attached to an element.

import (
	"net/http"
	"strings"

	"chargewright/job"
	"chargewright/works"
)

// noteRow is one note of an element.
type noteRow struct{ Path, Text, By string }

func (o *opened) notesOf(of string) []noteRow {
	var out []noteRow
	for _, name := range o.Record.Items("notes") {
		path := works.Under("notes", name)
		if o.Record.Now(path+"/about").Value == noteAbout(of) {
			e := o.Record.Now(path + "/text")
			out = append(out, noteRow{path, e.Value, by(e)})
		}
	}
	return out
}

// noteAbout is what a note or a photo on a sheet belongs to, in words.
func noteAbout(of string) string {
	if of == "" {
		return "job"
	}
	if p, ok := partOfSupply(of); ok {
		return strings.ToLower(p.title)
	}
	return spoken(of)
}

func (s *Server) addNote(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	of, text := r.PostFormValue("of"), strings.Join(strings.Fields(r.PostFormValue("text")), " ")
	if text == "" {
		return Refuse(http.StatusUnprocessableEntity, "There is nothing in the note yet.")
	}
	a := s.act(r, o.ID, "note on "+noteAbout(of))
	item := works.Under("notes", a.ID)
	a.Entries = []job.Entry{{Path: item, Value: whole(len(o.Record.Items("notes")) + 1)}, {Path: item + "/about", Value: noteAbout(of)},
		{Path: item + "/text", Value: text}}
	return s.enter(w, r, o, a.Stamped(), sheetURL(o.ID, of))
}
