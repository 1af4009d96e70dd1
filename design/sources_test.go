package design

import (
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// TestSources holds what a second feed asks for to values on either side of each
// limit. Figures from outside: an institution forum thread on BS 7671 551.7.2
// (100 A fuse and 16 A: 116 A; with 32 A: 132 A; with 16 A and 22 A: 138 A; what
// fits a board of 100 A behind 60, 63, 80 and 100 A: 40, 37, 20 and 0 A); EREC
// G98 (16 A per phase); the rest is arithmetic on the clause named.
func TestSources(t *testing.T) {
	amps := func(a float64) quantity.Maybe[quantity.Amperes] { return known(quantity.Amperes(a)) }
	const meets, fails, judge, open = finding.Meets, finding.Fails, finding.JudgeOnSite, finding.NotKnown
	yes, no := known(true), known(false)
	source := func(kind trade.SourceKind, ig float64, edit ...func(*works.Source)) works.Source {
		s := works.Source{Name: "the " + string(kind), Kind: known(kind), Board: "consumer unit", Output: amps(ig), NeedsRCD: known(trade.TypeA), Backup: no,
			Phases: known(trade.L1), Charging: "none"}
		for _, e := range edit {
			e(&s)
		}
		return s
	}
	with := func(fuse, rated float64, of ...works.Source) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.OnSite, j.Supply.SourcesOff, j.Sources = yes, yes, of
			j.Supply.CutOut.Rating, j.Boards[0].Rated, j.Boards[0].MainSwitch.Rating = amps(fuse), amps(rated), amps(100)
			if len(of) > 0 && of[0].Kind.Or("") == trade.VehicleOut {
				j.Supply.OnSite, j.Notification.ToSupply = no, yes
			}
		}
	}
	solar := func(ig float64, edit ...func(*works.Source)) works.Source { return source(trade.Solar, ig, edit...) }
	battery := func(ig float64, edit ...func(*works.Source)) works.Source { return source(trade.Battery, ig, edit...) }
	vehicle := func(ig float64) works.Source {
		return source(trade.VehicleOut, ig, func(s *works.Source) { s.Board, s.Point = "", "CP1" })
	}
	shares := func(csa quantity.SquareMillimetres, in float64) func(*job.Job) {
		return func(j *job.Job) {
			with(80, 125, solar(16, func(s *works.Source) { s.Board, s.Circuit = "", "EV" }))(j)
			ev(j).Cable.CSA, ev(j).Device.Rating = known(csa), amps(in)
		}
	}
	ahead := func(kind trade.RCDType, asked quantity.Maybe[trade.RCDType]) func(*job.Job) {
		return func(j *job.Job) {
			with(80, 125, solar(16, func(s *works.Source) { s.Board, s.Circuit, s.NeedsRCD = "", "EV", asked }))(j)
			ev(j).RCD.Type = known(kind)
		}
	}
	alone := func(edit func(*works.Source), ohms float64) func(*job.Job) {
		return func(j *job.Job) {
			with(60, 125, battery(21.7, func(s *works.Source) { s.Backup = yes }, edit))(j)
			j.Electrodes = append(j.Electrodes, works.Electrode{Name: "rod", Resistance: works.Stated[quantity.Ohms]{Value: known(quantity.Ohms(ohms))}})
		}
	}
	sided := func(sides trade.Sides) func(*job.Job) {
		return func(j *job.Job) {
			with(60, 125, vehicle(32))(j)
			ev(j).Device.Sides = known(sides)
		}
	}
	for _, tt := range []struct {
		source  string
		edit    func(*job.Job)
		key, of string
		want    finding.Verdict
		limit   float64 // 0 where there is none to hold
	}{
		{"551.7.2: 100 A fuse and 16 A on a board of 100 A", with(100, 100, solar(16)), "assembly rating", "", fails, 116},
		{"551.7.2: 100 A fuse and 32 A", with(100, 125, solar(16), battery(16)), "assembly rating", "", fails, 132},
		{"551.7.2: 100 A fuse, 16 A and 22 A", with(100, 125, solar(16), battery(22)), "assembly rating", "", fails, 138},
		{"551.7.2: 80 A fuse, 7.36 kW from a vehicle: 112 A", with(80, 100, vehicle(32)), "assembly rating", "", fails, 112},
		{"551.7.2: 40 A fits behind 60 A", with(60, 100, solar(40)), "assembly rating", "", meets, 100},
		{"551.7.2: 40.1 A does not", with(60, 100, solar(40.1)), "assembly rating", "", fails, 100.1},
		{"551.7.2: 37 A fits behind 63 A", with(63, 100, solar(37)), "assembly rating", "", meets, 100},
		{"551.7.2: 20 A fits behind 80 A", with(80, 100, solar(20)), "assembly rating", "", meets, 100},
		{"551.7.2: nothing fits behind 100 A", with(100, 100, solar(1)), "assembly rating", "", fails, 101},
		{"what it gives is not said", with(60, 100, solar(16, func(s *works.Source) { s.Output = unsaid[quantity.Amperes]() })), "assembly rating", "", open, 0},
		{"where it is connected is not said", with(60, 100, solar(16, func(s *works.Source) { s.Board = "" })), "assembly rating", "", open, 0},
		{"551.7.2: on the point's circuit, In 32 A and Ig 16 A: too much for 4 mm²", shares(4, 32), "source conductors", "", fails, 48},
		{"551.7.2: In 25 A and Ig 16 A", shares(6, 25), "source conductors", "", meets, 41},
		{"722.311: a source on it is company", shares(10, 32), "dedicated circuit", "CP1", fails, 0},
		{"712.531.3.5.1: Type A, and its maker asks for B", ahead(trade.TypeA, known(trade.TypeB)), "source RCD", "", fails, 0},
		{"712.531.3.5.1: Type A, and its maker allows it", ahead(trade.TypeA, known(trade.TypeA)), "source RCD", "", meets, 0},
		{"712.531.3.5.1: its maker says nothing", ahead(trade.TypeA, unsaid[trade.RCDType]()), "source RCD", "", open, 0},
		{"712.531.3.5.1: its maker says nothing, Type B", ahead(trade.TypeB, unsaid[trade.RCDType]()), "source RCD", "", meets, 0},
		{"530.3.201: a vehicle gives back through a one-way device", sided(trade.OneSide), "device direction", "EV", fails, 0},
		{"530.3.201: through one for either side", sided(trade.EitherSide), "device direction", "EV", meets, 0},
		{"551.4.3.2.1: works without the street, no electrode", alone(func(s *works.Source) {}, 20), "backup earthing", "", open, 0},
		{"551.4.3.2.1: with one of 200 Ω", alone(func(s *works.Source) { s.Electrode = "rod" }, 200), "backup earthing", "", meets, 200},
		{"551.4.3.2.1: with one of 201 Ω", alone(func(s *works.Source) { s.Electrode = "rod" }, 201), "backup earthing", "", judge, 200},
		{"code of practice on storage: nothing joins neutral and earth", alone(func(s *works.Source) { s.Joins = no }, 20), "backup neutral", "", fails, 0},
		{"code of practice on storage: joined, order not seen", alone(func(s *works.Source) { s.Joins = yes }, 20), "backup neutral", "", judge, 0},
		{"Chapter 57 was not read", with(60, 125, battery(16)), "storage", "", judge, 0},
		{"311.1: what a battery takes is not said", with(60, 125, battery(16, func(s *works.Source) { s.Charging = "" })), "battery charging", "", open, 0},
		{"EREC G98: 16 A in a line is told of after", with(60, 125, solar(16)), "notification", "", meets, 0},
		{"EREC G98: 16.1 A is asked for first", with(60, 125, solar(16.1)), "notification", "", judge, 0},
		{"EREC G98: 8 A and 8.1 A together", with(60, 125, solar(8), battery(8.1)), "notification", "", judge, 0},
		{"its own connection is agreed", with(60, 125, solar(40, func(s *works.Source) { s.Agreed = "ABC 12 of 2024 (invented)" })), "notification", "", meets, 0},
		{"the sun was out or not while the demand was measured", func(j *job.Job) { with(80, 125, solar(16))(j); j.Supply.SourcesOff = unsaid[bool]() }, "supply demand", "", open, 0},
		{"28 A measured while 16 A may have been fed, 32 A for the point: 76 A of 80 A", func(j *job.Job) { with(80, 125, solar(16))(j); j.Supply.SourcesOff = no }, "supply demand", "", meets, 80},
		{"the same of 63 A", func(j *job.Job) { with(63, 125, solar(16))(j); j.Supply.SourcesOff = no }, "supply demand", "", fails, 63},
		{"28 A and 32 A of 63 A, measured with it off", with(63, 125, solar(16)), "supply demand", "", meets, 63},
		{"named, and not entered", func(j *job.Job) { j.Supply.OnSite, j.Supply.OtherSources = yes, []string{"solar"} }, "sources", "", open, 0},
		{"said to be none, and entered", func(j *job.Job) { with(60, 125, solar(16))(j); j.Supply.OnSite = no }, "assembly rating", "", open, 0},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f, ok := checked(t, tt.edit).has(tt.key, tt.of)
			if !ok {
				t.Fatalf("%q is not asked", tt.key)
			}
			if f.Verdict != tt.want {
				t.Errorf("%s of %s is %q (%s; has %v, limit %v), want %q", f.Key, f.Subject, f.Verdict, f.Why, f.Value, f.Limit, tt.want)
			}
			if side := max(f.Limit.Number, 0); tt.limit != 0 && (side < tt.limit*(1-1e-9) || side > tt.limit*(1+1e-9)) {
				t.Errorf("limit %v, want %v A", f.Limit, tt.limit)
			}
			if f.Verdict != meets && f.Next == "" {
				t.Error("says nothing to do next")
			}
		})
	}
}
