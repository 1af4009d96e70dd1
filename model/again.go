package model

// What was read, held against the record: when and with which instrument, and
// against what the legs of the circuit give.

import (
	"fmt"
	"strconv"

	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// doubtService asks back where the service is not as services here are: 50 Hz,
// with a neutral that belongs to the tails behind it.
func (m *Model) doubtService() {
	s := &m.Job.Supply
	if s.Frequency != "" && s.Frequency != "50 Hz" {
		m.ask("frequency", works.TheSupply, "the frequency of a supply here", "it is entered as "+s.Frequency+", and every public supply here has 50 Hz",
			"read it again; devices, RCDs and reactances are of 50 Hz", "supply/frequency")
	}
	neutral, said := s.ServiceNeutral.Get()
	tails, known := s.Tails.CSA.Get()
	if share := quantity.SquareMillimetres(m.plausible("service neutral against tails")); said && known && neutral < share*tails {
		m.ask("neutral", works.TheSupply, "neutral of the service and tails",
			fmt.Sprintf("a neutral of %v ahead of tails of %v: it would not carry what they do, and the main bonding is sized by it", neutral, tails),
			"enter the copper equivalent csa of the operator's neutral, or ask the network operator", "supply/supply neutral", "supply/tails/csa")
	}
}

// doubtSwitch asks back where a main switch is not made for the voltage it stands at.
func (m *Model) doubtSwitch(b *works.Board) {
	made, said := b.MainSwitch.Voltage.Get()
	n := b.Phases.Or(m.Job.Supply.Phases.Or(0))
	u0 := m.nominal()
	if !said || n == 0 {
		return
	}
	between := u0
	if n == 3 {
		between = quantity.Volts(1.7320508 * float64(u0))
	}
	if spread := quantity.Volts(m.plausible("plate rounded")); made < between*(1-spread) {
		at := b.MainSwitchThing()
		m.ask("switch voltage", at, "voltage of the switch and of the supply", fmt.Sprintf("it is made for %v, and %v stand between what it opens", made, between),
			"read its plate: the rated operational voltage", at.Path+"/voltage", "supply/voltage")
	}
}

// doubtDates holds the days of the record against each other: a reading of long
// before the survey is of another installation, and one of a day to come is not
// a reading.
func (m *Model) doubtDates() {
	visited := m.Job.Site.Visited
	signed := ""
	for _, s := range m.Job.Certificate.Sign {
		signed = max(signed, s.Date)
	}
	completed := m.Job.Certificate.Completed
	if signed != "" && visited > signed {
		m.ask("dates", works.TheSite, "days of survey and of signing",
			fmt.Sprintf("the site was seen on %s, and the certificate was signed on %s", visited, signed),
			"put the wrong day right", "site/visited", "certificate/signing")
	}
	if signed != "" && completed > signed {
		m.ask("dates", works.TheInstallation, "days of completion and of signing",
			fmt.Sprintf("the work was completed on %s, and signed for on %s", completed, signed),
			"put the wrong day right", "certificate/completed", "certificate/signing")
	}
	earliest, latest := shifted(visited, -int(m.plausible("reading before the survey"))), signed
	if latest == "" {
		latest = shifted(visited, int(m.plausible("reading after the survey")))
	}
	first := ""
	var early, late []string
	for i := range m.Job.Readings {
		r := &m.Job.Readings[i]
		if len(r.When) < len(visited) || len(r.When) < 10 {
			continue
		}
		day, path := r.When[:10], fmt.Sprintf("readings/%d/when", i+1)
		switch {
		case earliest != "" && day < earliest:
			early = append(early, path)
		case latest != "" && day > latest:
			late = append(late, path)
		}
		if first == "" || day < first {
			first = day
		}
	}
	told := func(paths []string, of string) string {
		n, _ := strconv.Atoi(works.NamesOf(paths[0])[1])
		r := &m.Job.Readings[n-1]
		text := fmt.Sprintf("%s at %s was read on %s", r.Reading, r.At, r.When[:10])
		if len(paths) > 1 {
			text += fmt.Sprintf(", and %d more", len(paths)-1)
		}
		return text + of
	}
	if len(early) > 0 {
		m.ask("dates", works.TheInstallation, "days of the readings and of the survey", told(early, ": the site was seen on "+visited),
			"read it again, or put the day right: a reading of another year is of another installation", append(early, "site/visited")...)
	}
	if len(late) > 0 {
		m.ask("dates", works.TheInstallation, "days of the readings", told(late, ": after "+latest+", by when the work was seen or signed for"),
			"put the wrong day right", append(late, "site/visited", "certificate/signing")...)
	}
	if completed != "" && first > completed {
		m.ask("dates", works.TheInstallation, "days of completion and of the readings",
			fmt.Sprintf("completed on %s, and nothing was read before %s", completed, first),
			"the work is complete when it is tested: put the wrong day right", "certificate/completed")
	}
}

// shifted is a day so many years on; nothing where there is none.
func shifted(day string, years int) string {
	if len(day) < 10 || years == 0 {
		return ""
	}
	year, err := strconv.Atoi(day[:4])
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%04d", year+years) + day[4:10]
}

// doubtCalibration asks back where an instrument was used after its calibration
// had run out: its readings are as good as nobody knows.
func (m *Model) doubtCalibration() {
	type use struct{ path, when string }
	last := map[string]use{}
	seen := func(instrument, when, path string) {
		if instrument != "" && len(when) >= 10 && when[:10] > last[instrument].when {
			last[instrument] = use{path, when[:10]}
		}
	}
	for i := range m.Job.Readings {
		r := &m.Job.Readings[i]
		seen(r.Instrument, r.When, fmt.Sprintf("readings/%d/when", i+1))
	}
	s := &m.Job.Supply
	seen(s.Ze.Instrument, s.Ze.When, "supply/Ze")
	seen(s.Ipf.Instrument, s.Ipf.When, "supply/Ipf")
	seen(s.LineNeutralLoop.Instrument, s.LineNeutralLoop.When, "supply/line-neutral loop")
	seen(s.Demand.Instrument, s.Demand.When, "supply/maximum demand")
	for i := range m.Job.Electrodes {
		e := &m.Job.Electrodes[i]
		seen(e.Resistance.Instrument, e.Resistance.When, e.Thing().Path+"/resistance")
	}
	for i := range m.Job.Instruments {
		t := &m.Job.Instruments[i]
		if u := last[t.Name]; t.CalibratedUntil != "" && u.when > t.CalibratedUntil {
			m.ask("calibration", t.Thing(), "calibration and use of the instrument",
				fmt.Sprintf("its calibration ran to %s, and it was used on %s", t.CalibratedUntil, u.when),
				"read again with one that is in calibration, or show by another that it is right", t.Thing().Path+"/calibrated until", u.path)
		}
	}
}

// doubtCables holds continuity and loop readings against what the legs of a
// circuit give. Within a few times of it the reading is a matter of lengths,
// leads and paths beside, which the explanation of readings weighs; beyond, one
// of the two is of something else.
func (m *Model) doubtCables() {
	times := m.plausible("reading against its cable")
	spread, leads, uplift := m.plausible("null repeatability"), m.plausible("lead pair offset"), m.plausible("no-trip uplift")
	if times == 0 || len(m.reads) == 0 {
		return
	}
	hold := func(c *Circuit, at, kind string, gives Loop, more float64) {
		path, read, ok := m.lastRead(kind, at)
		if !ok || !gives.Known() {
			return
		}
		is := float64(gives.Magnitude())
		if over := read > times*is && read > is+more; over || read < is/times && read < is-spread {
			m.ask(kind+" read", c.thing, kind+" as read and by the legs", fmt.Sprintf("%s at %s was read as %v, and what is recorded gives %v", kind, at,
				quantity.Ohms(read), quantity.Ohms(is)),
				"read it again; then see whether length, csa, cpc and what is joined to it are as recorded", path, c.thing.Path+"/legs")
		}
	}
	m.doubtConductors(times, spread+leads)
	ze := Loop{}
	if path, _, ok := m.lastRead("Ze", "supply"); ok && path != "" {
		ze = m.External()
	} else if m.Job.Supply.Ze.KnownBy.Or("") == trade.Measured {
		ze = m.External()
	}
	for _, c := range m.Circuits {
		places := []string{c.Record.To, c.Record.Name}
		if places[0] == places[1] {
			places = places[:1]
		}
		for _, at := range places {
			if at == "" {
				continue
			}
			hold(c, at, "R1+R2", c.R1R2(AtTest), spread+leads)
			hold(c, at, "R2", c.R2(AtTest), spread+leads)
			hold(c, at, "R1+Rn", c.R1Rn(AtTest), spread+leads)
			path, read, ok := m.lastRead("Zs", at)
			if !ok || c.Point != nil && c.ownEarth() {
				continue
			}
			hold(c, at, "Zs", m.EarthLoop(c, AtTest), spread+uplift)
			if least := float64(ze.Magnitude()); ze.Known() && len(ze.Parts) > 0 && read >= float64(m.EarthLoop(c, AtTest).Magnitude())/times &&
				read < least*(1-m.plausible("readings agree"))-spread {
				m.ask("Zs read", c.thing, "Zs and Ze", fmt.Sprintf("Zs at %s was read as %v, less than Ze of %v", at, quantity.Ohms(read), quantity.Ohms(least)),
					"find the way beside, such as bonding, by which the current returns; Ze is read with the earthing conductor disconnected", path, "supply/Ze")
			}
		}
	}
}

// doubtConductors holds the continuity of earthing and bonding conductors against
// what their length and csa give.
func (m *Model) doubtConductors(times, more float64) {
	hold := func(at works.Thing, run works.ProtectiveRun) {
		path, read, ok := m.lastRead("continuity", at.Name)
		if !ok {
			path, read, ok = m.lastRead("earthing conductor", at.Name)
		}
		length, long := run.Length.Get()
		csa, sized := run.CSA.Get()
		if !ok || !long || !sized {
			return
		}
		r, _, err := m.Rules.Resistance(standard.Copper, standard.Stranded, csa)
		if err != nil {
			return
		}
		if is := float64(r.Over(length)); read > times*is && read > is+more {
			m.ask("continuity read", at, "continuity as read and by its length and csa",
				fmt.Sprintf("it was read as %v, and %v of %v give %v", quantity.Ohms(read), length, csa, quantity.Ohms(is)),
				"null the leads and read it again; then see its clamps and joints", path, at.Path+"/length")
		}
	}
	hold(works.TheEarthingConductor, m.Job.Supply.EarthingConductor)
	for i := range m.Job.Supply.Bonding {
		b := &m.Job.Supply.Bonding[i]
		hold(b.Thing(), works.ProtectiveRun{CSA: b.CSA, Length: b.Length})
	}
}

// ownEarth reports that a point is earthed by an electrode of its own.
func (c *Circuit) ownEarth() bool {
	_, own := c.model.OwnElectrode(c.Point)
	return own
}
