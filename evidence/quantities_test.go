package evidence

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"chargewright/demand"
	"chargewright/design"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
)

// inputs is what a value is of. Each is read once; one that nothing reads is a
// fault of the row.
type inputs struct {
	t  testing.TB
	of map[string]string
}

// text takes an input out, or what stands for it where it is not given.
func (in inputs) text(name, otherwise string) string {
	v, ok := in.of[name]
	if !ok {
		return otherwise
	}
	delete(in.of, name)
	return v
}

// number takes an input's number, in SI units, areas in mm².
func (in inputs) number(name string) float64 {
	v := in.text(name, "")
	for _, parse := range []func(string) (float64, error){
		func(s string) (float64, error) { return strconv.ParseFloat(s, 64) },
		si(quantity.ParseSquareMillimetres), si(quantity.ParseAmperes), si(quantity.ParseMetres), si(quantity.ParseSeconds),
		si(quantity.ParseCelsius), si(quantity.ParseKelvinMetresPerWatt), si(quantity.ParsePercent),
	} {
		if n, err := parse(v); err == nil {
			return n
		}
	}
	in.t.Fatalf("input %s: %q is no number", name, v)
	return 0
}

func si[Q ~float64](parse func(string) (Q, error)) func(string) (float64, error) {
	return func(s string) (float64, error) { q, err := parse(s); return float64(q), err }
}

func (in inputs) csa() quantity.SquareMillimetres {
	return quantity.SquareMillimetres(in.number("csa"))
}

func (in inputs) whole(name string) int { return int(in.number(name)) }

func (in inputs) rules() *standard.Rulebook {
	b, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		in.t.Fatal(err)
	}
	return b
}

// told returns a figure of the rulebook, or fails.
func told[Q ~float64](in inputs) func(Q, standard.Citation, error) float64 {
	return func(q Q, _ standard.Citation, err error) float64 {
		if err != nil {
			in.t.Fatal(err)
		}
		return float64(q)
	}
}

func (in inputs) construction() standard.Construction {
	return standard.Construction(in.text("construction", ""))
}
func (in inputs) insulation() standard.Insulation {
	return standard.Insulation(in.text("insulation", string(standard.Thermoplastic70)))
}

// lying is a method of installation by which circuits lie together so.
func (in inputs) lying(a standard.Arrangement) standard.Method {
	for _, m := range standard.Method("").Values() {
		if slices.Contains(in.rules().Arrangements(standard.Method(m)), a) {
			return standard.Method(m)
		}
	}
	return ""
}

func (in inputs) method() standard.Method { return standard.Method(in.text("method", "")) }

// lookedUp is the quantities that are printed in a table of ours too: that they
// agree says that we copied well, and no more.
var lookedUp = map[string]bool{"tabulated rating": true, "tabulated volt drop": true, "resistance at 20 °C": true,
	"ambient factor": true, "grouping factor": true,
	"soil factor": true, "overload factor": true, "k": true, "armour resistance": true, "armour area": true, "cpc of flat twin": true, "allowance": true}

