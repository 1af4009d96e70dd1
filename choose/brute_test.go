package choose

// The search against trying everything: on small random sites every mixture of
// cables, devices and earthing is laid out as a real job and checked whole.

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// smallCatalogue holds few enough things that all mixtures can be tried.
var smallCatalogue = fstest.MapFS{
	"cables.csv": {Data: []byte(`construction,insulation,material,cores,mm2,cpc,cpc_mm2,methods,price_per_m,hours_per_m,price_per_end,hours_per_end
armoured,90 °C thermosetting,copper,3,4,core,,C/D duct/D buried/E,3,0.07,8,0.4
armoured,90 °C thermosetting,copper,3,10,core,,C/D duct/D buried/E,5,0.1,10,0.5
armoured,90 °C thermosetting,copper,2,16,armour,,C/D duct/D buried/E,5.5,0.11,10,0.5
armoured,90 °C thermosetting,copper,5,6,core,,C/D duct/D buried/E,5,0.1,9,0.5
armoured,90 °C thermosetting,copper,4,16,armour,,C/D duct/D buried/E,9,0.13,12,0.6
armoured,90 °C thermosetting,copper,4,35,armour,,C/D duct/D buried/E,17,0.16,19,0.9
`)},
	"devices.csv": {Data: []byte(`family,rated_a,ir_a,im_a,capacity_a,phases,poles,residual_type,residual_ma,delayed,ways,price,hours
BS EN 61009 type B,20,,,6000,1,all live,A,30,no,1,24,0.2
BS EN 61009 type C,40,,,6000,1,all live,A,30,no,1,30,0.2
BS EN 61009 type B,40,,,10000,1,all live,A,30,no,1,44,0.2
BS EN 61009 type C,20,,,6000,3,all live,A,30,no,4,110,0.4
BS EN 61009 type B,40,,,10000,3,all live,A,30,no,4,190,0.4
BS 88-2 gG,63,,,80000,3,lines only,,,,3,160,0.9
BS EN 60898 type C,63,,,10000,3,lines only,,,,3,60,0.4
`)},
	"residual.csv": {Data: []byte("type,residual_ma,rated_a,phases,delayed,poles,ways,price,hours\n")},
}

// randomSite writes an invented job with one or two points, behind a feeder or
// at the main board.
func randomSite(r *rand.Rand) string {
	var b strings.Builder
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	system, ze := pick("TN-C-S", "TN-S"), 0.05+0.3*r.Float64() // three lines together draw about twice what one draws
	fmt.Fprintf(&b, `job: random site
invented: yes
edition: BS 7671:2018+A4:2026
site: {premises: workplace}
supply:
  earthing: %s
  phases: 3
  voltage: 230 V
  cut-out: {type: BS 88-3, rating: 100 A, breaking capacity: 33 kA}
  Ze: {value: %.2f Ω, known by: measured}
  Ipf: {value: %.1f kA, known by: measured}
  supply neutral: 35 mm²
  maximum demand: {value: 20 A, known by: measured}
  tails: {csa: 25 mm², length: %d m}
  earthing conductor: {csa: 16 mm², length: 2 m}
electrodes:
  - {name: yard rod, soil: %d Ω·m, from buried PME metalwork: 5 m}
boards:
  - {name: main, fed from: supply, phases: 3, ways: 12, ways free: 12, short-circuit rating: 25 kA, rated diversity factor: 0.8, surge protection: [{name: S, type: 2, connection: CT2, protection level: 1.4 kV, live lead: 0.2 m, earth lead: 0.2 m, greatest backup fuse: 125 A}]}
`, system, ze, 2*0.23/ze*(0.9+0.3*r.Float64()), 1+r.IntN(4), 20+r.IntN(400))
	from := "main"
	leg := func(name string, longest int) string {
		length := 2 + r.IntN(longest)
		switch r.IntN(3) {
		case 0:
			return fmt.Sprintf("{name: %s, length: %d m, method: C, ambient: %d °C, circuits together: 1, in insulation: 0 m}", name, length, 25+5*r.IntN(3))
		case 1:
			return fmt.Sprintf("{name: %s, length: %d m, method: E, ambient: 30 °C, circuits together: 2, arrangement: single layer on tray, in insulation: 0 m}", name, length)
		}
		return fmt.Sprintf("{name: %s, length: %d m, method: D duct, ambient: %d °C, circuits together: 1, depth: 0.7 m, soil: 2.5 K·m/W}", name, length, 15+5*r.IntN(2))
	}
	fed := r.IntN(2) == 0
	if fed {
		from = "yard"
		b.WriteString("  - {name: yard, phases: 3, all loads entered: yes, ways: 12, ways free: 12, short-circuit rating: 10 kA, rated diversity factor: 0.8, surge protection: [{name: S, type: 2, connection: CT2, protection level: 1.4 kV, live lead: 0.2 m, earth lead: 0.2 m, greatest backup fuse: 125 A}]}\n")
	}
	b.WriteString("circuits:\n")
	if fed {
		fmt.Fprintf(&b, "  - {name: feeder, from: main, to: yard, phases: L1 L2 L3, terminals rated: 70 °C, legs: [%s]}\n", leg("a", 60))
	}
	n := 1 + r.IntN(2)
	if fed && r.IntN(8) > 0 {
		n = 1
	}
	var points strings.Builder
	for i := range n {
		phases, power := 1, pick("3.7 kW", "7.4 kW")
		lines := pick("L1", "L2", "L3")
		if r.IntN(3) == 0 {
			phases, power, lines = 3, pick("11 kW", "22 kW"), "L1 L2 L3"
		}
		fmt.Fprintf(&b, "  - {name: c%d, from: %s, to: P%d, phases: %s, terminals rated: 70 °C, legs: [%s]}\n", i, from, i, lines, leg("b", 140))
		earthing := ""
		if system == "TN-C-S" {
			earthing = ", earthing: {from PME metalwork: 4 m}"
		}
		fmt.Fprintf(&points, "  - {name: P%d, power: %s, phases: %d, outdoors: yes, 6 mA d.c. detection: yes, standing leakage: 3.5 mA, greatest upstream device: 40 A%s}\n", i, power, phases, earthing)
	}
	b.WriteString("points:\n" + points.String())
	return b.String()
}

