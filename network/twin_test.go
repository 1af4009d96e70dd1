package network_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"

	"chargewright/network"
	"chargewright/quantity"
)

// A twin is one random network, for our model and for ngspice.
type twin struct {
	rng    *rand.Rand
	b      *network.Builder
	nodes  []network.NodeID
	shape  strings.Builder // netlist of what never changes; % stands for the name of the circuit
	emf    strings.Builder // sources at their voltage
	dead   strings.Builder // sources at 0 V
	loads  strings.Builder // loads as impedances
	parts  int
	senses []sense
	drawn  []network.LoadID // loads that are no impedance
	ends   [][2]network.Terminal
	meets  []meet
	split  bool // every branch in two halves; ngspice has no part in that
}

// A meet is one conductor's end at a terminal.
type meet struct {
	at     network.Terminal
	sign   float64
	branch network.BranchID
	k      int
	load   bool
}

// meet notes that conductor k of a branch, or a load, leaves from and arrives at to.
func (w *twin) meet(from, to network.Terminal, share float64, b network.BranchID, k int, load bool) {
	w.meets = append(w.meets, meet{from, share, b, k, load}, meet{to, -share, b, k, load})
}

// A sense is a conductor whose current ngspice tells.
type sense struct {
	branch network.BranchID
	k      int
	name   string
	load   bool
}

func spiceNode(t network.Terminal) string {
	if t.Conductor == network.Earth {
		return "0"
	}
	return fmt.Sprintf("%%n%dc%d", t.Node, t.Conductor)
}

func (w *twin) uniform(low, high float64) float64 { return low + (high-low)*w.rng.Float64() }

// spread returns a value between low and high, as often small as large.
func (w *twin) spread(low, high float64) float64 {
	return low * math.Exp(w.rng.Float64()*math.Log(high/low))
}

const perOhm = 1 / (100 * math.Pi) // henry for each ohm at 50 Hz

// conductors writes coupled conductors to the netlist, each through a 0 V
// source that senses its current. from and to are spice nodes.
func (w *twin) conductors(out *strings.Builder, id int, from, to []string, r, x [][]float64, broken uint) {
	for k := range from {
		if broken&(1<<k) != 0 {
			continue
		}
		at := from[k]
		step := func(kind string, q int, value string) {
			next := fmt.Sprintf("%%b%dk%d%s%d", id, k, kind, q)
			fmt.Fprintf(out, "%s%%b%dk%dq%d %s %s %s\n", kind, id, k, q, at, next, value)
			at = next
		}
		step("V", 0, "0")
		for j := range from {
			if j != k && r[k][j] != 0 && broken&(1<<j) == 0 {
				step("H", j, fmt.Sprintf("V%%b%dk%dq0 %.17g", id, j, r[k][j]))
			}
		}
		if x[k][k] > 0 {
			step("L", 0, fmt.Sprintf("%.17g", x[k][k]*perOhm))
		}
		fmt.Fprintf(out, "R%%b%dk%d %s %s %.17g\n", id, k, at, to[k], r[k][k])
		for j := range k {
			if x[k][j] != 0 && broken&(1<<j) == 0 {
				fmt.Fprintf(out, "K%%b%dk%dj%d L%%b%dk%dq0 L%%b%dk%dq0 %.17g\n", id, k, j, id, k, id, j, x[k][j]/math.Sqrt(x[k][k]*x[j][j]))
			}
		}
	}
}

// matrix makes impedances for n conductors of about the given resistance.
func (w *twin) matrix(n int, ohms float64) (r, x [][]float64) {
	r, x = make([][]float64, n), make([][]float64, n)
	least, coupled := math.Inf(1), w.rng.IntN(3) > 0
	for k := range n {
		r[k], x[k] = make([]float64, n), make([]float64, n)
		r[k][k], x[k][k] = ohms*w.uniform(0.6, 1.6), ohms*w.uniform(0.1, 1)
		least = min(least, r[k][k])
	}
	if coupled {
		shared, tightness := least*w.uniform(0, 0.5), w.uniform(0.1, 0.8)
		for k := range n {
			for j := range n {
				if j != k {
					r[k][j] = shared
					x[k][j] = tightness * math.Sqrt(x[k][k]*x[j][j])
				}
			}
		}
	}
	return r, x
}

func (w *twin) sense(out network.BranchID, id int, n int, broken uint, load bool) {
	for k := range n {
		if broken&(1<<k) == 0 {
			w.senses = append(w.senses, sense{out, k, fmt.Sprintf("v%%b%dk%dq0", id, k), load})
		}
	}
}

func names(ts []network.Terminal) []string {
	ns := make([]string, len(ts))
	for i, t := range ts {
		ns[i] = spiceNode(t)
	}
	return ns
}

