package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/job"
)

type newCmd struct {
	File string `arg:"" help:"Job file to write, like barn.yaml."`
	Name string `help:"What the job is called."`
}

// Run writes a starter job file, and never over one that is there.
func (c *newCmd) Run(out io.Writer) error {
	f, err := os.OpenFile(c.File, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if os.IsExist(err) {
		return fmt.Errorf("%s is there already and is left as it is: choose another name", c.File)
	}
	if err != nil {
		return fmt.Errorf("write the job file: %w", err)
	}
	defer f.Close()
	if _, err := f.Write(job.Starter(c.Name)); err != nil {
		return fmt.Errorf("write the job file: %w", err)
	}
	fmt.Fprintf(out, "%s written\nnext: fill in what you see on site, then  chargewright check %s\n", c.File, c.File)
	return nil
}