// mixture is one way to settle everything that is open.
type mixture struct {
	cost float64
	put  []func(*job.Job)
}

// everything lays all mixtures out on the real model, those that cost least to
// buy first, and returns the least cost by the aim of those that meet the rules.
func everything(j *job.Job, rules *standard.Rulebook, c *Catalogue, aim Aim) float64 {
	var all []mixture
	electrode, hasElectrode := cheapest(c.all(rules, j.Electrodes[0].Soil.Or(0)), 200)
	var try func(k int, cost float64, own bool, put []func(*job.Job))
	try = func(k int, cost float64, own bool, put []func(*job.Job)) {
		if k == len(j.Circuits) {
			if own {
				cost += electrode.Cost
			}
			all = append(all, mixture{cost, put})
			return
		}
		r := &j.Circuits[k]
		phases := r.Phases.Or("").Count()
		point := recordOf(j.Points, func(p *works.Point) bool { return p.Name == r.To })
		length := 0.0
		for _, l := range r.Legs {
			length += float64(l.Length.Or(0))
		}
		for i := range c.Cables {
			cable := &c.Cables[i]
			cores := map[trade.CPC]int{trade.CPCArmour: 1, trade.CPCCore: 2}[cable.CPC] + map[int]int{1: 1, 3: 3}[phases]
			if cable.Cores != cores {
				continue
			}
			for n := range c.Devices {
				d := &c.Devices[n]
				if point != nil && float64(point.Power.Or(0)) > 1.07*230*float64(phases)*0.8*d.Rated { // Ib ≤ In × RDF, a round name apart
					continue
				}
				if d.Phases != phases || (point != nil) != (d.Residual != nil) || point != nil && d.Rated > float64(point.GreatestDevice.Or(0)) {
					continue
				}
				here := cost + length*c.Cost(cable.PerMetre) + 2*c.Cost(cable.PerEnd) + c.Cost(d.outlay)
				set := func(t *job.Job) {
					x := &t.Circuits[k]
					x.Cable = cable.cable()
					x.Device = works.Device{Type: quantity.Known(d.Family), Rating: quantity.Known(quantity.Amperes(d.Rated)), BreakingCapacity: quantity.Known(quantity.Amperes(d.Capacity))}
					if d.Residual != nil {
						x.RCD = works.RCD{Type: quantity.Known(d.Residual.Type), Residual: quantity.Known(quantity.Amperes(d.Residual.Trips)), Poles: quantity.Known(trade.AllLive)}
					}
				}
				if point == nil || j.Supply.Earthing.Or("") != trade.TNCS {
					try(k+1, here, own, append(put[:len(put):len(put)], set))
					continue
				}
				for q := range c.Measures {
					m := &c.Measures[q]
					separate := m.Measure == trade.SeparateElectrode
					if m.Phases != phases || m.Measure == trade.Separation || m.Device == trade.MeasuresWindow || separate && !hasElectrode {
						continue
					}
					earthing := func(t *job.Job) {
						p := recordOf(t.Points, func(p *works.Point) bool { return p.Name == r.To })
						p.Earthing.Measure = quantity.Known(m.Measure)
						if separate {
							p.Earthing.Electrode = t.Electrodes[0].Name
							t.Electrodes[0].Resistance.Value = quantity.Known(quantity.Ohms(electrode.Resistance))
						}
					}
					try(k+1, here+c.Cost(m.outlay), own || separate, append(put[:len(put):len(put)], set, earthing))
				}
			}
		}
	}
	try(0, 0, false, nil)
	slices.SortFunc(all, func(a, b mixture) int { return cmp.Compare(a.cost, b.cost) })
	best := math.Inf(1)
	for _, x := range all {
		if x.cost >= best {
			break // no losses are less than none
		}
		trial := copyOf(j)
		for _, f := range x.put {
			f(trial)
		}
		m := model.New(trial, rules)
		if slices.ContainsFunc(design.Check(m), func(f finding.Finding) bool { return ofCircuit[f.Key] && f.Verdict != finding.Meets }) {
			continue
		}
		cost := x.cost
		if aim.Purpose == LifeCost {
			for _, circuit := range m.Circuits {
				cost += lossesOf(circuit) * aim.Hours * aim.Years * aim.Tariff / 1000
			}
		}
		best = min(best, cost)
	}
	return best
}

