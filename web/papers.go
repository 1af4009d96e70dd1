package web

// The papers of a job, made when they are asked for, and the job file.

import (
	"context"
	"errors"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/job"
	"chargewright/paper"
)

// pack makes the papers as they stand now, all or those named. The photo sheet
// is made only by its name: its photos take time.
func (s *Server) pack(ctx context.Context, o *opened, only ...string) ([]document.File, error) {
	var photos map[string][]byte
	if slices.Equal(only, []string{paper.PhotoSheet}) || slices.Equal(only, []string{paper.Notices}) {
		var err error
		if photos, err = s.photoFiles(ctx, o, o.Job.Chosen()); err != nil {
			return nil, err
		}
	}
	files, err := paper.Pack(o.Model, o.Found, o.Expected, photos, s.Now().Truncate(time.Second), only...)
	var wrong paper.PhotoProblems
	if errors.As(err, &wrong) {
		return nil, s.photoRefusal(wrong)
	}
	return files, err
}

// names is what the papers that can be made are called, file by file.
func (s *Server) paperNames(ctx context.Context, o *opened) ([]string, error) {
	files, err := s.pack(ctx, o)
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
	}
	if len(o.Job.Chosen()) > 0 {
		names = append(names, paper.PhotoSheet+".pdf", paper.PhotoSheet+".json")
	}
	return names, err
}

// paperRow is one paper and the data that go with it.
type paperRow struct {
	Name  string
	Files []paperFile
}

type paperFile struct{ Name, Kind string }

func (s *Server) papers(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	names, err := s.paperNames(r.Context(), o)
	if err != nil {
		return err
	}
	var rows []*paperRow
	at := map[string]*paperRow{}
	for _, name := range names {
		stem := strings.TrimSuffix(name, path.Ext(name))
		row := at[stem]
		if row == nil {
			row = &paperRow{Name: capital(strings.ReplaceAll(stem, "-", " "))}
			at[stem] = row
			rows = append(rows, row)
		}
		row.Files = append(row.Files, paperFile{name, strings.ToUpper(path.Ext(name)[1:])})
	}
	issued, wrong := s.issuedOf(o)
	return render(w, http.StatusOK, "papers.html", struct {
		Frame
		Papers         []*paperRow
		Issued         []IssuedCertificate
		IssuedWrong    string
		Photos, Chosen int
	}{o.frame(s, r, "Papers", "papers"), rows, issued, wrong, len(o.Job.Photos), len(o.Job.Chosen())})
}

func (s *Server) paper(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var only []string // drawings and data files belong to no paper of a name
	switch stem := strings.TrimSuffix(r.PathValue("name"), path.Ext(r.PathValue("name"))); {
	case slices.Contains(paper.Names(), stem):
		only = []string{stem}
	case strings.HasPrefix(stem, "notice-"):
		only = []string{paper.Notices}
	}
	files, err := s.pack(r.Context(), o, only...)
	if err != nil {
		return err
	}
	for _, f := range files {
		if f.Name != r.PathValue("name") {
			continue
		}
		w.Header().Set("Content-Type", contentType(f.Name))
		w.Header().Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": f.Name}))
		_, err := w.Write(f.Content)
		return err
	}
	return notInJob
}

func contentType(name string) string {
	switch path.Ext(name) {
	case ".pdf":
		return "application/pdf"
	case ".json":
		return "application/json"
	case ".csv":
		return "text/csv; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	}
	return "application/octet-stream"
}

// jobFile hands out the job as a job file.
func (s *Server) jobFile(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/yaml; charset=utf-8")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": o.fileStem() + ".yaml"}))
	_, err = w.Write(job.Write(o.Job))
	return err
}
