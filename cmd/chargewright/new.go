package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"chargewright/job"
)

type newCmd struct {
	File string `arg:"" help:"Job file to write, like barn.yaml."`
	Name string `help:"What the job is called."`
}

// Run writes a starter job file.
func (c *newCmd) Run(out io.Writer) error {
	if err := writeJob(c.File, job.Starter(c.Name)); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s written\nnext: fill in what you see on site, then  chargewright check %s\n", c.File, c.File)
	return nil
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
