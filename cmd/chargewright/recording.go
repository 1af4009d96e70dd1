package main

import (
	"fmt"
	"os"
	"strings"
	"time"
	_ "time/tzdata" // a site's time zone is known on any machine

	"chargewright/demand"
	"chargewright/model"
)

// recordingFlags say what is in a file of recordings.
type recordingFlags struct {
	Zone  string `default:"Europe/London" help:"Time zone of the site."`
	Clock string `help:"Time zone of the file's times, where it is not the site's, like UTC."`
	Time  string `help:"Heading of the column with date and time; or two, date and time of day, with a comma between."`
	Amps  string `help:"Headings of the columns with the current of each line, in A, with commas between."`
	KW    string `name:"kw" help:"Heading of the column with the power, in kW."`
	KWh   string `name:"kwh" help:"Heading of the column with the energy of each interval, in kWh."`
	Reg   string `name:"register" help:"Heading of the column with the meter's register, in kWh."`
}

// read reads a file of recordings.
func (r *recordingFlags) read(file string, set demand.Setting) (*demand.Log, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read the recording: %w", err)
	}
	local, err := zoneOf("zone", r.Zone)
	if err != nil {
		return nil, err
	}
	set.Zone, set.Local = local, local
	if r.Clock != "" {
		if set.Zone, err = zoneOf("clock", r.Clock); err != nil {
			return nil, err
		}
	}
	c := demand.Columns{Time: r.Time, Power: r.KW, Energy: r.KWh, Register: r.Reg}
	if date, day, two := strings.Cut(r.Time, ","); two {
		c.Time, c.Date, c.Clock = "", date, day
	}
	if r.Amps != "" {
		names := strings.Split(r.Amps, ",")
		if len(names) > 3 {
			return nil, fmt.Errorf("--amps: %d headings: one for each line is wanted, three at most", len(names))
		}
		copy(c.Current[:], names)
	}
	return demand.ReadLog(file, text, c, set)
}

func zoneOf(flag, name string) (*time.Location, error) {
	z, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("--%s: %q is no time zone: one like Europe/London or UTC is wanted", flag, name)
	}
	return z, nil
}

// readFor reads a recording of a job's supply.
func (r *recordingFlags) readFor(m *model.Model, file string) (*demand.Log, error) {
	if file == "" {
		return nil, nil
	}
	set, err := demand.SettingFor(m, file)
	if err != nil {
		return nil, err
	}
	return r.read(file, set)
}
