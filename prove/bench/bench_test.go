package bench

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"chargewright/job"
)

// TestRecords: every case is a job file that is read without a fault, each
// fault is drawn, and one that is there changes some reading.
func TestRecords(t *testing.T) {
	drawn := map[string]int{}
	for n := range 1500 {
		c := New(1, n)
		if _, err := job.Read("bench.yaml", []byte(c.Record)); err != nil {
			t.Fatalf("case %d (%s): %v\n%s", n, c.Names(), err, c.Record)
		}
		if len(c.Readings) < 3 {
			t.Errorf("case %d (%s): %d readings", n, c.Names(), len(c.Readings))
		}
		for _, f := range c.Faults {
			drawn[f.Name]++
		}
	}
	all := append(slices.Clone(Faults), Unlisted...)
	for _, f := range all {
		if drawn[f.Name] == 0 {
			t.Errorf("no case has %q", f.Name)
		}
	}
	if len(all) < 90 || len(Unlisted) < 25 {
		t.Errorf("%d faults, %d of them on no list; want 90 at least, and 25", len(all), len(Unlisted))
	}
	t.Logf("%d faults, and %d on no list", len(Faults), len(Unlisted))
	for name := range tellingUnlisted {
		if !known(name) {
			t.Errorf("readings tell of %q, which is no fault of the bench", name)
		}
	}
	for name := range telling {
		if !known(name) {
			t.Errorf("readings tell of %q, which is no fault of the bench", name)
		}
	}
}

func known(name string) bool {
	for _, f := range append(slices.Clone(Faults), Unlisted...) {
		if f.Name == name {
			return true
		}
	}
	return false
}

// TestSound holds a sound place to the sums of a pencil: a loop is its parts.
func TestSound(t *testing.T) {
	for n := range 300 {
		s := newSite(rand.New(rand.NewPCG(5, uint64(n))))
		if s.Earthing == "TT" {
			continue
		}
		z := real(s.asWired(s.live()).between("outlet.L1", "outlet.E"))
		path := s.ohms["service L1"] + s.ohms["tails L1"] + 0.0004 + s.ohms["sub L1"]*b2f(s.Sub > 0) + s.ohms["run L1"] + 0.007 + s.ohms["lead L1"] + s.ohms["lead E"]
		core := both(s.ohms["core E"], s.ohms["armour E"])
		path += core + s.ohms["sub E"]*b2f(s.Sub > 0) + s.ohms["terminal"] + s.ohms["earthing conductor"]
		if s.Earthing == "TN-S" {
			path += s.ohms["sheath"]
		} else {
			path += s.ohms["service N"] + s.ohms["cut-out link"]
		}
		// Bonds and earths beside it lower the whole, and the service's share most.
		if z > path*1.001 || z < path-0.15*path-0.02 {
			t.Errorf("%v: loop %.4f Ω, its parts %.4f Ω", s, z, path)
		}
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// TestAgainstSpice holds node voltages to ngspice, a general circuit simulator,
// on 60 places with and without faults, and on one with each that is on no list.
func TestAgainstSpice(t *testing.T) {
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("ngspice is not there: the tests of the bench need it")
		}
		t.Skip("ngspice is not there")
	}
	voltage := regexp.MustCompile(`(?m)^v\((\w+)\) = (\S+),(\S+)`)
	for n := range 60 + len(Unlisted) {
		c := New(17, n)
		if n >= 60 {
			c = NewUnlisted(17, n-60)
		}
		h := c.Site.live()
		h.noLoad = false
		h.vehicle = 7.2
		w := c.Site.laid(h)
		var deck strings.Builder
		fmt.Fprintln(&deck, "a place of the bench, at 50 Hz")
		for i, b := range w.branches {
			mid := fmt.Sprintf("m%d", i)
			fmt.Fprintf(&deck, "V%d %s %s DC 0 AC %.12g %.12g\n", i, mid, spice(b.a), cmplx.Abs(b.emf), cmplx.Phase(b.emf)*180/math.Pi)
			next := spice(b.b)
			if x := imag(b.z); x != 0 {
				next = fmt.Sprintf("x%d", i)
				fmt.Fprintf(&deck, "L%d %s %s %.12g\n", i, next, spice(b.b), x/(2*math.Pi*50))
			}
			fmt.Fprintf(&deck, "R%d %s %s %.12g\n", i, mid, next, real(b.z))
		}
		for i := 1; i < len(w.at); i++ {
			fmt.Fprintf(&deck, "RG%d n%d 0 1e13\n", i, i)
		}
		fmt.Fprintln(&deck, ".options gmin=1e-15 reltol=1e-9\n.control\nset numdgt=12\nac lin 1 50 50")
		for i := 1; i < len(w.at); i++ {
			fmt.Fprintf(&deck, "print v(n%d)\n", i)
		}
		fmt.Fprintln(&deck, "quit\n.endc\n.end")
		file := filepath.Join(t.TempDir(), "place.cir")
		if err := os.WriteFile(file, []byte(deck.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("ngspice", "-b", file).CombinedOutput()
		found := voltage.FindAllStringSubmatch(string(out), -1)
		if len(found) < len(w.at)-1 {
			t.Fatalf("ngspice: %v, %d of %d voltages\n%s", err, len(found), len(w.at)-1, out)
		}
		u := w.solve(false, nil)
		for _, f := range found {
			node, _ := strconv.Atoi(strings.TrimPrefix(f[1], "n"))
			re, _ := strconv.ParseFloat(f[2], 64)
			im, _ := strconv.ParseFloat(f[3], 64)
			if d := cmplx.Abs(u[node] - complex(re, im)); d > 1e-3 {
				t.Errorf("place %d (%s), node %d: %v here, %g%+gi by ngspice", n, c.Names(), node, u[node], re, im)
			}
		}
	}
}

func spice(n int) string {
	if n == 0 {
		return "0"
	}
	return fmt.Sprint("n", n)
}
