package web

// A recording of the site's supply that comes with a form, and which of its
// columns holds what. Nothing of it is stored.

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/ledger"
)

// recordedForm is a recording with what was said of it.
type recordedForm struct {
	Slot     slot
	Clock    typed  // time zone of its times, where it is not the site's
	Zone     string // of the site
	Headings []string
	Columns  []choice
	Looked   bool // its columns are to be looked at
}

// columnKinds is what the columns of a recording may hold.
var columnKinds = []choice{
	{Name: "column-time", Label: "Date and time, or the date alone"}, {Name: "column-clock", Label: "Time of day, where it stands apart"},
	{Name: "column-L1", Label: "Current of L1, A"}, {Name: "column-L2", Label: "Current of L2, A"}, {Name: "column-L3", Label: "Current of L3, A"},
	{Name: "column-power", Label: "Or power, kW"}, {Name: "column-energy", Label: "Or energy of each interval, kWh"},
	{Name: "column-register", Label: "Or the meter's register, kWh"},
}

// recordedOf reads what a form says of a recording of the supply.
func recordedOf(file table, value func(string) string) recordedForm {
	place := slot{Field: "recording", Label: "Recording of the supply (CSV)",
		Hint: "A meter's half-hours or a logger's currents, up to " + whole(mostTable>>20) + " MiB. Other headings can be matched once it was sent."}
	return readRecorded(place, "", columnKinds, file, value)
}

// readRecorded reads what a form says of a recording, in fields whose names
// begin with a prefix.
func readRecorded(place slot, prefix string, kinds []choice, file table, value func(string) string) recordedForm {
	f := recordedForm{Slot: place, Columns: slices.Clone(kinds), Zone: cmp.Or(strings.TrimSpace(value("zone")), homeZone),
		Clock: typed{Name: prefix + "clock", Label: "Clock of its times, where it is not the site's, like UTC", Value: strings.TrimSpace(value(prefix + "clock"))}}
	if file.Name != "" {
		f.Slot.Held = []table{file}
	}
	heads := demand.ReadHeads(file.text, demand.Columns{}) // what is wrong with it is said when it is read
	f.Headings = offered(heads.All)
	found := map[string]string{"column-time": heads.Found.Time + heads.Found.Date, "column-clock": heads.Found.Clock, "column-L1": heads.Found.Current[0],
		"column-L2": heads.Found.Current[1], "column-L3": heads.Found.Current[2],
		"column-power": heads.Found.Power, "column-energy": heads.Found.Energy, "column-register": heads.Found.Register}
	for i, c := range f.Columns {
		f.Columns[i].Name, f.Columns[i].Found = prefix+c.Name, found[c.Name]
		f.Columns[i].Chosen = value(prefix + c.Name)
	}
	return f
}

// Column is one choice of a column, as its part of the page takes it.
func (f recordedForm) Column(i int) columnField {
	return columnField{f.Columns[i].Name, f.Columns[i], f.Headings}
}

// Chosen reports that a column was matched, or another clock said.
func (f recordedForm) Chosen() bool {
	return f.Looked && len(f.Headings) > 0 || f.Clock.Value != "" || slices.ContainsFunc(f.Columns, func(c choice) bool { return c.Chosen != "" })
}

// Elsewhere reports that the site is not where a site is by itself.
func (f recordedForm) Elsewhere() bool { return f.Zone != homeZone }

// recording is the recording as it is handed on.
func (f recordedForm) recording() ledger.Recording {
	chosen := func(kind string) (column, found string) {
		i := slices.IndexFunc(f.Columns, func(c choice) bool { return strings.HasSuffix(c.Name, kind) })
		if i < 0 {
			return "", ""
		}
		return f.Columns[i].Chosen, f.Columns[i].Found
	}
	var c demand.Columns
	for kind, to := range map[string]*string{"column-time": &c.Time, "column-clock": &c.Clock, "column-L1": &c.Current[0], "column-L2": &c.Current[1],
		"column-L3":    &c.Current[2],
		"column-power": &c.Power, "column-energy": &c.Energy, "column-register": &c.Register} {
		*to, _ = chosen(kind)
	}
	if c.Clock != "" {
		_, found := chosen("column-time")
		c.Date, c.Time = cmp.Or(c.Time, found), ""
	}
	return ledger.Recording{Table: f.Slot.one().handed(), Columns: c, Clock: f.Clock.Value}
}

// recordedFields is what the fields of a recording are called on the page.
var recordedFields = map[string]string{"zone": "Time zone of the site", "clock": "Clock of the recording"}

// read reads the recording for a job; no file is none.
func (f recordedForm) read(o *opened) (log *demand.Log, zone *time.Location, err error) {
	said := func(err error) error {
		if err == nil {
			return nil
		}
		return Refuse(http.StatusUnprocessableEntity, "%s", strings.Join(linesOf(err, recordedFields), "\n"))
	}
	if zone, err = ledger.Zone("zone", f.Zone); err != nil {
		return nil, nil, said(err)
	}
	file := f.Slot.one()
	if file.Name == "" {
		return nil, zone, nil
	}
	set, err := demand.SettingFor(o.Model, file.Name)
	if err != nil {
		return nil, zone, said(err)
	}
	log, err = f.recording().Read(set, zone, "clock")
	return log, zone, said(err)
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
	if len(prepared.Lacks) > 0 {
		return &demand.Study{Lacks: prepared.Lacks}, nil, nil
	}
	if runs == 0 {
		return nil, nil, nil
	}
	most := int64(mostStepsHere)
	if s.Away != nil {
		most = mostStepsAlone
	}
	if steps := prepared.Steps(); steps > most || steps*int64(runs) > most {
		return nil, nil, Refuse(http.StatusUnprocessableEntity, "%s of %.3g years in steps of %v are %.1f million steps, and up to %.1f million are run here: "+
			"ask for fewer runs, fewer years or a longer step. The command line runs as many as you like.",
			counted(runs, "run", "runs"), prepared.Length.Hours()/8760, prepared.Step, float64(steps*int64(runs))/1e6, float64(most)/1e6)
	}
	study, worst, err := prepared.Run(runs, seed, nil)
	if prepared.While != nil && prepared.While.Err() != nil {
		return nil, nil, prepared.While.Err()
	}
	if err != nil {
		return nil, nil, wrong(err)
	}
	return study, worst, nil
}
