package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"chargewright/design"
	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/paper"
	"chargewright/prove"
)

type packCmd struct {
	Job    string   `arg:"" help:"Job file."`
	Out    string   `short:"o" default:"out" help:"Folder to write the papers into."`
	Only   []string `placeholder:"NAME" help:"Only these papers: ${papers}."`
	Bound  bool     `help:"Each envelope as one PDF beside the papers as well."`
	Zip    bool     `help:"Put all of it into one ZIP beside the papers as well."`
	With   []string `placeholder:"FILE" help:"Files to put into the ZIP as well, such as the issued certificate."`
	Photos string   `placeholder:"FOLDER" help:"Folder of the photos; beside the job file, or in photos beside it, if left out."`
	Date   string   `help:"Date on the papers, like 2026-11-25; today if left out."`
}

// Run writes the papers. Each is written beside its place and moved into it,
// so that a paper is there whole or not at all. It exits 0 when all are
// written: what fails or is not known stands in them, and check says it by its
// exit code.
func (c *packCmd) Run(out io.Writer) error {
	made := time.Now()
	if c.Date != "" {
		var err error
		if made, err = time.Parse(time.DateOnly, c.Date); err != nil {
			return fmt.Errorf("--date is %q: write year, month and day, like 2026-11-25", c.Date)
		}
	}
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	found, expected := design.Check(m), prove.Expect(m)
	var photos map[string][]byte
	if len(c.Only) == 0 || slices.Contains(c.Only, paper.PhotoSheet) || slices.Contains(c.Only, paper.Notices) {
		if photos, err = c.photos(m.Job); err != nil {
			return err
		}
	}
	files, err := paper.Pack(m, found, expected, photos, made, c.Only...)
	var wrong paper.PhotoProblems
	if errors.As(err, &wrong) {
		return c.placed(wrong)
	}
	if err != nil {
		return fmt.Errorf("make the papers of %s: %w", c.Job, err)
	}
	if len(files) == 0 {
		return fmt.Errorf("%s: no photo is chosen, so there is no photo sheet: write on papers: yes under a photo", c.Job)
	}
	if c.Bound {
		bound, err := paper.Bound(m, found, expected, photos, made)
		if err != nil {
			return fmt.Errorf("bind the papers of %s: %w", c.Job, err)
		}
		files = append(files, bound...)
	}
	if c.Zip {
		all := slices.Clone(files)
		for _, name := range c.With {
			content, err := os.ReadFile(name)
			if err != nil {
				return fmt.Errorf("put a file into the ZIP: %w", err)
			}
			all = append(all, document.File{Folder: paper.ForTheCustomer, Name: filepath.Base(name), Content: content})
		}
		whole, err := document.Zip(all, made)
		if err != nil {
			return err
		}
		files = append(files, document.File{Name: "hand-over.zip", Content: whole})
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("make the folder for the papers: %w", err)
	}
	for _, f := range files {
		at := filepath.Join(c.Out, filepath.FromSlash(f.Path()))
		if len(c.Only) > 0 { // a paper asked for by name lies where it was asked for
			at = filepath.Join(c.Out, f.Name)
		}
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			return fmt.Errorf("make a folder for the papers: %w", err)
		}
		if err := replace(at, f.Content); err != nil {
			return fmt.Errorf("write a paper: %w", err)
		}
		fmt.Fprintln(out, at)
	}
	fmt.Fprintf(out, "%v; the design sheet opens with what to do next\n", finding.Summarise(found))
	if gaps := paper.Missing(m, found, expected, made); len(gaps) > 0 {
		fmt.Fprintf(out, "every paper is a draft; %d things keep the certificate from being issued: chargewright issue %s lists them\n", len(gaps), c.Job)
	} else {
		fmt.Fprintf(out, "every paper is a draft; nothing keeps the certificate from being issued: chargewright issue %s\n", c.Job)
	}
	return nil
}

// folders are where the photos of the job are looked for, in this order.
func (c *packCmd) folders() []string {
	if c.Photos != "" {
		return []string{c.Photos}
	}
	beside := filepath.Dir(c.Job)
	return []string{beside, filepath.Join(beside, "photos")}
}

// photos reads the files of the chosen photos. One that is in no folder is left
// out, to be told with whatever else is wrong.
func (c *packCmd) photos(j *job.Job) (map[string][]byte, error) {
	out := map[string][]byte{}
	for _, p := range j.Chosen() {
		for _, folder := range c.folders() {
			content, err := os.ReadFile(filepath.Join(folder, p.Name))
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return nil, fmt.Errorf("read a photo: %w", err)
			}
			out[p.Name] = content
			break
		}
	}
	return out, nil
}

// placed says what is wrong with photos by the lines of the job file.
func (c *packCmd) placed(wrong paper.PhotoProblems) error {
	text, err := os.ReadFile(c.Job)
	if err != nil {
		return wrong
	}
	file, _ := job.ReadRecord(c.Job, text)
	if file == nil {
		return wrong
	}
	var out job.Problems
	for _, p := range wrong {
		one := job.Problem{File: c.Job, Line: file.LineOf(p.Photo, p.Field), Field: fmt.Sprintf("photo %q, %s", p.Photo, p.Field), Want: p.Want}
		if p.Gone {
			one.Want = "no file of that name is in " + strings.Join(c.folders(), " or ") + ": put it there, name its folder by --photos, or write on papers: no"
		}
		out = append(out, one)
	}
	return out
}

// replace writes content to a file in one step.
func replace(name string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".writing-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // does nothing once it has been moved
	if _, err := f.Write(content); err != nil {
		f.Close()
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		f.Close()
		return err
	}
	if err := f.Sync(); err != nil {
		f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