// lossesOf adds up what a circuit's conductors lose at its design currents,
// from the model's own conductors.
func lossesOf(c *model.Circuit) float64 {
	ib := amperes(c.DesignCurrents().Phase)
	line := real(complex128(c.R1(model.AtOperating).Parts[0].Impedance))
	neutral := real(complex128(c.R1Rn(model.AtOperating).Parts[0].Impedance)) - line
	in := neutralOf(ib)
	return (ib[0]*ib[0]+ib[1]*ib[1]+ib[2]*ib[2])*line + in*in*neutral
}

// TestSearchAgainstTryingEverything holds the pruned search to 500 random sites
// on which every mixture is laid out and checked by packages model and design.
func TestSearchAgainstTryingEverything(t *testing.T) {
	c, err := WithOwn(smallCatalogue)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	const hands = 4
	sites := few(500, 24)
	for hand := range hands {
		t.Run(fmt.Sprint(hand), func(t *testing.T) {
			t.Parallel()
			solved, struck := 0, 0
			for i := hand; i < sites; i += hands {
				r := rand.New(rand.NewPCG(uint64(i), 7))
				text := randomSite(r)
				j, err := job.Read("random.yaml", []byte(text))
				if err != nil {
					t.Fatalf("site %d: %v\n%s", i, err, text)
				}
				aim := Aim{Purpose: FirstCost}
				if i%10 == 0 {
					aim = Aim{Purpose: LifeCost, Years: 10, Tariff: 0.25, Hours: 300}
				}
				o := Choose(j, rules, c, aim)
				got := o.Cost
				if len(o.Circuits) == 0 {
					got = math.Inf(1)
				} else {
					solved++
				}
				struck += o.Proof.StruckOut
				if want := everything(j, rules, c, aim); math.Abs(got-want) > 1e-6*want && got != want {
					t.Errorf("site %d: Choose costs %v, trying everything finds %v; %v\n%s", i, got, want, o.Lacks, text)
				}
			}
			if solved < sites/hands/3 {
				t.Errorf("only %d of %d sites have a design at all", solved, sites/hands)
			}
			t.Logf("%d of %d sites have a design; %d winners refused by the whole model", solved, sites/hands, struck)
		})
	}
}

