package model

// Figures of one thing that cannot all be its own, and what hardly can be: a
// person in a hurry writes a wrong digit, reads the wrong plate, or carries a
// figure over from years ago.

import (
	"fmt"
	"strconv"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// ask notes facts that hardly go together; the sums stand.
func (m *Model) ask(key string, of works.Thing, facts, says, next string, paths ...string) {
	m.doubt(Doubt{Key: key, Of: of, Paths: paths, Facts: facts, Says: says, Next: next, Ask: true})
}

// nominal is the voltage that plates are held against: as entered, unless that is
// not believed; else the one of every public supply.
func (m *Model) nominal() quantity.Volts {
	if u0 := m.U0(); u0.Known() {
		return u0.Value
	}
	return quantity.Volts(m.plausible("nominal voltage"))
}

// doubtPower holds the power and the current on one plate against each other.
//
//	formula  P = n × U0 × I × power factor, which is no more than 1
func (m *Model) doubtPower(of works.Thing, n int, power quantity.Maybe[quantity.Watts], current quantity.Maybe[quantity.Amperes], atLeast float64) {
	p, hasPower := power.Get()
	i, hasCurrent := current.Get()
	u0 := m.nominal()
	spread := 1 + m.plausible("plate rounded")
	most := float64(PowerAt(n, u0, i))
	if !hasPower || !hasCurrent || n == 0 || most == 0 || float64(p) <= most*spread && float64(p) >= atLeast*most/spread {
		return
	}
	m.doubt(Doubt{Key: "power", Of: of, Paths: []string{of.Path + "/power", of.Path + "/current", of.Path + "/phases", "supply/voltage"},
		Facts: "power, current and phases", Says: fmt.Sprintf("%v in %s at %v is %v, and the power is said to be %v", i, phaseWords(n), u0, quantity.Watts(most), p),
		Next: "read its plate again: the current is of one line"}, of.Path+"/current")
}

// doubtPoint holds what is said of a point against itself.
func (m *Model) doubtPoint(p *works.Point) {
	at := p.Thing()
	m.doubtPower(at, p.Phases.Or(0), p.Power, p.Current, 1)
	limit, set := p.Limit.Get()
	if least, ok := p.LeastCurrent.Get(); set && ok && limit < least {
		m.ask("limit", at, "the current it is set to", fmt.Sprintf("it is set to %v, and pauses below %v: no vehicle will charge", limit, least),
			"read both in its settings", at.Path+"/current limit", at.Path+"/least current")
	}
	rated := m.RatedCurrent(p)
	if set && rated.Known() && limit > rated.Value*(1+finding.Slack) {
		m.ask("limit", at, "the current it is set to", fmt.Sprintf("it is set to %v, and its rating is %v", limit, rated.Value),
			"read its plate and its settings", at.Path+"/current limit", at.Path+"/power", at.Path+"/current")
	}
	if least, ok := p.LeastCurrent.Get(); ok && rated.Known() && least > rated.Value*(1+finding.Slack) {
		m.ask("limit", at, "the current below which it pauses", fmt.Sprintf("it pauses below %v, and its rating is %v: no vehicle will charge", least, rated.Value),
			"read both in its data", at.Path+"/least current", at.Path+"/power", at.Path+"/current")
	}
	category := quantity.Volts(m.plausible("impulse withstand II"))
	if stands, said := p.Impulse.Get(); said && stands < category {
		m.ask("impulse", at, "an impulse withstand that equipment has",
			fmt.Sprintf("it is said to stand an impulse of %v, and equipment of a fixed installation stands %v and more", stands, category),
			"read it in its data: the rated impulse withstand voltage", at.Path+"/impulse withstand")
	}
}

// doubtWays holds the ways of circuits against their board and each other.
func (m *Model) doubtWays() {
	type way struct {
		board  string
		number int
	}
	first := map[way]*works.Circuit{}
	ways := map[string]int{}
	for i := range m.Job.Boards {
		ways[m.Job.Boards[i].Name] = m.Job.Boards[i].Ways.Or(0)
	}
	for i := range m.Job.Circuits {
		c := &m.Job.Circuits[i]
		n, err := strconv.Atoi(c.Way)
		if err != nil || c.From == "" {
			continue
		}
		path := c.Thing().Path + "/way"
		if has := ways[c.From]; has > 0 && n > has {
			m.ask("way", c.Thing(), "its way", fmt.Sprintf("it is in way %d, and board %s has %d", n, c.From, has), "look at the board", path,
				works.Under("boards", c.From)+"/ways")
		}
		at := way{c.From, n}
		if other := first[at]; other != nil {
			m.ask("way", c.Thing(), "its way", fmt.Sprintf("it is in way %d, and so is %s", n, other.Thing().Name), "look at the board", path, other.Thing().Path+"/way")
		} else {
			first[at] = c
		}
	}
}

// doubtAge asks back where the demand was found long before the survey: what was
// connected since is not in it.
func (m *Model) doubtAge() {
	s := &m.Job.Supply.Demand
	visited := m.Job.Site.Visited
	most := int(m.plausible("demand found before"))
	if !s.Value.IsKnown() || len(s.When) < 10 || len(visited) < 10 || most == 0 {
		return
	}
	year, err := strconv.Atoi(s.When[:4])
	if err == nil && fmt.Sprintf("%04d", year+most)+s.When[4:10] < visited {
		m.ask("demand age", works.TheSupply, "a demand of today", fmt.Sprintf("the demand was found on %s, and the site was seen on %s", s.When[:10], visited),
			"ask what was connected since, or find it again", "supply/maximum demand", "site/visited")
	}
}

// doubtReadIpf holds a reading of the fault current at the origin against the
// one entered, which is the greatest there is.
func (m *Model) doubtReadIpf() {
	entered, ok := m.Job.Supply.Ipf.Value.Get()
	if !ok {
		return
	}
	places := []string{"supply"}
	for i := range m.Job.Boards {
		if b := &m.Job.Boards[i]; b.FedFrom == "supply" {
			places = append(places, b.Name)
		}
	}
	for _, at := range places {
		path, read, ok := m.lastRead("Ipf", at)
		if ok && read > float64(entered)*(1+m.plausible("readings agree")) {
			m.doubt(Doubt{Key: "Ipf read", Of: works.TheSupply, Paths: []string{"supply/Ipf", path}, Facts: "Ipf as entered and as read",
				Says: fmt.Sprintf("Ipf is entered as %v, and %v was read at %s: the greatest counts", entered, quantity.Amperes(read), at),
				Next: "enter the greater, or find out which is right"}, "supply/Ipf")
			return
		}
	}
}

// doubtLimiters holds what is said of each limiter against the device ahead of it
// and against itself.
func (m *Model) doubtLimiters() {
	longest := quantity.Seconds(m.plausible("limiter time longest"))
	for i := range m.Job.Limiters {
		l := &m.Job.Limiters[i]
		at := l.Thing()
		if heeded, said := l.NoticesLoss.Get(); said && !heeded && l.FailSafe.IsKnown() {
			m.ask("lost clamp", at, "a fail-safe current that is ever reached",
				fmt.Sprintf("it falls to %v when its clamp is lost, and does not notice that it is: a broken clamp reads 0 A", l.FailSafe.Or(0)),
				"take one that notices, or have the points held to what is left without it", at.Path+"/notices a lost clamp", at.Path+"/fail-safe current")
		}
		m.doubtTimes(l, longest)
		limit, ahead := l.Limit.Or(0), m.deviceAt(l)
		if !ahead.Known() {
			continue
		}
		in := ahead.Value.Rating
		if share, said := l.ClampError.Get(); said && limit <= in {
			if lets := limit * quantity.Amperes(1+share/100); lets > in*(1+finding.Slack) {
				m.ask("clamp error", at, "limit, error of the clamp and device ahead",
					fmt.Sprintf("reading low by %v it lets %v flow, and the device ahead is rated %v", share, lets, in),
					"read the error of clamp and meter in their data, or set the limit lower by it", at.Path+"/clamp error", at.Path+"/limit")
			}
		}
		response, ok := l.ResponseTime.Get()
		all := m.AtLimiter(l)
		if !ok || !all.Known() || all.Greatest() <= in {
			continue
		}
		if shortest, _, _, err := m.Rules.OperatingTime(ahead.Value, all.Greatest()); err == nil && response >= shortest {
			m.ask("response", at, "response time and device", fmt.Sprintf("it takes %v, and %v may open within %v of the %v that flow with nothing held back",
				response, ahead.Value, shortest, all.Greatest()), "have it act sooner, or limit the points themselves", at.Path+"/response time")
		}
	}
}

// doubtTimes holds the times of a limiter against each other, and at the supply
// against what network operators are given (ENA EREC G100).
func (m *Model) doubtTimes(l *works.Limiter, longest quantity.Seconds) {
	at := l.Thing()
	response, said := l.ResponseTime.Get()
	parts := l.Samples.Or(0) + l.Averages.Or(0) + l.PassesOn.Or(0) + l.Follows.Or(0)
	if said && parts > response*(1+finding.Slack) {
		m.ask("response", at, "response time and what it is made of",
			fmt.Sprintf("it is said to take %v, and sampling, averaging, passing on and the vehicle together take %v", response, parts),
			"read the times in its data, and enter their sum", at.Path+"/response time", at.Path+"/samples every", at.Path+"/averages over",
			at.Path+"/passes on within", at.Path+"/vehicle follows within")
	}
	if l.At != "supply" || longest == 0 {
		return
	}
	if said && response > longest {
		m.ask("response", at, "a time in which a supply is held to its limit",
			fmt.Sprintf("it takes %v to come back under its limit, and a supply is held to it within %v", response, longest),
			"read it in its data: the time from exceeding the limit to being under it", at.Path+"/response time")
	}
	if out, known := l.TimeOut.Get(); known && out > longest {
		m.ask("time-out", at, "a time in which a lost signal is acted on",
			fmt.Sprintf("it goes on for %v without a good reading, and a supply is held to its limit within %v", out, longest),
			"set it shorter", at.Path+"/lost-signal time-out")
	}
}

// deviceAt returns the overcurrent device at the place of a limiter.
func (m *Model) deviceAt(l *works.Limiter) Answer[standard.Device] {
	if b := m.board(l.At); b != nil && b.Feed != nil {
		return b.Feed.Device()
	}
	fuse := &m.Job.Supply.CutOut
	return Answer[standard.Device]{Value: standard.Device{Family: fuse.Type.Or(""), Rating: fuse.Rating.Or(0)},
		Lacks: finding.Gather(works.TheCutOut.Unless(fuse.Type.IsKnown(), "type", "type of the fuse"), m.NoFuse())}
}
