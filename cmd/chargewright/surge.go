package main

import (
	"io"

	"chargewright/drawing"
)

type surgeCmd struct {
	Job string `arg:"" type:"existingfile" help:"Job file."`
	Out string `short:"o" name:"out" default:"-" help:"SVG file to write; standard output if not said."`
}

// Run draws the surge protection from the origin outwards.
func (c *surgeCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	return writePicture(out, c.Out, drawing.SurgeLine(m))
}
