package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"chargewright/begin"
	"chargewright/job"
)

type newCmd struct {
	File      string `arg:"" optional:"" help:"Job file to write, like barn.yaml."`
	Name      string `help:"What the job is called."`
	Template  string `help:"Begin from a template, like \"house with one point\": what it says is assumed until somebody has seen it. --list names them."`
	Points    int    `help:"How many points, of a template of several."`
	Like      string `type:"existingfile" help:"Begin as another job was: its job file. With a template, what was usual there takes the place of what the template takes."`
	Templates string `type:"existingfile" help:"Table of templates of your own, beside the built-in ones (columns template, path, value, because)."`
	List      bool   `help:"List the templates."`
}

// Run writes a job file: empty, from a template, or as another was.
func (c *newCmd) Run(out io.Writer) error {
	all, err := templates(c.Templates)
	if err != nil {
		return err
	}
	if c.List {
		for _, t := range begin.Offered(all) {
			fmt.Fprintf(out, "%-36s %s\n", t.Name, t.Says)
		}
		return nil
	}
	if c.File == "" {
		return errors.New("say which job file to write, like barn.yaml")
	}
	text := job.Starter(c.Name)
	if c.Template != "" || c.Like != "" {
		if text, err = c.begun(all); err != nil {
			return err
		}
	}
	if err := writeJob(c.File, text); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s written\nnext: fill in what you see on site, then  chargewright check %s\n", c.File, c.File)
	return nil
}

// begun is a job file from a template, as another job was, or both.
func (c *newCmd) begun(all []begin.Template) ([]byte, error) {
	var past []begin.Past
	if c.Like != "" {
		text, err := os.ReadFile(c.Like)
		if err != nil {
			return nil, fmt.Errorf("cannot read the job file: %w", err)
		}
		file, err := job.ReadRecord(c.Like, text)
		if err != nil {
			return nil, err
		}
		j, _ := file.Job()
		past = []begin.Past{{Name: j.Name, Record: file.Record()}}
	}
	t := begin.Template{}
	if c.Template == "" {
		t = begin.AsLast(past[0])
	} else {
		known := false
		if t, known = begin.Named(all, c.Template); !known {
			return nil, fmt.Errorf("there is no template %q: chargewright new --list names them", c.Template)
		}
	}
	points := t.Points
	if c.Points > 0 {
		points = c.Points
	}
	if points > begin.MostPoints {
		return nil, fmt.Errorf("%d points: %d at most", points, begin.MostPoints)
	}
	entries := append(begin.Firm(past), t.Entries(c.Name, time.Now().Format(time.DateOnly), points, nil, t.Remembered(past))...)
	j, err := job.NewRecord(entries...).Job(c.File)
	if err != nil && !unfinished(err) {
		return nil, err
	}
	return job.Write(j), nil
}

// unfinished reports that a job lacks something and has no other fault.
func unfinished(err error) bool {
	var ps job.Problems
	if !errors.As(err, &ps) {
		return false
	}
	for _, p := range ps {
		if !p.Unfinished() {
			return false
		}
	}
	return true
}

// templates are those of the program, and those of a firm's own table.
func templates(file string) ([]begin.Template, error) {
	all, err := begin.BuiltIn()
	if err != nil || file == "" {
		return all, err
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read the templates: %w", err)
	}
	return begin.Read(file, string(text), all)
}

// writeJob writes a job file, and never over one that is there.
func writeJob(file string, text []byte) error {
	err := writeNew(file, text)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already and is left as it is: choose another name", file)
	}
	if err != nil {
		return fmt.Errorf("write the job file: %w", err)
	}
	return nil
}