func (w *twin) branch(from, to []network.Terminal, ohms float64, breakable bool) {
	w.parts++
	r, x := w.matrix(len(from), ohms)
	z, err := network.Coupled(r, x)
	if err != nil {
		panic(err)
	}
	var broken uint
	br := network.Branch{Name: fmt.Sprint("branch ", w.parts), From: from, To: to, Z: z}
	if breakable && w.rng.IntN(3) == 0 {
		k := w.rng.IntN(len(from))
		broken |= 1 << k
		br.Broken = []network.Conductor{from[k].Conductor}
	}
	if w.split {
		half := w.b.Node(br.Name + ", half way")
		br.To = make([]network.Terminal, len(from))
		for k, t := range from {
			br.To[k] = half.At(t.Conductor)
		}
		br.Z = z.Times(0.5)
		w.b.Branch(br)
		br.From, br.To, br.Broken = br.To, to, nil
	}
	id := w.b.Branch(br)
	for k := range from {
		w.meet(br.From[k], to[k], 1, id, k, false)
	}
	w.conductors(&w.shape, w.parts, names(from), names(to), r, x, broken)
	w.sense(id, w.parts, len(from), broken, false)
}

func (w *twin) electrode(at network.Terminal, ohms float64) {
	w.parts++
	id := w.b.Electrode(fmt.Sprint("electrode ", w.parts), at, quantity.Ohms(ohms))
	w.meet(at, at.Node.At(network.Earth), 1, id, 0, false)
	w.conductors(&w.shape, w.parts, []string{spiceNode(at)}, []string{"0"}, [][]float64{{ohms}}, [][]float64{{0}}, 0)
	w.sense(id, w.parts, 1, 0, false)
}

// load is a resistance and reactance of s VA at 230 V.
func (w *twin) load(from, to network.Terminal, s complex128) {
	w.parts++
	id := w.b.Load(network.Load{Name: fmt.Sprint("load ", w.parts), From: from, To: to, Model: network.ConstantImpedance, S: s, Rated: 230})
	w.meet(from, to, 1, network.BranchID(id), 0, true)
	z := 230 * 230 / cmplx.Conj(s)
	w.conductors(&w.loads, w.parts, []string{spiceNode(from)}, []string{spiceNode(to)}, [][]float64{{real(z)}}, [][]float64{{imag(z)}}, 0)
	w.sense(network.BranchID(id), w.parts, 1, 0, true)
}

// source is 230 V line to star behind an impedance, or that behind a
// transformer from 11 kV.
func (w *twin) source(at network.NodeID, star network.Terminal) {
	three := []network.Conductor{network.L1, network.L2, network.L3}
	volts, from, behind := 230.0, at.All(three...), star
	r, x := w.matrix(3, w.spread(0.005, 0.1))
	if transformer := w.rng.IntN(3) == 0; transformer {
		w.parts++
		volts = 11000 / math.Sqrt(3)
		hv := w.b.Node("high voltage")
		w.nodes = append(w.nodes, hv)
		from, behind = hv.All(three...), hv.At(network.Earth)
		z, err := network.Coupled(r, x)
		if err != nil {
			panic(err)
		}
		id := w.b.Transformer(network.Transformer{Name: "transformer", Z: z,
			Windings: network.Dyn11.Windings([3]network.Terminal(from), network.Terminal{}, [3]network.Terminal(at.All(three...)), star, 11000, 400)})
		secondary := make([]string, 3)
		for k := range 3 {
			secondary[k] = fmt.Sprintf("%%b%ds%d", w.parts, k)
			ratio := 400.0 / 11000 / math.Sqrt(3)
			w.meet(from[k], from[(k+1)%3], ratio, id, k, false)
			w.meet(star, at.At(network.Conductor(k+1)), 1, id, k, false)
			fmt.Fprintf(&w.shape, "E%%b%dk%d %s %s %s %s %.17g\n", w.parts, k, secondary[k], spiceNode(star), spiceNode(from[k]), spiceNode(from[(k+1)%3]), ratio)
			fmt.Fprintf(&w.shape, "F%%b%dk%d %s %s V%%b%dk%dq0 %.17g\n", w.parts, k, spiceNode(from[k]), spiceNode(from[(k+1)%3]), w.parts, k, ratio)
		}
		w.conductors(&w.shape, w.parts, secondary, names(at.All(three...)), r, x, 0)
		w.sense(id, w.parts, 3, 0, false)
		r, x = w.matrix(3, w.spread(0.1, 2))
	}
	w.parts++
	z, err := network.Coupled(r, x)
	if err != nil {
		panic(err)
	}
	id := w.b.Source(network.Source{Name: "supply", Star: behind, Lines: from, EMF: network.ThreePhase(quantity.Volts(volts)), Z: z})
	ideal := make([]string, 3)
	for k := range 3 {
		w.meet(behind, from[k], 1, id, k, false)
		ideal[k] = fmt.Sprintf("%%b%de%d", w.parts, k)
		fmt.Fprintf(&w.emf, "V%%b%de%d %s %s DC 0 AC %.17g %d\n", w.parts, k, ideal[k], spiceNode(behind), volts, []int{0, -120, 120}[k])
		fmt.Fprintf(&w.dead, "V%%b%de%d %s %s DC 0\n", w.parts, k, ideal[k], spiceNode(behind))
	}
	w.conductors(&w.shape, w.parts, ideal, names(from), r, x, 0)
	w.sense(id, w.parts, 3, 0, false)
}

