package commission

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/ocpp"
	"chargewright/pilot"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Intent is what the design asks of one point, and what the job already knows
// of it.
type Intent struct {
	Job      string
	Edition  string
	Invented bool
	Point    string
	Phases   quantity.Maybe[int]
	Lines    quantity.Maybe[trade.PhaseSet] // of the supply
	Current  quantity.Maybe[quantity.Amperes]
	FailSafe quantity.Maybe[quantity.Amperes]
	Serial   string // recorded before
	Smart    quantity.Maybe[bool]
	Gaps     map[string]finding.Lacks // why something is not known
	wanted   []wantedSetting
}

// wantedSetting is a setting the design asks for, or that the test needs.
type wantedSetting struct {
	setting ocpp.SettingName
	value   string
	why     string
	forTest bool     // put back at the end
	less    []string // values to fall back on where it is refused
	cost    string   // what it costs where it is refused or not there
}

// serialReading is how a job names the serial number of a point among its readings.
const serialReading = "serial number"

// IntentOf reads what a job asks of one of its points.
func IntentOf(m *model.Model, point string) (Intent, error) {
	var p *model.Point
	var names []string
	for _, q := range m.Points {
		names = append(names, q.Record.Name)
		if q.Record.Name == point || point == "" && len(m.Points) == 1 {
			p = q
		}
	}
	if p == nil {
		if len(names) == 0 {
			return Intent{}, fmt.Errorf("the job has no charge point")
		}
		return Intent{}, fmt.Errorf("the job has no charge point %q: it has %s; name one with --point", point, strings.Join(names, ", "))
	}
	r := p.Record
	in := Intent{Job: m.Job.Name, Edition: string(m.Job.Edition), Invented: m.Job.Invented, Point: r.Name, Phases: r.Phases, Gaps: map[string]finding.Lacks{}}
	if p.Circuit != nil {
		in.Lines = p.Circuit.Record.Phases
	}
	if !in.Lines.IsKnown() {
		lack := finding.Lack{What: "the job does not say which line conductors feed the point"}
		if p.Circuit != nil {
			lack.Path = p.Circuit.Thing().Path + "/phases"
		}
		in.Gaps["lines"] = finding.Lacks{lack}
	}
	rated := m.RatedCurrent(r)
	if rated.Known() {
		in.Current = quantity.Known(rated.Value)
	}
	if limit, ok := r.Limit.Get(); ok && (!rated.Known() || limit < rated.Value) {
		in.Current = quantity.Known(limit)
	}
	if !in.Current.IsKnown() {
		in.Gaps["current"] = rated.Lacks
	}
	in.failSafe(m, r)
	in.smart(m.Job, r)
	in.Serial = r.Serial
	// What is on the plate stands: a run that met another number is no reason to
	// take that for the job's. Where nobody read the plate, the first run said it.
	for _, reading := range m.Job.Readings {
		if in.Serial == "" && reading.At == r.Name && reading.Reading == serialReading {
			in.Serial = reading.Value
		}
	}
	for _, run := range m.Job.RunsOf(r.Name, trade.Commissioning) {
		if in.Serial == "" && !run.Trained() {
			in.Serial = run.Serial
		}
	}
	in.wanted = in.settings()
	return in, nil
}

// thing is the point as findings name it.
func (in *Intent) thing() works.Thing { return (&works.Point{Name: in.Point}).Thing() }

// failSafe shares the limiter's fail-safe current out among its points, whole
// amperes each, rounded down.
func (in *Intent) failSafe(m *model.Model, r *works.Point) {
	lack := finding.Lack{Path: in.thing().Path + "/limiter", What: "the job names no limiter with a fail-safe current for this point"}
	in.Gaps["fail-safe"] = finding.Lacks{lack}
	l, ok := m.Job.Limiter(r.Limiter)
	if !ok {
		return
	}
	lack.Path = l.Thing().Path + "/fail-safe current"
	in.Gaps["fail-safe"] = finding.Lacks{lack}
	all, ok := l.FailSafe.Get()
	if !ok {
		return
	}
	n := 0
	for _, p := range m.Points {
		if p.Record.Limiter == r.Limiter {
			n++
		}
	}
	each := quantity.Amperes(int(float64(all) / float64(n)))
	if each < pilot.LeastOffer {
		each = 0 // less cannot be offered: it pauses
	}
	in.FailSafe = quantity.Known(each)
	delete(in.Gaps, "fail-safe")
}

