package web

// The papers of a job, made when they are asked for, and the job file.

import (
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"chargewright/job"
	"chargewright/paper"
)

// pack makes the papers as they stand now, all or those named.
func (s *Server) pack(o *opened, only ...string) ([]paper.File, error) {
	return paper.Pack(o.Model, o.Found, o.Expected, nil, s.Now().Truncate(time.Second), only...)
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
	files, err := s.pack(o)
	if err != nil {
		return err
	}
	var rows []*paperRow
	at := map[string]*paperRow{}
	for _, f := range files {
		stem := strings.TrimSuffix(f.Name, path.Ext(f.Name))
		row := at[stem]
		if row == nil {
			row = &paperRow{Name: capital(strings.ReplaceAll(stem, "-", " "))}
			at[stem] = row
			rows = append(rows, row)
		}
		row.Files = append(row.Files, paperFile{f.Name, strings.ToUpper(path.Ext(f.Name)[1:])})
	}
	issued, wrong := s.issuedOf(o)
	return render(w, http.StatusOK, "papers.html", struct {
		frame
		Papers      []*paperRow
		Issued      []IssuedCertificate
		IssuedWrong string
	}{o.frame(s, r, "Papers", "papers"), rows, issued, wrong})
}

func (s *Server) paper(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var only []string // drawings and data files belong to no paper of a name
	if stem := strings.TrimSuffix(r.PathValue("name"), path.Ext(r.PathValue("name"))); slices.Contains(paper.Names(), stem) {
		only = []string{stem}
	}
	files, err := s.pack(o, only...)
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
	name := identifier(o.Job.Name)
	if name == "" {
		name = "job"
	}
	w.Header().Set("Content-Type", "application/yaml; charset=utf-8")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name + ".yaml"}))
	_, err = w.Write(job.Write(o.Job))
	return err
}
