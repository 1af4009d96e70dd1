package web

// Photos and notes, each attached to an element. Photos stay with the job and
// are put on no paper.

import (
	"bytes"
	"image"
	_ "image/jpeg" // the two kinds of photo that are taken
	_ "image/png"
	"io"
	"net/http"
	"strings"

	"chargewright/job"
	"chargewright/store"
)

const mostPhoto = store.MostPhotoMiB << 20

// noteRow is one note of an element.
type noteRow struct{ Path, Text, By string }

func (o *opened) notesOf(of string) []noteRow {
	var out []noteRow
	for _, name := range o.facts().items("notes") {
		path := job.Under("notes", name)
		if o.facts().now[path+"/about"].Value == noteAbout(of) {
			e := o.facts().now[path+"/text"]
			out = append(out, noteRow{path, e.Value, by(e)})
		}
	}
	return out
}

// noteAbout is what a note on a sheet belongs to, in words.
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
		return refuse(http.StatusUnprocessableEntity, "There is nothing in the note yet.")
	}
	a := s.act(r, o.ID, "note on "+noteAbout(of))
	item := job.Under("notes", a.ID)
	a.Entries = []job.Entry{{Path: item, Value: whole(len(o.facts().items("notes")) + 1)}, {Path: item + "/about", Value: noteAbout(of)}, {Path: item + "/text", Value: text}}
	return s.enter(w, r, o, a.Stamped(), sheetURL(o.ID, of))
}

func (o *opened) photosOf(of string) []photoRow {
	var out []photoRow
	for _, a := range o.Acts {
		if a.Photo != nil && a.Photo.Element == photoElement(of) {
			out = append(out, photoRow{a.ID, a.Who, clock(a.When)})
		}
	}
	return out
}

func photoElement(of string) string {
	if of == "" {
		return "job"
	}
	return of
}

// addPhoto keeps a photo as it was taken. What it holds decides its kind, not
// what it is called.
func (s *Server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f, _, err := r.FormFile("photo")
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "Take or choose a photo first.")
	}
	defer f.Close()
	content, err := io.ReadAll(io.LimitReader(f, mostPhoto+1))
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "The photo could not be read.")
	}
	if len(content) > mostPhoto {
		return refuse(http.StatusRequestEntityTooLarge, "The photo is larger than %d MiB.", store.MostPhotoMiB)
	}
	_, kind, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || kind != "jpeg" && kind != "png" {
		return refuse(http.StatusUnsupportedMediaType, "A photo is kept as JPEG or PNG; this is neither.")
	}
	of := r.PostFormValue("of")
	a := s.act(r, o.ID, "photo of "+noteAbout(of))
	a.Photo = &store.Photo{Element: photoElement(of), Type: "image/" + kind, Content: content}
	if _, err := s.Store.Keep(r.Context(), a); err != nil {
		return err
	}
	return goOn(w, r, sheetURL(o.ID, of), a.ID)
}

func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	p, err := s.Store.Photo(r.Context(), r.PathValue("act"))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", p.Type)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	_, err = w.Write(p.Content)
	return err
}