// TestEstimateNeverSaysMore: the closed forms must never refuse what the whole
// model accepts. Volt drop is the one that is estimated; it stays under what
// the network gives, and near it. Zs, the fault current at each board and the
// tabulated drop are held to the model's own.
func TestEstimateNeverSaysMore(t *testing.T) {
	_, rules, c := parse(t, "random.yaml", []byte(randomSite(rand.New(rand.NewPCG(0, 1)))))
	near := 0
	for i := range few(120, 12) {
		j, err := job.Read("random.yaml", []byte(randomSite(rand.New(rand.NewPCG(uint64(i), 99)))))
		if err != nil {
			t.Fatal(err)
		}
		s := newSite(j, rules, c, Aim{Purpose: FirstCost})
		s.choosePhases()
		s.chooseLimiter()
		s.read()
		s.search()
		s.remake()
		for _, circuit := range s.circuits {
			p := circuit.chosen
			if p == nil {
				continue
			}
			m := recordOf(s.model.Circuits, func(x **model.Circuit) bool { return (*x).Record.Name == circuit.name() })
			zs, ok := (*m).Zs(model.AtOperating)
			if got := s.loop(p.pair.run, p.at, p.mode); !ok || math.Abs(got-float64(zs)) > 2e-3*got {
				t.Errorf("site %d, %s: Zs %v, the network gives %v", i, circuit.name(), got, zs)
			}
			fault := (*m).GreatestFault()
			if math.Abs(p.at.fault-float64(fault.Current)) > 2e-3*p.at.fault {
				t.Errorf("site %d, %s: fault at its board %v, the network gives %v", i, circuit.name(), p.at.fault, fault.Current)
			}
			if circuit.final() {
				table := float64(design.PathDrop(s.model, *m).Volts)
				if got := circuit.drop(p.pair.run, p.at); math.Abs(got-table) > 1e-9*table {
					t.Errorf("site %d, %s: tabulated drop %v, design gives %v", i, circuit.name(), got, table)
				}
				drop, ok := (*m).Drop()
				got := s.solvedDrop(circuit, p.pair.run, p.at)
				if !ok || got > float64(drop) {
					t.Errorf("site %d, %s: estimate %v V, the network gives %v", i, circuit.name(), got, drop)
				}
				if got > 0.92*float64(drop) {
					near++
				}
			}
		}
	}
	if near < few(60, 6) {
		t.Errorf("the estimate comes within 8 %% of the network on only %d circuits", near)
	}
}

// TestFewestAgainstEverySet tries every set of the small catalogue's cables and
// devices on random sites, smallest first.
func TestFewestAgainstEverySet(t *testing.T) {
	c, err := WithOwn(smallCatalogue)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	for i := range few(3, 0) {
		text := randomSite(rand.New(rand.NewPCG(uint64(i), 5)))
		j, err := job.Read("random.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		o := Choose(j, rules, c, Aim{Purpose: Materials})
		least, cheapest := math.MaxInt, math.Inf(1)
		n := len(c.Cables) + len(c.Devices)
		for set := range 1 << n {
			size := bits.OnesCount(uint(set))
			if size > min(least, 6) {
				continue
			}
			some := *c
			some.Cables, some.Devices = nil, nil
			for k := range n {
				if set>>k&1 == 0 {
					continue
				}
				if k < len(c.Cables) {
					some.Cables = append(some.Cables, c.Cables[k])
				} else {
					some.Devices = append(some.Devices, c.Devices[k-len(c.Cables)])
				}
			}
			if len(some.Cables) == 0 || len(some.Devices) == 0 {
				continue
			}
			if x := Choose(j, rules, &some, Aim{Purpose: FirstCost}); len(x.Circuits) > 0 && x.Different <= size && (x.Different < least || x.Different == least && x.Cost < cheapest) {
				least, cheapest = x.Different, x.Cost
			}
		}
		if least == math.MaxInt {
			if len(o.Circuits) > 0 {
				t.Errorf("site %d: %d materials, no set makes a design", i, o.Different)
			}
			continue
		}
		if o.Different != least || math.Abs(o.Cost-cheapest) > 1e-6*cheapest {
			t.Errorf("site %d: %d materials for %.2f, trying every set finds %d for %.2f\n%s", i, o.Different, o.Cost, least, cheapest, text)
		}
	}
}

// few is how often something is tried: all of it, or a part with -short.
func few(all, short int) int {
	if testing.Short() {
		return short
	}
	return all
}
