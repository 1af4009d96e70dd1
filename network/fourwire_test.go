package network_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"chargewright/network"
	"chargewright/quantity"
)

func readJSON(t testing.TB, name string, into any) {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatal(err)
	}
}

type fourWireCase struct {
	Source struct {
		Bus string
		V   float64 `json:"line_to_line_v"`
	}
	Lines []struct {
		From, To string
		FromC    []uint8     `json:"from_conductors"`
		ToC      []uint8     `json:"to_conductors"`
		R        [][]float64 `json:"r_ohm"`
		X        [][]float64 `json:"x_ohm"`
	}
	Earths []struct {
		From, To string
		R        float64 `json:"r_ohm"`
		X        float64 `json:"x_ohm"`
	} `json:"earth_impedances"`
	Loads []struct {
		Bus        string
		Conductors []uint8
		Phases     int
		Connection string
		Model      string
		Rated      float64 `json:"rated_v"`
		KVA        float64
		PF         float64 `json:"power_factor_lagging"`
	}
	Expected []struct {
		Bus       string
		Conductor uint8
		V         float64
		Angle     float64 `json:"angle_rad"`
	}
}

// Source: PowerModelsDistribution, commit e59d21a, en_validation cases solved
// by OpenDSS; see testdata/four-wire-cases/SOURCE.md.
func TestExplicitNeutralCases(t *testing.T) {
	cases := map[string]fourWireCase{}
	readJSON(t, "testdata/four-wire-cases/cases.json", &cases)
	if len(cases) != 10 {
		t.Fatalf("%d cases, want 10", len(cases))
	}
	conductor := func(c uint8) network.Conductor { // 0 earth, 1 to 3 lines, 4 neutral, 5 and 6 further neutrals
		return [...]network.Conductor{network.Earth, network.L1, network.L2, network.L3, network.N, network.Earth + 1, network.Earth + 2}[c]
	}
	models := map[string]network.LoadModel{
		"constant power": network.ConstantPower, "constant impedance": network.ConstantImpedance,
		"constant current magnitude": network.ConstantCurrent,
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			b := network.NewBuilder()
			nodes := map[string]network.NodeID{}
			node := func(name string) network.NodeID {
				if _, ok := nodes[name]; !ok {
					nodes[name] = b.Node(name)
				}
				return nodes[name]
			}
			ends := func(bus string, cs []uint8) []network.Terminal {
				ts := make([]network.Terminal, len(cs))
				for i, c := range cs {
					ts[i] = node(bus).At(conductor(c))
				}
				return ts
			}
			at := node(c.Source.Bus)
			b.Source(network.Source{
				Name: "stiff source", Star: at.At(network.Earth), Lines: at.All(network.L1, network.L2, network.L3),
				EMF: network.ThreePhase(quantity.Volts(c.Source.V / math.Sqrt(3))),
			})
			for i, l := range c.Lines {
				z, err := network.Coupled(l.R, l.X)
				if err != nil {
					t.Fatal(err)
				}
				b.Branch(network.Branch{Name: fmt.Sprint("line ", i+1), From: ends(l.From, l.FromC), To: ends(l.To, l.ToC), Z: z})
			}
			for _, e := range c.Earths {
				end := func(s string) []network.Terminal {
					bus, number, _ := strings.Cut(s, ".")
					return ends(bus, []uint8{number[0] - '0'})
				}
				b.Branch(network.Branch{Name: e.From + " to " + e.To, From: end(e.From), To: end(e.To), Z: network.Series(quantity.Impedance(complex(e.R, e.X)))})
			}
			for i, l := range c.Loads {
				load := network.Load{
					Name: fmt.Sprint("load ", i+1), Model: models[l.Model], Rated: quantity.Volts(l.Rated),
					S: complex(l.PF, math.Sqrt(1-l.PF*l.PF)) * complex(1000*l.KVA, 0),
				}
				ts := ends(l.Bus, l.Conductors)
				switch {
				case l.Phases == 1:
					load.From, load.To = ts[0], ts[1]
					b.Load(load)
				case l.Connection == "delta":
					b.Delta(load, [3]network.Terminal(ts))
				default:
					load.Rated /= quantity.Volts(math.Sqrt(3))
					b.Star(load, [3]network.Terminal(ts[:3]), ts[3])
				}
			}
			_, st := flowOf(t, b)
			worst := 0.0
			for _, e := range c.Expected {
				got, want := st.V(node(e.Bus).At(conductor(e.Conductor))), cmplx.Rect(e.V, e.Angle)
				worst = max(worst, cmplx.Abs(got-want))
				if !(cmplx.Abs(got-want) <= 1e-4) {
					t.Errorf("V at %s conductor %d = %.6f, want %.6f ± 0.0001 V", e.Bus, e.Conductor, got, want)
				}
			}
			t.Logf("%d phasors, largest difference %.2g V", len(c.Expected), worst)
			if !t.Failed() {
				match("PowerModelsDistribution explicit-neutral cases, solved by OpenDSS (phasors)", len(c.Expected))
			}
		})
	}
}
