package ledger

import (
	"errors"
	"io"
	"time"

	"chargewright/demand"
	"chargewright/sheet"
)

// Recording is a recording of currents, and what must be known to read it.
type Recording struct {
	Table
	Columns demand.Columns
	Clock   string // time zone of its times; the site's where it is not said
}

// Read reads the recording for a site in a time zone. clock is what the field
// of its own clock is called.
func (r Recording) Read(set demand.Setting, site *time.Location, clock string) (*demand.Log, error) {
	text, err := r.text()
	if err != nil {
		return nil, err
	}
	return r.read(text, set, site, clock)
}

func (r Recording) text() ([]byte, error) {
	return readHanded(r.Table, func(_ string, from io.Reader) ([]byte, error) { return io.ReadAll(from) })
}

func (r Recording) read(text []byte, set demand.Setting, site *time.Location, clock string) (*demand.Log, error) {
	set.Zone, set.Local = site, site
	if r.Clock != "" {
		var err error
		if set.Zone, err = Zone(clock, r.Clock); err != nil {
			return nil, err
		}
	}
	return demand.ReadLog(r.Name, text, r.Columns, set)
}

// Clamp is two recordings that say whether a clamp is right.
type Clamp struct {
	Site, Point Recording
	Zone        string
	Line        int // that feeds the point, from 0
}

// Prove compares the recordings.
func (c Clamp) Prove() (demand.ClampResult, error) {
	var wrong faults
	site, err := c.log(c.Site, "clock")
	wrong.add(err)
	point, err := c.log(c.Point, "point-clock")
	wrong.add(err)
	if len(wrong) > 0 {
		return demand.ClampResult{}, errors.Join(wrong...)
	}
	return demand.ProveLogs(site, point, c.Line)
}

func (c Clamp) log(r Recording, clock string) (*demand.Log, error) {
	local, err := Zone("zone", c.Zone)
	if err != nil {
		return nil, err
	}
	text, err := r.text()
	if err != nil {
		return nil, err
	}
	set := demand.Setting{Phases: 3}
	found := demand.ReadHeads(text, r.Columns).Found
	switch lines := found.Current; {
	case found.Power+found.Energy+found.Register != "":
		return nil, sheet.Fault{File: r.Name, Line: 1, Field: found.Power + found.Energy + found.Register,
			Want: "a clamp is judged by currents: name the column that holds the current, in A"}
	case lines[1] == "": // one clamp has no line's name: it is on the line it should be, or it is not
		set.Phases = 1
	case lines[2] == "":
		return nil, sheet.Fault{File: r.Name, Line: 1, Want: "it has the current of two lines: all three are wanted, or one clamp alone"}
	}
	return r.read(text, set, local, clock)
}
