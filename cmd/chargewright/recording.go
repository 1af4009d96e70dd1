package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/ledger"
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
	local, err := zoneOf(r.Zone)
	if err != nil {
		return nil, err
	}
	c, err := columnsOf("amps", r.Time, r.Amps)
	if err != nil {
		return nil, err
	}
	c.Power, c.Energy, c.Register = r.KW, r.KWh, r.Reg
	log, err := ledger.Recording{Table: tableAt(file), Columns: c, Clock: r.Clock}.Read(set, local, "clock")
	return log, byOption(err)
}

// byOption says an error by the names the options have on the command line.
func byOption(err error) error {
	if err == nil {
		return nil
	}
	return errors.New(strings.Join(ledger.Lines(err, func(field string) string { return "--" + field }), "\n"))
}

// columnsOf reads headings with commas between: of the time, and of the current
// of each line.
func columnsOf(flag, times, amps string) (demand.Columns, error) {
	c := demand.Columns{Time: times}
	if date, day, two := strings.Cut(times, ","); two {
		c.Time, c.Date, c.Clock = "", date, day
	}
	if amps == "" {
		return c, nil
	}
	names := strings.Split(amps, ",")
	if len(names) > len(c.Current) {
		return c, fmt.Errorf("--%s: %d headings: one for each line is wanted, three at most", flag, len(names))
	}
	copy(c.Current[:], names)
	return c, nil
}

func zoneOf(name string) (*time.Location, error) {
	z, err := ledger.Zone("zone", name)
	return z, byOption(err)
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
