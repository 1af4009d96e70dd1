package demand

import (
	"fmt"
	"math"
	"math/big"
	"testing"
	"time"

	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

var monday = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

// carPark is an invented car park of n single-phase points on three lines.
func carPark(n int, step, length time.Duration, seed uint64) *runSetup {
	c := quick()
	c.Limit, c.Sharing, c.Waits = quantity.Amperes(60+6*n/3), trade.EqualShares, 60
	s := &runSetup{Start: monday, Step: step, Length: length, Volts: 230, Control: &c,
		Site:   newTypical(dwellingDay, Lines{45, 50, 40}, monday, step, seed),
		Visits: homeFleet.Seeded(seed)}
	for i := range n {
		b := bayFacts{Name: fmt.Sprintf("CP%d", i+1), Most: 32, Least: 6}
		b.On[i%3] = true
		s.Bays = append(s.Bays, b)
	}
	return s
}

func mustRun(t testing.TB, s *runSetup) *Result {
	t.Helper()
	r, err := s.Run()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestEnergyAndMoneyBalance: to the joule, and to the penny, by two ways of
// counting: what came in against what was used, and the bill against its parts.
func TestEnergyAndMoneyBalance(t *testing.T) {
	for _, step := range []time.Duration{time.Second, 7 * time.Second, time.Minute, 30 * time.Minute} {
		for seed := range uint64(3) {
			length := 3 * 24 * time.Hour
			if step > time.Minute {
				length = 300 * 24 * time.Hour
			}
			s := carPark(7, step, length, seed)
			s.Site = newSun(s.Site, 90_000, [3]bool{true, true, true}, 230, monday, step, seed)
			s.Bays[3].On = [3]bool{true, true, true}
			s.Tariff = &dayTariff{Rates: []tariffRate{{0, 8.95}, {5 * time.Hour, 27.413}}, Export: 15}
			r := mustRun(t, s)
			if r.Import-r.Export != r.Site+r.Points {
				t.Errorf("step %v: %d mJ in, %d out, %d used by the site, %d by the points", step, r.Import, r.Export, r.Site, r.Points)
			}
			var bays millijoules
			var pence wholePence
			for i, b := range r.Bays {
				bays += b.Energy
				pence += r.Costs[i]
			}
			if bays != r.Points {
				t.Errorf("step %v: points drew %d mJ and their parts %d", step, r.Points, bays)
			}
			if pence != r.PointsCost {
				t.Errorf("step %v: points cost %d and their parts %d", step, r.PointsCost, pence)
			}
			if r.Export == 0 || r.Points == 0 {
				t.Errorf("step %v: export %d, points %d: nothing was tried", step, r.Export, r.Points)
			}
		}
	}
}

// TestBillByHand: 10 kWh at 8.95 p and 2.5 kWh at 27.413 p is 158.0325 p.
func TestBillByHand(t *testing.T) {
	exact := bill([]int64{10 * 3.6e9, 2.5 * 3.6e9}, []int64{8950, 27413})
	if got := round(exact); got != 158 {
		t.Errorf("bill = %d p, want 158", got)
	}
	if got := round(bill([]int64{3.6e9}, []int64{500})); got != 1 {
		t.Errorf("half a penny rounds to %d, want 1", got)
	}
	got := splitExact(100, []*big.Int{bill([]int64{3.6e9}, []int64{33333}), bill([]int64{3.6e9}, []int64{33333}), bill([]int64{3.6e9}, []int64{33334})})
	if got[0]+got[1]+got[2] != 100 {
		t.Errorf("parts %v do not make 100 p", got)
	}
}

// TestDayByHand is one vehicle against pencil and paper: 32 A from 18:00 needs
// 36/0.9 kWh ÷ 7.36 kW = 5.43 h (worked figure D045 of the trade facts: 20 to
// 80 % of 60 kWh at 7.36 kW and 0.90).
func TestDayByHand(t *testing.T) {
	s := &runSetup{Start: monday, Step: time.Second, Length: 24 * time.Hour, Volts: 230, Site: Steady{10}, Record: true,
		Bays:   []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}},
		Visits: booked{{{Arrive: 18 * 3600, Leave: 24 * 3600, Needs: 40000, Most: 32, Phases: 1}}}}
	r := mustRun(t, s)
	hours := float64(r.Above(0, 42)) / 3600
	if math.Abs(hours-5.43) > 0.005 {
		t.Errorf("42 A for %.3f h, want 5.43", hours)
	}
	if d := int64(r.Points) - 40000*3600*1000; d < 0 || d >= 230 {
		t.Errorf("delivered %d mJ, want 40 kWh to a quarter of a joule", r.Points)
	}
	if n, of := r.NotFull(); n != 0 || of != 1 {
		t.Errorf("%d of %d not full", n, of)
	}
	if r.Peak[0] != 42 || r.HalfHour[0] != 42 || r.Neutral != 42 {
		t.Errorf("peak %v, half-hour %v, neutral %v, want 42 A", r.Peak[0], r.HalfHour[0], r.Neutral)
	}
}

