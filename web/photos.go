package web

// Photos, each of one element. What is said of a photo are entries of the
// record like any other: its caption, and whether it is put on the papers. The
// picture itself came with the act that brought it, and is only looked at when
// it is shown or printed.

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/paper"
	"chargewright/photo"
	"chargewright/quantity"
	"chargewright/store"
	"chargewright/works"
)

// photosList is the list of a job in which its photos stand, each under the
// name of its file.
const photosList = "photos"

// photoRow is one photo as a page shows it.
type photoRow struct {
	Job, Form         string
	Path              string // of its item in the record
	Next              string // the page that shows it, to come back to
	Act               string // that brought its picture; nothing where that is not here
	Of, About         string // what it is of, and the sheet of that
	Caption, Alt      string
	By                string // who took it, and when
	On                bool   // on the papers
	OnSaw, CaptionSaw string // the entries that were shown
	Differ            bool
	Away              bool
	Elsewhere         bool // shown on another sheet than that of what it is of
}

// photos returns the photos of the job in their order, as the page at next
// shows them.
func (s *Server) photos(r *http.Request, o *opened, f Frame, next string) ([]photoRow, error) {
	here, err := s.photoActs(r.Context(), o)
	if err != nil {
		return nil, err
	}
	sheets := map[string]string{}
	for _, e := range o.elements() {
		sheets[noteAbout(e.Of)] = sheetURL(o.ID, e.Of)
	}
	var out []photoRow
	for _, p := range o.Job.Photos {
		row := photoRow{Job: o.ID, Form: f.Form, Path: works.Under(photosList, p.Name), Next: next, Act: here[p.Name].ID, Of: p.Of, About: sheets[p.Of],
			Caption: p.Caption, Alt: p.Caption, On: p.OnPapers.Or(false), Away: f.Away}
		row.Elsewhere = row.About != next
		row.By = strings.Join(slices.DeleteFunc([]string{clock(p.Taken), p.By}, func(s string) bool { return s == "" }), ", ")
		if row.Alt == "" {
			row.Alt = strings.TrimSuffix("photo of "+p.Of+", "+row.By, ", ")
		}
		row.OnSaw, row.CaptionSaw = o.Record.Shown(row.Path+"/on papers"), o.Record.Shown(row.Path+"/caption")
		row.Differ = o.Record.Differ(row.Path+"/on papers") != nil
		out = append(out, row)
	}
	return out, nil
}

// unsettled keeps photos off the papers on which two people chose differently:
// what only one of them would print is printed once they agree.
func (o *opened) unsettled() {
	for i, p := range o.Job.Photos {
		if o.Record.Differ(works.Under(photosList, p.Name)+"/on papers") != nil {
			o.Job.Photos[i].OnPapers = quantity.Maybe[bool]{}
		}
	}
}

// photosOf returns the photos of one element, or the one photo that a sheet is
// about.
func photosOf(all []photoRow, of string) []photoRow {
	return slices.DeleteFunc(all, func(p photoRow) bool { return p.Path != of && p.Of != noteAbout(of) })
}

// photoActs returns the act that brought each photo, by the photo's name, of
// those whose picture is here.
func (s *Server) photoActs(ctx context.Context, o *opened) (map[string]store.Act, error) {
	var held map[string]store.Held
	if s.Held != nil {
		var err error
		if held, err = s.Held(ctx); err != nil {
			return nil, err
		}
	}
	out := map[string]store.Act{}
	for _, a := range o.Acts {
		if _, here := held[a.ID]; a.Photo != nil && (here || s.Held == nil) {
			out[a.PhotoName()] = a
		}
	}
	return out, nil
}

// photoFiles are the contents of photos by name, of those named that are here.
func (s *Server) photoFiles(ctx context.Context, o *opened, photos []works.Photo) (map[string][]byte, error) {
	acts, err := s.photoActs(ctx, o)
	if err != nil {
		return nil, err
	}
	total := 0
	for _, p := range photos {
		if a, here := acts[p.Name]; here {
			total += a.Photo.Bytes
		}
	}
	if total > mostParcel {
		return nil, Refuse(http.StatusRequestEntityTooLarge, "These %d photos come to %d MiB; %d MiB are the most on one sheet. Take some off the papers.",
			len(photos), total>>20, mostParcel>>20)
	}
	out := map[string][]byte{}
	for _, p := range photos {
		a, here := acts[p.Name]
		if !here {
			continue
		}
		picture, err := s.Store.Photo(ctx, a.ID)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		out[p.Name] = picture.Content
	}
	return out, nil
}

// photoRefusal says what keeps photos from being printed.
func (s *Server) photoRefusal(wrong paper.PhotoProblems) error {
	if s.Away != nil && slices.ContainsFunc(wrong, func(p paper.PhotoProblem) bool { return p.Gone }) {
		return Refuse(http.StatusUnprocessableEntity, "A photo that was chosen is not on this device. Make the sheet when the server can be reached. %v", wrong)
	}
	return Refuse(http.StatusUnprocessableEntity, "%v", wrong)
}

// photosPage is every photo of the job, to choose from.
func (s *Server) photosPage(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f := o.frame(s, r, "Photos", "papers")
	rows, err := s.photos(r, o, f, "/jobs/"+o.ID+"/photos")
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "photos.html", struct {
		Frame
		Photos []photoRow
		Chosen int
	}{f, rows, len(o.Job.Chosen())})
}

