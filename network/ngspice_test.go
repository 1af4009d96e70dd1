package network_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"chargewright/network"
	"chargewright/quantity"
)

// An independent check: random four-wire networks are written as netlists for
// ngspice, a general-purpose circuit simulator (Debian package ngspice), and
// its phasors compared with ours. It knows nothing of terminals, joins or
// winding pairs: every conductor is a resistor and an inductor there.

// A run is one netlist under way, many circuits side by side in it.
type run struct {
	list  strings.Builder
	ask   strings.Builder
	want  map[string]complex128 // what we have, by the name ngspice gives it
	count int
}

// circuit adds a netlist and asks for the voltage of every terminal and the
// current of every conductor in st.
func (r *run) circuit(w *twin, net *network.Network, st *network.State, netlist string, loaded bool) (name string) {
	r.count++
	name = fmt.Sprintf("m%d", r.count)
	r.list.WriteString(strings.ReplaceAll(netlist, "%", name))
	for _, n := range w.nodes {
		for c := network.L1; c < network.Earth; c++ {
			if t := n.At(c); net.Has(t) {
				r.expect(fmt.Sprintf("v(%s)", strings.ReplaceAll(spiceNode(t), "%", name)), st.V(t))
			}
		}
	}
	for _, s := range w.senses {
		if s.load && !loaded {
			continue
		}
		got := st.Current(s.branch, s.k)
		if s.load {
			got = st.LoadCurrent(network.LoadID(s.branch))
		}
		r.expect(fmt.Sprintf("i(%s)", strings.ReplaceAll(s.name, "%", name)), got)
	}
	return name
}

func (r *run) expect(name string, value complex128) {
	if r.want == nil {
		r.want = map[string]complex128{}
	}
	r.want[name] = value
	fmt.Fprintf(&r.ask, "print %s\n", name)
}

// compare runs ngspice and returns the number of values that agree. The exit
// status says nothing: every line asked for must be there.
func (r *run) compare(t *testing.T, hertz int) (agreed int, worst float64) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "network.cir")
	text := fmt.Sprintf("random networks\n%s.control\nset numdgt=14\nac lin 1 %d %d\n%squit 0\n.endc\n.end\n", r.list.String(), hertz, hertz, r.ask.String())
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("ngspice", "-b", file).CombinedOutput()
	if err != nil {
		t.Fatalf("ngspice: %v\n%s", err, out[:min(len(out), 3000)])
	}
	seen := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		name, value, ok := strings.Cut(line, " = ")
		want, asked := r.want[name]
		re, im, pair := strings.Cut(strings.TrimSpace(value), ",")
		if !ok || !asked || !pair {
			continue
		}
		x, errX := strconv.ParseFloat(re, 64)
		y, errY := strconv.ParseFloat(im, 64)
		if errX != nil || errY != nil {
			t.Fatalf("ngspice printed %q", line)
		}
		seen[name] = true
		// Relative to the value; to a thousandth of 230 V (and as many amperes
		// or ohms) where all but that cancels, since both programs carry the
		// same sixteen digits.
		share := cmplx.Abs(complex(x, y)-want) / max(cmplx.Abs(want), 0.23)
		worst = max(worst, share)
		if !(share <= 1e-6) {
			t.Errorf("%s = %v, want %v (ngspice): %.2g apart", name, want, complex(x, y), share)
			continue
		}
		agreed++
	}
	for name := range r.want {
		if !seen[name] {
			t.Fatalf("ngspice did not print %s:\n%s", name, out[:min(len(out), 3000)])
		}
	}
	return agreed, worst
}

func needNgspice(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("ngspice comparison is left out with -short")
	}
	if _, err := exec.LookPath("ngspice"); err != nil {
		t.Fatal("ngspice is missing, and without it the model is not checked against an independent program: apt-get install ngspice (or go test -short to leave this out)")
	}
}

func (w *twin) build(t *testing.T) *network.Network {
	t.Helper()
	net, err := w.b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net
}