// TestNeutralOfUnequalLines: 10, 20 and 30 A at 120° give √300 A (textbook).
func TestNeutralOfUnequalLines(t *testing.T) {
	r := mustRun(t, &runSetup{Start: monday, Step: time.Minute, Length: time.Hour, Volts: 230, Site: Steady{10, 20, 30}, Visits: booked{}})
	if math.Abs(float64(r.Neutral)-math.Sqrt(300)) > 1e-3 {
		t.Errorf("neutral %v, want 17.32 A", r.Neutral)
	}
}

// TestFixedPoints holds the run to the currents each policy must settle at.
// Two vehicles under 40 A with 10 A of other loads: 30 A for them.
func TestFixedPoints(t *testing.T) {
	visit := func(at, leave quantity.Seconds) []vehicleVisit {
		return []vehicleVisit{{Arrive: at, Leave: leave, Needs: 1e6, Most: 32, Phases: 1}}
	}
	for _, tt := range []struct {
		source string
		how    trade.Sharing
		limit  quantity.Amperes
		want   [2]float64 // kWh in the hour from 01:00 to 02:00
	}{
		{"by hand: 30 A between two is 15 A each", trade.EqualShares, 40, [2]float64{3.45, 3.45}},
		{"by hand: the first takes 30 A", trade.FirstCome, 40, [2]float64{6.9, 0}},
		{"by hand: the second leaves first and takes 30 A", trade.ByDeparture, 40, [2]float64{0, 6.9}},
		{"by hand: 10 A is enough for one at a time; half of the time each", trade.ByTurns, 20, [2]float64{1.15, 1.15}},
	} {
		t.Run(tt.source, func(t *testing.T) {
			var at [2]Result
			for i, length := range []time.Duration{time.Hour, 2 * time.Hour} {
				c := quick()
				c.Limit, c.Sharing, c.FailSafe, c.Waits = tt.limit, tt.how, 0, 0
				at[i] = *mustRun(t, &runSetup{Start: monday, Step: time.Minute, Length: length, Volts: 230, Site: Steady{10}, Control: &c,
					Bays:   []bayFacts{{Name: "a", On: [3]bool{true}, Most: 32, Least: 6}, {Name: "b", On: [3]bool{true}, Most: 32, Least: 6}},
					Visits: booked{visit(0, 9*3600), visit(60, 8*3600)}})
			}
			for i, want := range tt.want {
				got := float64(at[1].Bays[i].Energy-at[0].Bays[i].Energy) / 3.6e9
				if math.Abs(got-want) > 1e-9 {
					t.Errorf("point %d took %.6f kWh in the hour, want %v", i+1, got, want)
				}
			}
		})
	}
}

// TestRunKeepsWhatTheProofSays: at one second, with the clamp as low as it may
// be, the line is never over what it must hold for longer than the bound.
func TestRunKeepsWhatTheProofSays(t *testing.T) {
	c := quick()
	l := &loop{limiterControl: c, points: 32, least: 6, others: 75, holds: 100}
	bound, _, ok := l.response()
	if !ok {
		t.Fatal("not proved")
	}
	s := &runSetup{Start: monday, Step: time.Second, Length: 12 * time.Hour, Volts: 230, Control: &c, Reads: -c.Error, Record: true,
		Site:   &replay{Values: []present{{40000}, {75000}, {66000}, {71000}, {20000}}, Hold: 97},
		Bays:   []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}},
		Visits: booked{{{Arrive: 0, Leave: 12 * 3600, Needs: 1e6, Most: 32, Phases: 1}}}}
	r := mustRun(t, s)
	over, longest := quantity.Seconds(0), quantity.Seconds(0)
	for _, x := range r.Trace {
		if x.Total(0) > 100 {
			over++
		} else {
			over = 0
		}
		longest = max(longest, over)
	}
	if longest == 0 || longest > bound {
		t.Errorf("over for %v at a stretch, the bound is %v", longest, bound)
	}
	if r.Points.WattHours() < 50_000 {
		t.Errorf("the vehicle was given only %v", r.Points.WattHours())
	}
}

