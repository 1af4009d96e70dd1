package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/drawing"
)

type curvesCmd struct {
	Job string `arg:"" type:"existingfile" help:"Job file."`
	Out string `short:"o" name:"out" default:"-" help:"SVG file to write; standard output if not said."`
}

// Run draws the devices in series, each chain on its own sheet.
func (c *curvesCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	return writePicture(out, c.Out, drawing.Curves(m))
}

// writePicture writes a picture to a file, or to out for "-".
func writePicture(out io.Writer, file string, s drawing.Scene) error {
	if file == "-" {
		_, err := out.Write(s.SVG())
		return err
	}
	if err := os.WriteFile(file, s.SVG(), 0o644); err != nil {
		return fmt.Errorf("write the picture: %w", err)
	}
	fmt.Fprintf(out, "%s written: %s\n", file, s.Title)
	return nil
}