func TestNgspiceLoadsFaultsAndBrokenConductors(t *testing.T) {
	needNgspice(t)
	const networks, batch = 240, 1 // it takes ngspice longer to do two at once
	agreed, worst := 0, 0.0
	for first := range networks / batch {
		var r run
		for i := range batch {
			w := newTwin(uint64(first*batch+i), false)
			net := w.build(t)

			flow, err := net.Flow()
			if err != nil {
				t.Fatal(err)
			}
			st := flow.NewState()
			if err := flow.Solve(st); err != nil {
				t.Fatal(err)
			}
			r.circuit(w, net, st, w.shape.String()+w.emf.String()+w.loads.String(), true)

			faults, err := net.Faults()
			if err != nil {
				t.Fatal(err)
			}
			at := w.nodes[len(w.nodes)-1-w.rng.IntN(2)] // a point or its cut-out, mostly
			kinds := [][]network.Conductor{
				{network.L1, network.PE}, {network.L2, network.N}, {network.L2, network.L3},
				{network.L1, network.L2, network.L3}, {network.L1, network.L2, network.L3, network.PE}, {network.L3, network.Earth},
			}
			if !net.Has(at.At(network.PE)) {
				kinds = [][]network.Conductor{{network.L1, network.PEN}, {network.L1, network.L2, network.L3}}
			}
			fault := network.Fault{Terminals: at.All(kinds[w.rng.IntN(len(kinds))]...)}
			bolt := ""
			if len(fault.Terminals) == 2 && w.rng.IntN(2) == 0 {
				fault.Resistance = quantity.Ohms(w.spread(0.01, 50))
				bolt = fmt.Sprintf("R%%fault %%f1 %s %.17g\nV%%f1 %s %%f1 0\n", spiceNode(fault.Terminals[0]), fault.Resistance, spiceNode(fault.Terminals[1]))
			} else {
				for k, terminal := range fault.Terminals[1:] {
					bolt += fmt.Sprintf("V%%f%d %s %s 0\n", k+1, spiceNode(terminal), spiceNode(fault.Terminals[0]))
				}
			}
			c := w.uniform(0.95, 1.1)
			st, currents, err := faults.Solve(fault, c)
			if err != nil {
				t.Fatal(err)
			}
			scaled := strings.Split(w.emf.String(), "\n")
			for q, line := range scaled {
				if fields := strings.Fields(line); len(fields) == 8 {
					volts, _ := strconv.ParseFloat(fields[6], 64)
					fields[6] = fmt.Sprintf("%.17g", volts*c)
					scaled[q] = strings.Join(fields, " ")
				}
			}
			name := r.circuit(w, net, st, w.shape.String()+strings.Join(scaled, "\n")+bolt, false)
			for k := range fault.Terminals[1:] {
				r.expect(fmt.Sprintf("i(v%sf%d)", name, k+1), currents[k+1])
			}

			// The loop impedance: 1 A driven through it, sources dead.
			a, b := fault.Terminals[0], fault.Terminals[1]
			z, err := faults.LoopImpedance(a, b)
			if err != nil {
				t.Fatal(err)
			}
			r.count++
			name = fmt.Sprintf("m%d", r.count)
			list := w.shape.String() + w.dead.String() + fmt.Sprintf("I%%z %s %s DC 0 AC 1 0\n", spiceNode(b), spiceNode(a))
			r.list.WriteString(strings.ReplaceAll(list, "%", name))
			ask := fmt.Sprintf("v(%s)-v(%s)", spiceNode(a), spiceNode(b))
			if b.Conductor == network.Earth {
				ask = fmt.Sprintf("v(%s)", spiceNode(a))
			}
			r.expect(strings.ReplaceAll(ask, "%", name), complex128(z))
		}
		n, d := r.compare(t, 50)
		agreed, worst = agreed+n, max(worst, d)
	}
	t.Logf("%d networks, each loaded, faulted and as a loop: %d values, largest relative difference %.2g", networks, agreed, worst)
	if !t.Failed() {
		match("ngspice, random four-wire networks: loads, faults, broken conductors", agreed)
	}
}

// Charge points are currents that depend on the voltage. ngspice is given the
// currents found here, and must find the same voltages; that the currents are
// what the charge points hold is checked by itself.
func TestNgspiceChargePointsAndThirdHarmonic(t *testing.T) {
	needNgspice(t)
	solved, agreed, worst := 0, 0, 0.0
	for seed := range uint64(40) {
		w := newTwin(1000+seed, true)
		net := w.build(t)
		flow, err := net.Flow()
		if err != nil {
			t.Fatal(err)
		}
		st := flow.NewState()
		if err := flow.Solve(st); err != nil {
			t.Logf("seed %d left out: %v", seed, err) // a conductor broken ahead of a charge point
			continue
		}
		third, err := net.ThirdHarmonic()
		if err != nil {
			t.Fatal(err)
		}
		st3 := third.NewState()
		if err := third.Solve(st, st3); err != nil {
			t.Fatal(err)
		}
		draws := func(st *network.State) string {
			var s strings.Builder
			for q, l := range w.drawn {
				i := st.LoadCurrent(l)
				fmt.Fprintf(&s, "I%%d%d %s %s DC 0 AC %.17g %.17g\n", q, spiceNode(w.ends[q][0]), spiceNode(w.ends[q][1]), cmplx.Abs(i), cmplx.Phase(i)*180/math.Pi)
			}
			return s.String()
		}
		var at50, at150 run
		at50.circuit(w, net, st, w.shape.String()+w.emf.String()+w.loads.String()+draws(st), true)
		at150.circuit(w, net, st3, w.shape.String()+w.dead.String()+w.loads.String()+draws(st3), true)
		n, d := at50.compare(t, 50)
		n3, d3 := at150.compare(t, 150)
		solved, agreed, worst = solved+1, agreed+n+n3, max(worst, d, d3)
	}
	if solved < 15 {
		t.Fatalf("only %d networks could be solved", solved)
	}
	t.Logf("%d networks at 50 and at 150 Hz: %d values, largest relative difference %.2g", solved, agreed, worst)
	if !t.Failed() {
		match("ngspice, random networks with charge points, 50 and 150 Hz", agreed)
	}
}