// TestSurplus is case D21: floors 1380 and 4140 W.
func TestSurplus(t *testing.T) {
	for _, tt := range []struct {
		watts      float64
		one, three string
	}{{1300, "0 A", "0 A"}, {1500, "6.5 A", "0 A"}, {3000, "13 A", "0 A"}, {4200, "18.3 A", "6.1 A"}} {
		for phases, want := range map[int]string{1: tt.one, 3: tt.three} {
			c := quick()
			c.FailSafe = 0
			b := bayFacts{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}
			site := Steady{quantity.Amperes(-tt.watts / 230)}
			if phases == 3 {
				b.On = [3]bool{true, true, true}
				site = Steady{quantity.Amperes(-tt.watts / 690), quantity.Amperes(-tt.watts / 690), quantity.Amperes(-tt.watts / 690)}
			}
			r := mustRun(t, &runSetup{Start: monday, Step: time.Minute, Length: time.Hour, Volts: 230, Site: site, Control: &c, Surplus: true, Record: true,
				Bays: []bayFacts{b}, Visits: booked{{{Leave: 7200, Needs: 1e6, Most: 32, Phases: phases}}}})
			got := r.Trace[len(r.Trace)-1].Points[0]
			if text := quantity.Amperes(math.Round(float64(got)*10) / 10).String(); text != want {
				t.Errorf("%v W on %d phases: %s, want %s", tt.watts, phases, text, want)
			}
			if floor := 6.0 * 230 * float64(phases); tt.watts < floor && got != 0 {
				t.Errorf("%v W is below the floor of %v W and %v was drawn", tt.watts, floor, got)
			}
		}
	}
}

// TestDropsAgreeWithTheSolver compares the proportions with the full four-wire
// solution at loads far from those they were found at.
func TestDropsAgreeWithTheSolver(t *testing.T) {
	b := network.NewBuilder()
	street, board := b.Node("street"), b.Node("board")
	lines := []network.Conductor{network.L1, network.L2, network.L3}
	four := append(append([]network.Conductor{}, lines...), network.N)
	b.Source(network.Source{Name: "source", Star: street.At(network.N), Lines: street.All(lines...), EMF: network.ThreePhase(230)})
	b.Join("earth", street, network.N, network.Earth)
	b.Branch(network.Branch{Name: "service", From: street.All(four...), To: board.All(four...), Z: network.Series(0.09+0.03i, 0.09+0.03i, 0.09+0.03i, 0.09+0.03i)})
	load := func(n network.NodeID, c network.Conductor) (network.LoadID, []betweenTerminals) {
		id := b.Load(network.Load{Name: "load", From: n.At(c), To: n.At(network.N), Model: network.ConstantCurrent, Rated: 230})
		return id, []betweenTerminals{{n.At(c), n.At(network.N), 1}}
	}
	site, bays := make([][]betweenTerminals, 3), make([][]betweenTerminals, 3)
	var loads [3][2]network.LoadID
	var places []watchedPlace
	var at [][2]network.Terminal
	for k, c := range lines {
		loads[k][0], site[k] = load(board, c)
		n := b.Node("point")
		b.Branch(network.Branch{Name: "leg", From: board.All(four...), To: n.All(four...), Z: network.Series(0.05, 0.05, 0.05, 0.05)})
		loads[k][1], bays[k] = load(n, c)
		places, at = append(places, watchedPlace{Name: "point", Line: k}), append(at, [2]network.Terminal{n.At(c), n.At(network.N)})
	}
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	d, err := watch(net, site, bays, places, at)
	if err != nil {
		t.Fatal(err)
	}
	flow, err := net.Flow()
	if err != nil {
		t.Fatal(err)
	}
	others, points := Lines{48, 12, 71}, []quantity.Amperes{32, 0, 16}
	for k := range lines {
		flow.SetPower(loads[k][0], complex(230*float64(others[k]), 0))
		flow.SetPower(loads[k][1], complex(230*float64(points[k]), 0))
	}
	st := flow.NewState()
	if err := flow.Solve(st); err != nil {
		t.Fatal(err)
	}
	for i, v := range d.Volts(others, points) {
		full := st.Volts(at[i][0], at[i][1])
		if math.Abs(float64(v-full)) > 0.35 {
			t.Errorf("line %d: %v by proportion, %v solved", i+1, v, full)
		}
	}
	// A balanced load drops by the line alone: 30 A × 0.09 Ω, neutral at rest.
	v := d.Volts(Lines{30, 30, 30}, make([]quantity.Amperes, 3))
	if want := cabs(230 - 30*(0.09+0.03i)); math.Abs(float64(v[1])-want) > 0.01 {
		t.Errorf("balanced: %v, want %.2f V", v[1], want)
	}
}

func cabs(c complex128) float64 { return math.Hypot(real(c), imag(c)) }

