package web

// A recording of the site's supply that comes with a form, and which of its
// columns holds what. Nothing of it is stored.

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"chargewright/demand"
)

// recordedForm is a recording with what was said of it.
type recordedForm struct {
	File     table
	Zone     string // of the site
	Clock    string // of the file's times, where it is not the site's
	Heads    []string
	Columns  []columnPick
	Usual    bool // no column was picked: the usual words are looked for
	MostSize int
}

// columnPick is what one kind of figure is read from.
type columnPick struct{ Name, Label, Picked string }

var columnKinds = []columnPick{
	{Name: "column-time", Label: "Date and time, or the date alone"}, {Name: "column-clock", Label: "Time of day, where it stands apart"},
	{Name: "column-L1", Label: "Current of L1, A"}, {Name: "column-L2", Label: "Current of L2, A"}, {Name: "column-L3", Label: "Current of L3, A"},
	{Name: "column-power", Label: "Or power, kW"}, {Name: "column-energy", Label: "Or energy of each interval, kWh"}, {Name: "column-register", Label: "Or the meter's register, kWh"},
}

// recordedOf reads what a form says of a recording.
func recordedOf(file table, value func(string) string) recordedForm {
	f := recordedForm{File: file, Zone: strings.TrimSpace(value("zone")), Clock: strings.TrimSpace(value("clock")), Columns: slices.Clone(columnKinds), Usual: true, MostSize: mostTable >> 20}
	if f.Zone == "" {
		f.Zone = "Europe/London"
	}
	for i := range f.Columns {
		f.Columns[i].Picked = value(f.Columns[i].Name)
		f.Usual = f.Usual && f.Columns[i].Picked == ""
	}
	if file.Name != "" {
		f.Heads = demand.ReadHeads(file.text, demand.Columns{}).All
	}
	return f
}

// picked returns the column picked for a kind of figure.
func (f recordedForm) picked(name string) string {
	i := slices.IndexFunc(f.Columns, func(c columnPick) bool { return c.Name == name })
	return f.Columns[i].Picked
}

// read reads the recording for a job; no file is none.
func (f recordedForm) read(o *opened) (log *demand.Log, zone *time.Location, err error) {
	if zone, err = zoneNamed("Time zone of the site", f.Zone); err != nil {
		return nil, nil, err
	}
	if f.File.Name == "" {
		return nil, zone, nil
	}
	set, err := demand.SettingFor(o.Model, f.File.Name)
	if err != nil {
		return nil, zone, wrong(err)
	}
	set.Zone, set.Local = zone, zone
	if f.Clock != "" {
		if set.Zone, err = zoneNamed("Time zone of the file's times", f.Clock); err != nil {
			return nil, zone, err
		}
	}
	c := demand.Columns{Time: f.picked("column-time"), Current: [3]string{f.picked("column-L1"), f.picked("column-L2"), f.picked("column-L3")},
		Power: f.picked("column-power"), Energy: f.picked("column-energy"), Register: f.picked("column-register")}
	if apart := f.picked("column-clock"); apart != "" {
		c.Date, c.Time, c.Clock = c.Time, "", apart
	}
	if log, err = demand.ReadLog(f.File.Name, f.File.text, c, set); err != nil {
		return nil, zone, wrong(err)
	}
	return log, zone, nil
}

// zoneNamed reads the name of a time zone.
func zoneNamed(label, name string) (*time.Location, error) {
	z, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil, refuse(http.StatusUnprocessableEntity, "%s is %q: the name of one is wanted, like Europe/London or UTC.", label, name)
	}
	return z, nil
}

// runsForm is how many runs are asked for, as it was typed.
type runsForm struct{ Runs, Seed string }

// Bounds of what is run for a page, in steps of all runs together: what answers
// before a browser stops waiting for the server, and what a phone does in a few
// seconds.
const (
	mostStepsHere  = 5_300_000
	mostStepsAlone = 2_200_000
)

// runsOf reads the form; what was left out is as usual.
func (s *Server) runsOf(value func(string) string) (f runsForm, runs int, seed uint64, err error) {
	f = runsForm{strings.TrimSpace(value("runs")), strings.TrimSpace(value("seed"))}
	if f.Runs == "" {
		f.Runs = "5"
		if s.Away != nil {
			f.Runs = "2"
		}
	}
	if f.Seed == "" {
		f.Seed = "1"
	}
	n, err := figureOf("How many runs", f.Runs, 0, 10_000)
	if err != nil {
		return f, 0, 0, err
	}
	first, err := figureOf("Seed of the first run", f.Seed, 0, 1e15)
	return f, int(n), uint64(first), err
}

// studied runs a job within the bounds of a page. It is nil where nothing was
// run.
func (s *Server) studied(prepared *demand.Studied, runs int, seed uint64) (*demand.Study, *demand.Result, error) {
	if len(prepared.Gaps) > 0 {
		return &demand.Study{Gaps: prepared.Gaps}, nil, nil
	}
	if runs == 0 {
		return nil, nil, nil
	}
	most := int64(mostStepsHere)
	if s.Away != nil {
		most = mostStepsAlone
	}
	if steps := prepared.Steps(); steps > most || steps*int64(runs) > most {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "%s of %.3g years in steps of %v are %.1f million steps, and up to %.1f million are run here: ask for fewer runs, fewer years or a longer step. The command line runs as many as you like.",
			counted(runs, "run", "runs"), prepared.Length.Hours()/8760, prepared.Step, float64(steps*int64(runs))/1e6, float64(most)/1e6)
	}
	study, worst, err := prepared.Run(runs, seed, nil)
	if err != nil {
		return nil, nil, wrong(err)
	}
	return study, worst, nil
}
