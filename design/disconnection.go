package design

// Automatic disconnection in case of a fault (BS 7671 411.3 to 411.5).

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// disconnection checks that a fault at the far end of c is cut off in time.
func (k *checker) disconnection(c *model.Circuit) {
	system := c.Earthing()
	clause := "disconnection tn"
	if system.Value == trade.TT {
		clause = "disconnection tt"
	}
	f := k.start("disconnection", clause, c.Thing(), "fault is disconnected in time: Zs ≤ U0 × Cmin / Ia")
	within := c.DisconnectionTime()
	loop := c.OperatingLoop()
	zs, solved := c.Zs(model.AtOperating)
	lacks := finding.Gather(loop.Lacks, system.Lacks, within.Lacks)
	if len(lacks) == 0 && !solved {
		lacks = c.ZsLacks()
	}
	if len(lacks) > 0 {
		f = notKnown(f, lacks)
		if !k.m.Ze().Known() {
			f.WaitsOn = "supply Ze"
		}
		k.add(f)
		return
	}
	if system.Value == trade.TT {
		k.add(k.disconnectionByRCD(f, c, zs, within.Value))
		return
	}
	limiting := c.GreatestZs()
	if !limiting.Known() {
		k.add(notKnown(f, limiting.Lacks))
		return
	}
	most, d := limiting.Value, c.Device().Value
	f.Source = func() []finding.Source {
		return standard.Sources(append([]standard.Citation{k.rules.Clause(clause), within.Cite, limiting.Cite}, loopCitations(loop)...)...).List()
	}
	f = atMost(f, zs, most)
	f.Why = func() string {
		return fmt.Sprintf("%s, conductors at operating temperature; %s; %s %v within %v", loopText(loop),
			model.Difference(zs, loop.Magnitude(), "tails and earthing conductor add, reactances and parallel paths take away"), d.Family, d.Rating, within.Value)
	}
	if cold, ok := limit[float64](k, "cold zs factor").Get(); ok {
		f.Why = f.Why.Then(say("measured cold, at most %v", model.RoundDown(most*quantity.Ohms(cold))))
	}
	if f.Verdict == finding.Fails {
		byRCD := k.disconnectionByRCD(f, c, zs, within.Value)
		if byRCD.Verdict == finding.Meets {
			f.Verdict = finding.JudgeOnSite
			f.Why = f.Why.Then(say("not met by the overcurrent device, over by %v; the RCD disconnects an earth fault (%s)", zs-most, byRCD.Why))
			f.Next = "decide whether the RCD alone is to give fault protection; else lower Zs or take a smaller device or another type"
		} else {
			f.Next = "lower Zs (larger csa, shorter run), or take a device that operates at a smaller current"
		}
	}
	k.add(f)
}

// disconnectionByRCD checks fault protection by the RCD:
//
//	formula  Zs × IΔn ≤ 50 V
//	clause   BS 7671 411.5.3
func (k *checker) disconnectionByRCD(f finding.Finding, c *model.Circuit, zs quantity.Ohms, within quantity.Seconds) finding.Finding {
	rcd, ok := c.RCD()
	if c.Point != nil && !ok && c.Point.Record.BuiltInRCD.Residual.IsKnown() {
		return fails(f, say("the only RCD is inside the point: a fault in its circuit is not disconnected"), "protect the circuit by an RCD at its origin")
	}
	residual, known := rcd.Residual.Get()
	if !ok || !known {
		return fails(f, say("no RCD protects it, and a loop of %v does not operate an overcurrent device", zs), "protect the circuit by an RCD at its origin")
	}
	touch := limit[float64](k, "touch voltage")
	if !touch.Known() {
		return notKnown(f, touch.Lacks)
	}
	f.Source = standard.Sources(k.rules.Clause("disconnection tt"), touch.Cite)
	f = atMost(f, zs, quantity.Ohms(touch.Value/float64(residual)))
	f.What = "fault is disconnected by the RCD: Zs × IΔn ≤ 50 V"
	f.Why = say("%v × %v = %v; RCD within %v", zs, residual, quantity.Volts(float64(zs)*float64(residual)), within)
	if f.Verdict == finding.Fails {
		f.Next = "lower the electrode resistance: more rods, deeper, or further apart"
	}
	return f
}

func loopCitations(l model.Loop) []standard.Citation {
	var out []standard.Citation
	for _, p := range l.Parts {
		out = append(out, p.Citation)
	}
	return out
}

// loopText writes a loop as its parts: "0.18 Ω (Ze) + 0.21 Ω (circuit: R1+R2)".
func loopText(l model.Loop) string {
	var parts []string
	for _, p := range l.Parts {
		parts = append(parts, fmt.Sprintf("%v (%s)", p.Impedance.Magnitude(), p.What))
	}
	return strings.Join(parts, " + ")
}