// TestHeatPoints: points of the fuse curve, 100 A BS 88-2 gG: 1.25 In carried
// for 2 h, and 290 A not to operate it in less than 10 s (IEC 60269-1 gates,
// from memory in the tables).
func TestHeatPoints(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	fuse := standard.Device{Family: "BS 88-2 gG", Rating: 100}
	w, err := newWear(rules, fuse)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(w.carries-125)) > 0.1 || w.over != 7200 && math.Abs(float64(w.over)-7200) > 10 {
		t.Errorf("carries %v for %v, want 125 A for 2 h", w.carries, w.over)
	}
	for _, tt := range []struct {
		i      quantity.Amperes
		lasts  quantity.Seconds
		used   float64
		within float64
	}{
		{290, 10, 1, 0.01},
		{290, 1, 0.1, 0.001},
		{820, 0.1, 1, 0.05},
		{125, 7200, 0, 0},
	} {
		h, err := Stress(rules, fuse, []Moment{{Others: tt.i}, {At: tt.lasts}}, 1)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(h.Used-tt.used) > tt.within {
			t.Errorf("%v for %v uses %.4f, want %v", tt.i, tt.lasts, h.Used, tt.used)
		}
	}
}

// TestWorstTenMinutes: the stretch that is drawn is the one with the burst.
func TestWorstTenMinutes(t *testing.T) {
	values := make([]present, 24*60)
	for i := range values {
		values[i] = present{10000, 20000, 10000}
		if i >= 600 && i < 605 {
			values[i][2] = 90000
		}
	}
	r := mustRun(t, &runSetup{Start: monday, Step: time.Minute, Length: 24 * time.Hour, Volts: 230, Site: &replay{Values: values, Hold: 1}, Visits: booked{}})
	high := 0
	for _, s := range r.Worst {
		if s.Total(2) == 90 {
			high++
		}
	}
	if len(r.Worst) != 10 || r.WorstLine != 2 || high != 5 {
		t.Errorf("%d steps of line %d from %v, %d of them high", len(r.Worst), r.WorstLine+1, r.WorstAt, high)
	}
	if got := r.Above(2, 90); got != 300 {
		t.Errorf("above 90 A for %v, want 5 min", got)
	}
	if got := r.HalfHour[2]; math.Abs(float64(got)-(25*10.0+5*90)/30) > 1e-3 {
		t.Errorf("half-hour %v", got)
	}
}

func TestSameSeedSameRun(t *testing.T) {
	a, b := mustRun(t, carPark(5, time.Minute, 20*24*time.Hour, 9)), mustRun(t, carPark(5, time.Minute, 20*24*time.Hour, 9))
	if a.Points != b.Points || a.Peak != b.Peak || fmt.Sprint(a.Bays) != fmt.Sprint(b.Bays) {
		t.Error("two runs of one seed differ")
	}
	if c := mustRun(t, carPark(5, time.Minute, 20*24*time.Hour, 10)); c.Points == a.Points {
		t.Error("another seed gives the same run")
	}
}

// TestRampAndLag: at one second a vehicle follows 6 s after the reading, and
// takes up 4 A each second; it lets go at once.
func TestRampAndLag(t *testing.T) {
	c := quick()
	c.Averages, c.Waits, c.Error, c.FailSafe = 0, 0, 0, 0
	values := make([]present, 120)
	for i := range values {
		if i >= 60 {
			values[i][0] = 75000
		}
	}
	r := mustRun(t, &runSetup{Start: monday, Step: time.Second, Length: 2 * time.Minute, Volts: 230, Control: &c, Record: true,
		Site: &replay{Values: values, Hold: 1}, Bays: []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}},
		Visits: booked{{{Arrive: 10, Leave: 3600, Needs: 1e6, Most: 32, Phases: 1, Ramp: 4}}}})
	for at, want := range map[int]quantity.Amperes{10: 0, 15: 0, 16: 4, 17: 8, 23: 32, 40: 32, 65: 32, 66: 20, 119: 20} {
		if got := r.Trace[at].Points[0]; got != want {
			t.Errorf("%d s: %v, want %v", at, got, want)
		}
	}
}

// TestSignalLostInARun: the run falls to the fail-safe current within the time
// the proof gives, and comes back when the signal does. Power-up is the same.
func TestSignalLostInARun(t *testing.T) {
	c := quick()
	c.Error = 0
	l := &loop{limiterControl: c, points: 32, least: 6, others: 50, holds: 100}
	r := mustRun(t, &runSetup{Start: monday, Step: time.Second, Length: 10 * time.Minute, Volts: 230, Control: &c, Record: true,
		Site: Steady{50}, Lost: []runSpan{{120, 240}}, Bays: []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}},
		Visits: booked{{{Leave: 3600, Needs: 1e6, Most: 32, Phases: 1}}}})
	after := int(l.afterLoss())
	for at, want := range map[int]quantity.Amperes{5: 0, 7: 16, 100: 32, 120: 32, 120 + after: 16, 239: 16, 400: 32} {
		if got := r.Trace[at].Points[0]; got != want {
			t.Errorf("%d s: %v, want %v", at, got, want)
		}
	}
}
