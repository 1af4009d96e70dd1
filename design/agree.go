package design

// What the record says against itself, and cables in the ground (BS 7671
// 522.8.10).

import (
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// agree reports where facts of the record contradict each other. What rests on
// them is not known, here and everywhere.
func (k *checker) agree() {
	for _, d := range k.m.Doubts {
		f := k.start("agree "+d.Key, "facts agree", d.Of, "facts of the record agree: "+d.Facts)
		f.Next = d.Next
		if d.Ask {
			k.add(judge(f, say("%s", d.Says), d.Next))
			continue
		}
		f = notKnown(f, d.Lacks())
		f.Why = say("%s", d.Says)
		k.add(f)
	}
}

// burial checks that what lies in the ground can lie there.
func (k *checker) burial(c *model.Circuit) {
	for _, leg := range c.Legs {
		method, laid := leg.Record.Method.Get()
		if laid && !method.Buried() {
			continue
		}
		f := onLeg(k.start("burial", "burial", c.Thing(), "cable in the ground is armoured or in a duct, deep enough and marked"), leg)
		depth, known := leg.Record.Depth.Get()
		construction, said := leg.Cable.Construction.Get()
		usual := limit[quantity.Metres](k, "burial common practice")
		lacks := finding.Gather(usual.Lacks, leg.Thing().Unless(laid, "method", "installation method"),
			leg.Thing().Unless(known || !laid, "depth", "depth of laying"))
		if method == standard.MethodDBuried {
			lacks = finding.Gather(lacks, leg.UnlessCable(said, "construction"))
		}
		f.Source = standard.Sources(k.rules.Clause("burial"), usual.Cite)
		switch {
		case method == standard.MethodDBuried && said && construction != standard.Armoured:
			k.add(fails(f, say("%s is laid in the ground without a duct, and has no earthed armour", string(construction)),
				"take an armoured cable, or lay it in a duct"))
		case len(lacks) > 0:
			k.add(notKnown(f, lacks))
		default:
			f = atLeast(f, depth, usual.Value)
			f.Why = say("at the depth of common practice; the rules give no figure")
			f.Next = "see that it is marked by covers or tape above it"
			if f.Verdict == finding.Fails {
				f = judge(f, say("shallower than common practice; the rules give no figure"), "decide whether a spade can reach it here: lay it deeper, or cover it")
			}
			k.add(f)
		}
	}
}