// smart says whether the smart charge point regulations reach the point.
//
//	source  SI 2021/1467 regs 1 and 3: private points under 50 kW, sold in
//	        England, Wales or Scotland
func (in *Intent) smart(j *job.Job, r *works.Point) {
	public, known := r.Public.Get()
	power, sized := r.Power.Get()
	switch {
	case j.Site.Nation == "Northern Ireland", known && public, sized && power >= 50_000:
		in.Smart = quantity.Known(false)
	case known && j.Site.Nation != "" && sized:
		in.Smart = quantity.Known(true)
	default:
		in.Gaps["smart"] = finding.Lacks{{Path: works.TheSite.Path + "/nation", Or: []string{in.thing().Path + "/power", in.thing().Path + "/public"},
			What: "the job does not say nation, power and whether the point is public"}}
	}
}

// rotations are how a point's L1 to L3 stand on the supply's, by the line its
// L1 is on; R, S and T are the supply's L1, L2 and L3 (OCPP 1.6 section 9.1).
var rotations = map[trade.PhaseSet]string{trade.L1: "RST", trade.L2: "STR", trade.L3: "TRS", trade.ThreePhase: "RST"}

// RotationOf is how a sound point would stand on the lines of the design: for a
// pretended one.
func RotationOf(in Intent) string { return cmp.Or(rotations[in.Lines.Or(trade.L1)], "RST") }

// ReadClamped reads on which lines of the supply a person's clamp showed current.
func ReadClamped(text string) (trade.PhaseSet, error) {
	lines := strings.Fields(strings.ToUpper(strings.ReplaceAll(text, ",", " ")))
	for _, l := range lines {
		if !slices.Contains([]string{"L1", "L2", "L3"}, l) {
			return "", fmt.Errorf("%q is no line: L1, L2 or L3 is wanted, more than one with spaces between", l)
		}
	}
	if len(lines) == 0 {
		return "", fmt.Errorf("no line is named: L1, L2 or L3 is wanted")
	}
	return trade.PhaseSet(strings.Join(lines, " ")), nil
}

// Sampling while the test runs: engineering judgement.
const testInterval = 5 // s

func (in *Intent) settings() []wantedSetting {
	return []wantedSetting{
		{ocpp.SampleEvery, fmt.Sprint(testInterval), "meter values often enough to see a limit being obeyed", true, nil,
			"limits are seen only as often as it sends meter values by itself"},
		{ocpp.SampleWhat, "Energy.Active.Import.Register,Current.Import,Voltage,Power.Active.Import", "current, voltage, power and energy are seen", false,
			[]string{"Energy.Active.Import.Register,Current.Import,Power.Active.Import", "Energy.Active.Import.Register,Current.Import",
				"Energy.Active.Import.Register,Power.Active.Import"}, "what it does not send cannot be seen"},
		{ocpp.AskRemote, "true", "a start from afar is asked about too: so an unknown card can be tried", true, nil,
			"an unknown card may have to be tried at the reader"},
		{ocpp.FreeOffline, "false", "an unknown card does not charge while the link is down", false, nil, "anybody may charge while the link is down"},
		{ocpp.KnownOffline, "true", "known people charge while the link is down (SI 2021/1467 reg 7)", false, nil, "nobody charges while the link is down"},
		{ocpp.ListEnabled, "true", "the list of known cards is used", false, nil, "a stored list of cards may not be used"},
		{ocpp.StopUnplugged, "true", "unplugging ends the session", false, nil, "a session may go on after the vehicle has gone"},
		{ocpp.BeatEvery, fmt.Sprint(int(ocpp.HeartbeatEvery.Seconds())), "a lost link is noticed", false, nil, "a lost link may be noticed late"},
	}
}

// amps is an amount in amperes.
func amps(i quantity.Amperes) finding.Amount { return finding.Of(float64(i), i.Measure()) }

// seconds is an amount in seconds.
func seconds(s float64) finding.Amount { return finding.Of(s, quantity.Seconds(s).Measure()) }
