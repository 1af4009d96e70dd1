package design

// What feeds the installation beside the street: what stands between two feeds
// carries both, opens either way round and is not blinded; each source is told
// of, and what works without the street is earthed without it (BS 7671 551,
// 712, 530.3.201, Chapter 57).

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

func (k *checker) sources() {
	k.directions()
	if names := model.SourceNames(k.m.Job); len(names) > 0 && len(k.m.UnsaidSources()) > 0 {
		f := k.start("sources", "assembly sources", works.TheInstallation, "every source is entered, with where it is connected and what it gives out")
		k.add(notKnown(f, k.m.UnsaidSources()))
	}
	for _, s := range k.m.Sources {
		k.sourceConductors(s)
		k.sourceRCD(s)
		switch s.Record.Kind.Or("") {
		case trade.Battery:
			k.charging(s)
			k.storage(s)
		case "":
			k.add(notKnown(k.start("source", "assembly sources", s.Record.Thing(), "kind of source"), s.Record.Thing().Lack("kind", "kind of source")))
		}
		k.backup(s)
	}
}

// sourceConductors checks that the circuit a source is on carries what can be fed
// into it from both ends.
//
//	formula  Iz ≥ Ig; on a circuit that feeds something of its own, Iz ≥ In + Ig
//	clause   BS 7671 551.7.2, 712.433
func (k *checker) sourceConductors(s *model.Source) {
	c := s.Circuit
	if c == nil || s.Own() { // its own circuit is checked as a circuit, for Ig
		return
	}
	f := k.start("source conductors", "source circuit", s.Record.Thing(), "conductors of "+c.Name()+" carry what is fed from both ends")
	ig, in := s.Currents(), c.Rated()
	need, why := ig.Greatest(), say("Ig %v", ig.Greatest())
	if s.Shares() {
		f.What += ": Iz ≥ In + Ig"
		need, why = in.Value+ig.Greatest(), say("In %v and Ig %v", in.Value, ig.Greatest())
		if !in.Known() {
			k.add(notKnown(f, in.Lacks, ig.Lacks))
			return
		}
	}
	lacks := slices.Clone(ig.Lacks)
	least := quantity.Amperes(0)
	for i, leg := range c.Legs {
		r := RateLeg(k.m, c, leg)
		lacks = append(lacks, r.Lacks...)
		if i == 0 || r.Capacity < least {
			least = r.Capacity
		}
	}
	if len(c.Legs) == 0 {
		lacks = append(lacks, c.Thing().Lack("legs", "legs of the cable")...)
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	f = atLeast(f, least, need)
	f.Why = why
	if f.Verdict == finding.Fails {
		f.Next = "give the source a circuit of its own"
	}
	k.add(f)
}

// sharing returns the name of a source that shares a circuit with what that feeds.
func (k *checker) sharing(c *model.Circuit) string {
	for _, s := range k.m.Sources {
		if s.Circuit == c && s.Shares() {
			return s.Record.Name
		}
	}
	return ""
}

// sourceRCD checks each RCD between a source and the origin against the smooth
// direct current that the source may let flow: without the word of its maker, or
// simple separation, only Type B is left.
func (k *checker) sourceRCD(s *model.Source) {
	at := s.Record.Thing()
	f := k.start("source RCD", "source rcd", at, "direct current from it blinds no RCD between it and the origin")
	if len(s.Lacks) > 0 {
		k.add(notKnown(f, s.Lacks))
		return
	}
	rank := func(t trade.RCDType) int { return slices.Index(t.Values(), string(t)) }
	asked, said := s.Record.NeedsRCD.Get()
	var lacks finding.Lacks
	var blind []string
	rcds := s.RCDs()
	for _, r := range rcds {
		lacks = finding.Gather(lacks, k.m.MoreBehind(r))
		switch kind, ok := r.RCD.Type.Get(); {
		case kind == trade.TypeB:
		case !ok || !said:
			lacks = finding.Gather(lacks, r.Unless(ok, "type", "type"), at.Unless(said, "RCD asked for", "type of RCD its maker asks for"))
		case rank(kind) < rank(asked):
			blind = append(blind, fmt.Sprintf("%s is of Type %s", r.Name, kind))
		}
	}
	for _, c := range s.Way() { // behind which of the board's RCDs it is must be said
		if c.From != nil && len(c.From.Record.RCDs) > 0 && c.Record.SharedRCD == "" {
			lacks = finding.Gather(lacks, c.Thing().Lack("shared RCD", "the RCD of the board it is behind, or none"))
		}
	}
	switch {
	case len(blind) > 0:
		k.add(fails(f, say("its maker asks for Type %s, and %s", asked, strings.Join(blind, ", ")), "connect it ahead of that RCD, or change the RCD"))
	case len(lacks) > 0:
		k.add(notKnown(f, lacks))
	case len(rcds) == 0:
		k.add(meets(f, say("not engaged: there is no RCD between it and the origin")))
	case said:
		k.add(meets(f, say("its maker asks for Type %s", asked)))
	default:
		k.add(meets(f, say("every RCD on its way is of Type B")))
	}
}

// charging checks that what a battery takes from the supply is in the demand.
func (k *checker) charging(s *model.Source) {
	f := k.start("battery charging", "battery charging", s.Record.Thing(), "what it takes from the supply is counted as a load")
	load, lacks := s.Charges()
	switch {
	case len(lacks) > 0:
		k.add(notKnown(f, lacks))
	case load == nil:
		k.add(meets(f, say("entered: it takes nothing from the supply")))
	default:
		i := k.m.LoadCurrents(load)
		if !i.Known() {
			k.add(notKnown(f, i.Lacks))
			return
		}
		k.add(meets(f, say("%s, %v", load.Name, i.Greatest())))
	}
}

// storage points at the chapter on batteries, whose text was not read.
func (k *checker) storage(s *model.Source) {
	f := k.start("storage", "storage", s.Record.Thing(), "it stands where and as its chapter asks")
	k.add(judge(f, say("what Chapter 57 asks was not read and is not checked"),
		"hold it against Chapter 57 of the current edition and its maker's instructions: place, escape routes, ventilation, fire detection, isolation"))
}

// backup checks what feeds the installation without the street: the street's
// earth may be lost with it, and its fault current opens no overcurrent device.
func (k *checker) backup(s *model.Source) {
	at := s.Record.Thing()
	f := k.start("backup earthing", "backup earthing", at, "while it works without the street, an electrode of the installation's own earths it")
	alone, said := s.Record.Backup.Get()
	switch {
	case !said:
		k.add(notKnown(f, at.Lack("works without the street", "whether it works without the street")))
		return
	case !alone:
		k.add(meets(f, say("not engaged: it stops when the supply is lost")))
		return
	case s.Record.Electrode == "":
		k.add(notKnown(f, at.Lack("electrode", "electrode that earths the installation then")))
	default:
		k.add(k.backupElectrode(f, s))
	}

	f = k.start("backup neutral", "backup neutral", at, "neutral and earth are joined while it works without the street, and only then")
	switch joins, ok := s.Record.Joins.Get(); {
	case !ok:
		k.add(notKnown(f, at.Lack("joins neutral and earth", "whether it joins neutral and earth then, and only then")))
	case joins:
		k.add(judge(f, say("entered; the order of the contacts is not in the record"),
			"see that both live conductors from the street open first, and test that the join opens before they close"))
	default:
		k.add(fails(f, say("nothing joins them, so no RCD sees a fault to earth"), "add the relay that joins them, or keep it from working without the street"))
	}

	f = k.start("backup fault", "backup fault", at, "a fault is cleared while it works without the street")
	ig := s.Currents()
	if !ig.Known() {
		k.add(notKnown(f, ig.Lacks))
		return
	}
	most := limit[float64](k, "inverter fault multiple")
	if !most.Known() {
		k.add(notKnown(f, most.Lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("backup fault"), most.Cite)
	k.add(judge(f, say("an inverter of %v gives at most about %v into a fault, which opens no overcurrent device at once: it rests on the RCDs "+
		"and on its own shut-down", ig.Greatest(), quantity.Amperes(most.Value*float64(ig.Greatest()))),
		"test each circuit it feeds while it works without the street, and keep the charge point off it unless it carries the point"))
}

func (k *checker) backupElectrode(f finding.Finding, s *model.Source) finding.Finding {
	for i := range k.m.Job.Electrodes {
		e := &k.m.Job.Electrodes[i]
		if e.Name != s.Record.Electrode {
			continue
		}
		ra, ok := e.Resistance.Value.Get()
		most := limit[quantity.Ohms](k, "electrode stability")
		if lacks := finding.Gather(e.Thing().Unless(ok, "resistance", "resistance to earth"), most.Lacks, k.m.Doubted(e.Thing().Path+"/resistance")); len(lacks) > 0 {
			return notKnown(f, lacks)
		}
		f.Source = standard.Sources(k.rules.Clause("backup earthing"), most.Cite)
		f = atMost(f, ra, most.Value)
		f.Why = say("%s", e.Name)
		if f.Verdict == finding.Fails {
			f.Verdict = finding.JudgeOnSite
			f.Next = "above " + most.Value.String() + " an electrode may not be stable: add a rod, or show that it stays low all year"
		}
		return f
	}
	return notKnown(f, s.Record.Thing().Lack("electrode", "electrode that earths the installation then"))
}

// directions checks that what may be fed from either side is made for it: a
// device marked in and out burns its coil, or fails to open, fed the wrong way.
// While a source is not placed every device on the way to a point counts; then
// what lies between a source and the origin does.
func (k *checker) directions() {
	if len(k.m.Points) == 0 {
		return
	}
	names, unsaid := model.SourceNames(k.m.Job), k.m.UnsaidSources()
	if len(names) == 0 {
		f := k.start("device direction", "bidirectional", works.TheInstallation, "devices suit a supply from either side where there may be one")
		if len(unsaid) == 0 {
			k.add(meets(f, say("not engaged: nothing on site feeds back")))
			return
		}
		k.add(notKnown(f, unsaid))
		return
	}
	what := strings.Join(names, ", ")
	seen := map[string]bool{}
	ask := func(at works.Thing, field string, sides quantity.Maybe[trade.Sides]) {
		if seen[at.Path+field] {
			return
		}
		seen[at.Path+field] = true
		f := k.start("device direction", "bidirectional", at, "it may be supplied from either side")
		switch is, ok := sides.Get(); {
		case !ok:
			f.Next = "look for in and out, line and load, or arrows on it; ask its maker where it has no marks"
			k.add(notKnown(f, at.Lack(field+"supply side", "sides it may be supplied from")))
		case is == trade.OneSide:
			k.add(fails(f, say("marked for one direction, and there is %s on site", what),
				"replace it by a bidirectional one, or move it to where only the street feeds it"))
		default:
			k.add(meets(f, say("made for either side; there is %s on site", what)))
		}
	}
	through := func(c *model.Circuit) {
		for ; c != nil; c = c.Feed() {
			ask(c.Thing(), "device/", c.Record.Device.Sides)
		}
	}
	residual := func(rcds []model.Protecting) {
		for _, r := range rcds {
			own := len(r.Feeds) == 1 && r.Feeds[0].Record.RCDThing().Path == r.Path
			if r.BuiltIn || own && r.Feeds[0].Record.Device.Type.Or("").Residual() {
				continue // the maker's own, or one device with the circuit's
			}
			ask(r.Thing, "", r.RCD.Sides)
		}
	}
	placed := len(unsaid) == 0
	for _, s := range k.m.Sources {
		placed = placed && len(s.Lacks) == 0
		through(s.Circuit)
		if s.Circuit == nil && s.Board != nil {
			through(s.Board.Feed)
		}
		residual(s.RCDs())
	}
	if placed {
		return
	}
	for _, p := range k.m.Points {
		through(p.Circuit)
		residual(p.RCDs())
	}
}