// newTwin makes a street main of four conductors with PEN, services with
// neutral and earth joined at the cut-out, and circuits of five conductors; a
// few ties make meshes, a few conductors are broken.
func newTwin(seed uint64, charging bool) *twin {
	w := &twin{}
	w.grow(seed, charging)
	return w
}

func (w *twin) grow(seed uint64, charging bool) {
	w.rng, w.b = rand.New(rand.NewPCG(seed, 77)), network.NewBuilder()
	four := []network.Conductor{network.L1, network.L2, network.L3, network.PEN}
	five := []network.Conductor{network.L1, network.L2, network.L3, network.N, network.PE}
	node := func(name string) network.NodeID {
		n := w.b.Node(fmt.Sprint(name, " ", len(w.nodes)+1))
		w.nodes = append(w.nodes, n)
		return n
	}
	insulation := func(n network.NodeID, cs []network.Conductor) { // and a way to earth for what breaks off
		for _, c := range cs {
			w.electrode(n.At(c), w.spread(2e4, 2e5))
		}
	}
	breaks := w.rng.IntN(2) == 0
	sub := node("substation")
	w.source(sub, sub.At(network.PEN))
	w.electrode(sub.At(network.PEN), w.spread(0.2, 20))
	main := []network.NodeID{sub}
	for range 1 + w.rng.IntN(3) {
		n := node("main")
		w.branch(main[w.rng.IntN(len(main))].All(four...), n.All(four...), w.spread(0.005, 0.2), breaks)
		insulation(n, four)
		main = append(main, n)
	}
	if len(main) > 2 && w.rng.IntN(2) == 0 {
		w.branch(main[1].All(four...), main[len(main)-1].All(four...), w.spread(0.01, 0.3), breaks)
	}
	var points []network.NodeID
	for range 1 + w.rng.IntN(3) {
		cutOut := node("cut-out")
		w.branch(main[w.rng.IntN(len(main))].All(four...), cutOut.All(four...), w.spread(0.005, 0.1), breaks)
		link := w.b.Join("cut-out", cutOut, network.PEN, network.N, network.PE)
		w.meet(cutOut.At(network.PEN), cutOut.At(network.N), 1, link, 0, false)
		w.meet(cutOut.At(network.PEN), cutOut.At(network.PE), 1, link, 1, false)
		fmt.Fprintf(&w.shape, "V%%j%dn %s %s 0\nV%%j%dp %s %s 0\n", cutOut, spiceNode(cutOut.At(network.PEN)), spiceNode(cutOut.At(network.N)),
			cutOut, spiceNode(cutOut.At(network.PEN)), spiceNode(cutOut.At(network.PE)))
		insulation(cutOut, five)
		if w.rng.IntN(2) == 0 {
			w.electrode(cutOut.At(network.PE), w.spread(1, 500))
		}
		for range 1 + w.rng.IntN(3) {
			p := node("point")
			w.branch(cutOut.All(five...), p.All(five...), w.spread(0.02, 1), breaks)
			insulation(p, five)
			if w.rng.IntN(3) == 0 {
				w.electrode(p.At(network.PE), w.spread(1, 500))
			}
			points = append(points, p)
			for k := range 3 {
				if charging && w.rng.IntN(2) == 0 {
					w.ends = append(w.ends, [2]network.Terminal{lineOf(p, k), p.At(network.N)})
					ids := w.b.ChargePoint(network.ChargePoint{
						Name: fmt.Sprint("charge point ", len(w.drawn)+1), Lines: []network.Terminal{lineOf(p, k)}, Neutral: p.At(network.N),
						Current: quantity.Amperes(w.uniform(0.5, 3)), PowerFactor: w.uniform(0.9, 1), Third: cmplx.Rect(w.uniform(0, 0.3), w.uniform(-3, 3)),
					})
					w.drawn = append(w.drawn, ids...)
					w.meet(lineOf(p, k), p.At(network.N), 1, network.BranchID(ids[0]), 0, true)
				} else {
					w.load(lineOf(p, k), p.At(network.N), complex(w.spread(20, 9000), w.uniform(0, 2000)))
				}
			}
			if w.rng.IntN(2) == 0 {
				w.load(p.At(network.L1), p.At(network.L2), complex(w.spread(20, 5000), 0))
			}
		}
	}
	if len(points) > 1 && w.rng.IntN(2) == 0 { // bonded metal between two buildings
		w.branch(points[0].All(network.PE), points[len(points)-1].All(network.PE), w.spread(0.05, 5), false)
	}
}

func lineOf(n network.NodeID, k int) network.Terminal { return n.At(network.Conductor(k + 1)) }