// pictured reports that a photo may be of what a sheet is about: of an element,
// or of an item that has a name and is no photo itself.
func (o *opened) pictured(of string) bool {
	if _, known := o.element(of); known {
		return true
	}
	list := job.FieldAt(above(of))
	return list != nil && list.List() && list.Of != nil && list.Of.Key != nil && above(of) != photosList && o.Record.Has(of)
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
		return Refuse(http.StatusUnprocessableEntity, "Take or choose a photo first.")
	}
	defer f.Close()
	content, err := io.ReadAll(io.LimitReader(f, int64(bounds.Photo.Most())+1))
	if err != nil {
		return Refuse(http.StatusUnprocessableEntity, "The photo could not be read.")
	}
	if err := bounds.Photo.Hold(len(content), ""); err != nil {
		return err
	}
	read, err := photo.Read(content)
	if err != nil {
		return Refuse(http.StatusUnsupportedMediaType, "The photo is not kept: %v.", err)
	}
	of := r.PostFormValue("of")
	if !o.pictured(of) {
		return notInJob
	}
	p := works.Photo{Of: noteAbout(of), Caption: strings.Join(strings.Fields(r.PostFormValue("caption")), " "), By: s.Who(r), Taken: read.Taken,
		SHA256: photo.SHA256(content)}
	a := s.act(r, o.ID, "photo of "+p.Of)
	if p.Taken == "" {
		p.Taken = a.When
	}
	a.Photo = &store.Photo{Element: p.Of, Type: "image/" + read.Kind, Content: content}
	stem := identifier(p.Of) // letters and figures of ASCII alone
	p.Name = strings.Trim(stem[:min(40, len(stem))], "-") + "-" + p.SHA256[:8] + store.Ending(a.Photo.Type)
	here, err := s.photoActs(r.Context(), o)
	if err != nil {
		return err
	}
	if there, again := here[p.Name]; again && there.ID != a.ID && slices.Contains(o.Record.Items(photosList), p.Name) {
		return Refuse(http.StatusConflict, "That photo is here already.")
	}
	a.Entries = o.photoEntries(r, p)
	return s.enter(w, r, o, a.Stamped(), o.onward(cmp.Or(r.PostFormValue("next"), sheetURL(o.ID, of))))
}

// photoEntries is a new photo as entries.
func (o *opened) photoEntries(r *http.Request, p works.Photo) []job.Entry {
	item := works.Under(photosList, p.Name)
	out := []job.Entry{o.entry(r, item, whole(len(o.Record.Items(photosList))+1))}
	for _, of := range [][2]string{{"of", p.Of}, {"caption", p.Caption}, {"taken", p.Taken}, {"by", p.By}, {"SHA-256", p.SHA256}} {
		if of[1] != "" {
			out = append(out, o.entry(r, item+"/"+of[0], of[1]))
		}
	}
	return out
}

// small is how long a side of a photo on a page may be: some tens of kilobytes
// where a camera makes millions, for a phone on a weak signal.
const small = 640

// photo hands out a picture as it was taken, by the act that brought it; or
// small, for a page, where there is a server to make it so.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	if r.URL.Query().Get("size") != "small" || s.Away != nil {
		return s.givePhoto(w, r, r.PathValue("act"))
	}
	p, err := s.Store.Photo(r.Context(), r.PathValue("act"))
	if err != nil {
		return err
	}
	var b bytes.Buffer
	read, err := photo.Read(p.Content)
	if err == nil {
		err = read.Print(&b, small)
	}
	if err != nil {
		return s.givePhoto(w, r, r.PathValue("act")) // the browser may make something of it
	}
	return givePicture(w, "image/jpeg", b.Bytes())
}

func (s *Server) givePhoto(w http.ResponseWriter, r *http.Request, act string) error {
	p, err := s.Store.Photo(r.Context(), act)
	if err != nil {
		return err
	}
	return givePicture(w, p.Type, p.Content)
}

// givePicture writes a picture, which never changes.
func givePicture(w http.ResponseWriter, kind string, content []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	_, err := w.Write(content)
	return err
}

// photoOut is a photo as a program reads it.
type photoOut struct {
	Name     string `json:"name"`
	Of       string `json:"of"`
	Caption  string `json:"caption"`
	OnPapers bool   `json:"onPapers"`
	Taken    string `json:"taken"`
	By       string `json:"by"`
	SHA256   string `json:"sha256"`
	Act      string `json:"act,omitempty"` // that brought the picture; left out where it is not here
	Type     string `json:"type,omitempty"`
	Bytes    int    `json:"bytes,omitempty"`
}

func (s *Server) apiPhotos(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	acts, err := s.photoActs(r.Context(), o)
	if err != nil {
		return err
	}
	out := []photoOut{}
	for _, p := range o.Job.Photos {
		one := photoOut{Name: p.Name, Of: p.Of, Caption: p.Caption, OnPapers: p.OnPapers.Or(false), Taken: p.Taken, By: p.By, SHA256: p.SHA256}
		if a, here := acts[p.Name]; here {
			one.Act, one.Type, one.Bytes = a.ID, a.Photo.Type, a.Photo.Bytes
		}
		out = append(out, one)
	}
	return Give(w, http.StatusOK, photoList{out})
}

// apiPhoto hands out a picture, by the photo's name or by the act that brought
// it.
func (s *Server) apiPhoto(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("photo")
	acts, err := s.Store.Acts(r.Context(), r.PathValue("job"), 0)
	if err != nil {
		return err
	}
	for _, a := range slices.Backward(acts) {
		if a.Photo != nil && (a.PhotoName() == name || a.ID == name) {
			return s.givePhoto(w, r, a.ID)
		}
	}
	return store.ErrNotFound
}