// quantities is how we come to each quantity.
var quantities = map[string]func(inputs) float64{
	"tabulated rating": func(in inputs) float64 {
		return told[quantity.Amperes](in)(in.rules().Rating(standard.Copper, in.construction(), in.insulation(), in.method(), in.whole("loaded"), in.csa()))
	},
	"tabulated volt drop": func(in inputs) float64 {
		d, _, err := in.rules().VoltDrop(standard.Copper, in.construction(), in.insulation(), in.method(), in.whole("phases"), in.csa())
		if err != nil {
			in.t.Fatal(err)
		}
		return d.Z
	},
	"resistance at 20 °C": func(in inputs) float64 {
		return 1000 * told[quantity.OhmsPerMetreAt20](in)(in.rules().Resistance(standard.Material(in.text("material", "")),
			standard.ConductorClass(in.whole("cls")), in.csa()))
	},
	"ambient factor": func(in inputs) float64 {
		return told[float64](in)(in.rules().AmbientFactor(in.insulation(), in.text("surroundings", "") == "ground", quantity.Celsius(in.number("temperature"))))
	},
	"grouping factor": func(in inputs) float64 {
		lie := standard.Arrangement(in.text("arrangement", ""))
		return told[float64](in)(in.rules().GroupingFactor(in.lying(lie), lie, in.whole("circuits")))
	},
	"soil factor": func(in inputs) float64 {
		return told[float64](in)(in.rules().SoilFactor(in.text("duct", "") == "yes", quantity.KelvinMetresPerWatt(in.number("soil"))))
	},
	"overload factor": func(in inputs) float64 {
		f, _ := in.rules().OverloadFactor(in.text("fuse", "") == "yes", in.text("buried", "") == "yes")
		return f
	},
	"k": func(in inputs) float64 {
		return told[float64](in)(in.rules().K(standard.Material(in.text("material", "")), in.insulation(), standard.Role(in.text("role", ""))))
	},
	"armour resistance": func(in inputs) float64 {
		a, _, err := in.rules().Armour(standard.Copper, standard.Thermosetting90, in.whole("cores"), in.csa())
		if err != nil {
			in.t.Fatal(err)
		}
		return 1000 * float64(a.Resistance)
	},
	"armour area": func(in inputs) float64 {
		a, _, err := in.rules().Armour(standard.Copper, standard.Thermosetting90, in.whole("cores"), in.csa())
		if err != nil {
			in.t.Fatal(err)
		}
		return float64(a.Area)
	},
	"cpc of flat twin": func(in inputs) float64 { return told[quantity.SquareMillimetres](in)(in.rules().FlatTwinCPC(in.csa())) },

	"R1+R2": func(in inputs) float64 { at := in.temperature(); return resistance(in.circuit().R1R2(at)) },
	"R1":    func(in inputs) float64 { return resistance(in.circuit().R1(model.At20)) },
	"Zs":    func(in inputs) float64 { return float64(in.circuit().OperatingLoop().Magnitude()) },
	"resistance at a temperature over 20 °C": func(in inputs) float64 {
		return float64(quantity.OhmsAt20(1).At(quantity.Celsius(in.number("at"))))
	},
	"resistance in use over 20 °C": func(in inputs) float64 {
		c := in.circuit()
		return float64(c.R1(model.AtOperating).Magnitude() / c.R1(model.At20).Magnitude())
	},

	"greatest Zs": func(in inputs) float64 {
		d := standard.Device{Family: standard.Family(in.text("device", "")), Rating: quantity.Amperes(in.number("rating"))}
		return told[quantity.Ohms](in)(in.rules().MaxZs(d, quantity.Seconds(in.number("within")), 230))
	},
	"greatest Zs by RCD": func(in inputs) float64 {
		z := in.circuit().GreatestZsByRCD()
		if !z.Known() {
			in.t.Fatal(z.Lacks)
		}
		return float64(z.Value)
	},
	"volt drop": func(in inputs) float64 {
		m, c := in.run()
		return float64(design.CircuitDrop(m, c, 0).Volts)
	},
	"volt drop line to line": func(in inputs) float64 {
		in.of["phases"] = "L1 L2 L3"
		m, c := in.run()
		return math.Sqrt(3) * float64(design.CircuitDrop(m, c, 0).Volts)
	},
	"volt drop limit": func(in inputs) float64 {
		return 230 * told[float64](in)(in.rules().Limit("volt drop "+in.text("use", "")+" public"))
	},
	"rated by factors": func(in inputs) float64 {
		m, c := in.run()
		r := design.RateLeg(m, c, c.Legs[0])
		if len(r.Lacks) > 0 {
			in.t.Fatal(r.Lacks)
		}
		return float64(r.Capacity)
	},

	"reading expected": func(in inputs) float64 {
		reading := in.text("reading", "")
		m, _ := in.run()
		e, err := prove.ExpectOne(m, reading, in.text("of", "load"))
		if err != nil || !e.Known() {
			in.t.Fatalf("no expectation: %v %v", err, e.Missing)
		}
		return e.Mid.Number
	},
	"pilot current": func(in inputs) float64 {
		return told[quantity.Amperes](in)(in.rules().PilotCurrent(quantity.Percent(in.number("duty"))))
	},
	"pilot duty": func(in inputs) float64 {
		return told[quantity.Percent](in)(in.rules().PilotDuty(quantity.Amperes(in.number("current"))))
	},

	"cooker after allowance": func(in inputs) float64 {
		e := demand.ByAllowance(in.lay("site/premises: dwelling", "boards/board/all loads entered: yes", "loads/hob: 1", "loads/hob/board: board",
			"loads/hob/phases: L1", "loads/hob/kind: cooking", "loads/hob/current: "+in.text("current", "")))
		if !e.Known() {
			in.t.Fatal(e.Lacks)
		}
		return float64(e.Existing[0])
	},
	"allowance": func(in inputs) float64 {
		d, _, err := in.rules().Diversity(in.text("premises", ""), in.text("load", ""))
		if err != nil {
			in.t.Fatal(err)
		}
		return map[string]float64{"largest": d.Largest, "second": d.Second, "rest": d.Rest}[in.text("of", "")]
	},
}

// circuit is the circuit of run alone.
func (in inputs) circuit() *model.Circuit { _, c := in.run(); return c }

// resistance is a loop without its reactance, as the tables print it.
func resistance(l model.Loop) float64 {
	sum := 0.0
	for _, p := range l.Parts {
		sum += real(complex128(p.Impedance))
	}
	return sum
}

// temperature is the state a resistance is asked at.
func (in inputs) temperature() model.Temperature {
	if in.text("at", "20 °C") == "use" {
		return model.AtOperating
	}
	return model.At20
}
