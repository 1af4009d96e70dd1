package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"chargewright/choose"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/standard"
)

type chooseCmd struct {
	Job       string  `arg:"" type:"existingfile" help:"Job file with what is known of the site; what it leaves open is chosen."`
	Aim       string  `enum:"first,life,fewest" default:"first" help:"Best by: first (least first cost), life (least cost with the losses of its life) or fewest (fewest different materials)."`
	Years     float64 `default:"20" help:"Years that losses count, for the life cost."`
	Tariff    float64 `default:"0.25" help:"Price of one kWh, for the life cost."`
	Hours     float64 `default:"1000" help:"Hours a year at full load that lose as much as the real use, for the life cost."`
	Catalogue string  `type:"existingdir" help:"Folder with catalogue files of your own; a file there takes the place of the one of its name."`
	Write     bool    `help:"Write the choices into the job file."`
	JSON      bool    `name:"json" help:"Print the choices as JSON."`
}

// Run chooses, prints, and writes if it is asked to.
func (c *chooseCmd) Run(out io.Writer) error {
	text, err := os.ReadFile(c.Job)
	if err != nil {
		return fmt.Errorf("cannot read the job file: %w", err)
	}
	file, err := job.ReadRecord(c.Job, text)
	if err != nil {
		return err
	}
	j, err := file.Job()
	if err != nil {
		return err
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		return fmt.Errorf("%s: %w", c.Job, err)
	}
	stock, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	found := choose.Choose(j, rules, stock, c.aim())
	if c.Write {
		for _, s := range found.Settings {
			if err := file.Set(s.Path, s.Value); err != nil {
				return fmt.Errorf("%s is left as it was: %w", c.Job, err)
			}
		}
		if err := replaceFile(c.Job, file.Bytes()); err != nil {
			return err
		}
	}
	if c.JSON {
		if err := writeJSON(out, found); err != nil {
			return err
		}
	} else {
		printChoice(out, found)
		if c.Write {
			fmt.Fprintf(out, "\n%d settings written to %s\nnext: chargewright check %s\n", len(found.Settings), c.Job, c.Job)
		} else if len(found.Settings) > 0 {
			fmt.Fprintf(out, "\nnext: chargewright choose %s --write\n", c.Job)
		}
	}
	code := finding.Summarise(found.Findings).ExitCode()
	if len(found.Lacks) > 0 && code == exitMet {
		code = exitOpen
	}
	if code != exitMet {
		return outcome{code}
	}
	return nil
}

func (c *chooseCmd) aim() choose.Aim {
	purpose, _ := choose.PurposeNamed(c.Aim) // the flag takes no other
	return choose.Aim{Purpose: purpose, Years: c.Years, Tariff: c.Tariff, Hours: c.Hours}
}

// catalogue opens the built-in catalogue, with the files of a folder in place
// of its own.
func catalogue(folder string) (*choose.Catalogue, error) {
	if folder == "" {
		return choose.BuiltIn()
	}
	return choose.WithOwn(os.DirFS(folder))
}

// replaceFile writes a file beside the old one and then takes its place, so
// that a failure leaves the old one as it was.
func replaceFile(name string, text []byte) error {
	info, err := os.Stat(name)
	if err != nil {
		return fmt.Errorf("write the job file: %w", err)
	}
	part := name + ".part"
	if err := os.WriteFile(part, text, info.Mode().Perm()); err != nil {
		return errors.Join(fmt.Errorf("write the job file: %w", err), removeIfThere(part))
	}
	if err := os.Rename(part, name); err != nil {
		return errors.Join(fmt.Errorf("write the job file: %w", err), removeIfThere(part))
	}
	return nil
}

func removeIfThere(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
