package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
)

// Bounds of health, all common practice without a source.
const (
	enoughPower    = 70 // per cent of the rating that the best session should reach
	fewCutShort    = 5  // per cent of sessions
	fewHeldBack    = 10 // per cent of the plugged-in time
	fewPassedBy    = 1  // per cent of the energy
	enoughSessions = 5  // below which nothing is said about a share
	longEnough     = 20 // minutes of charging for a mean power
	deadFirst      = "isolate, lock off, prove the tester, prove dead, prove the tester again; then "
)

// pointHealth is what is known of each point.
type pointHealth struct {
	name                      name
	sessions, cutShort, empty int
	best                      Rating
	powerKnown                bool
	heldBack, heldOf          int64
	energy                    Energy
	reasons                   map[string]int
}

// Health says whether the points deliver what they were built for, from the
// sessions and the faults the points reported. Each finding says what to look
// at on the next visit.
func (l *Ledger) Health() []finding.Finding {
	l.Settle()
	var out []finding.Finding
	for _, p := range l.pointHealth() {
		subject := "point " + l.names.text(p.name)
		if p.name == 0 {
			subject = "points that are not named"
		}
		out = append(out, l.delivered(subject, p), p.cutShortFinding(subject))
		if p.heldOf > 0 {
			out = append(out, p.heldBackFinding(subject))
		}
		if by := l.passedBy[p.name]; by > 0 {
			out = append(out, p.passedByFinding(subject, by, l.unsettled()))
		}
	}
	return append(out, l.faults()...)
}

func (l *Ledger) pointHealth() []*pointHealth {
	by := map[name]*pointHealth{}
	var list []*pointHealth
	l.counted(func(s *session) {
		p := by[s.Point]
		if p == nil {
			p = &pointHealth{name: s.Point, reasons: map[string]int{}}
			by[s.Point] = p
			list = append(list, p)
		}
		p.sessions++
		p.energy += s.Energy
		if power, known := l.chargingPower(s); power > 0 {
			p.powerKnown = p.powerKnown || known
			p.best = max(p.best, power)
		}
		if reason := l.names.text(s.Reason); cutShort[reason] != "" {
			p.cutShort++
			p.reasons[reason]++
		}
		if s.State == Sound && s.Energy == 0 {
			p.empty++
		}
		if s.State == Sound && s.Limited >= 0 {
			p.heldBack += int64(s.Limited)
			p.heldOf += s.Length()
		}
	})
	slices.SortFunc(list, func(a, b *pointHealth) int { return cmp.Compare(l.names.text(a.name), l.names.text(b.name)) })
	return list
}

// chargingPower returns the power of a session: the greatest between two
// readings, or the mean over the time it charged. Known is false where only
// the plugged-in time is said: the mean over that is a least value.
func (l *Ledger) chargingPower(s *session) (p Rating, known bool) {
	if s.said >= 0 && s.saidCount > 2 {
		readings := l.samples[s.said : s.said+s.saidCount]
		for i := 1; i < len(readings); i++ {
			a, z := readings[i-1], readings[i]
			if z.at-a.at >= 300 {
				p = max(p, Rating(divide(int64(z.register-a.register)*18/5, z.at-a.at)))
			}
		}
		return p, p > 0
	}
	seconds := s.Length()
	if s.Charging > 0 {
		seconds = min(seconds, int64(s.Charging))
	}
	if seconds < longEnough*60 || s.Energy < KWh {
		return 0, false
	}
	return l.meanPower(s), s.Charging > 0
}

func watts(r Rating) finding.Amount { return finding.Of(float64(r), quantity.Watts(0).Measure()) }
func percent(part, of int64) finding.Amount {
	return finding.Of(100*float64(part)/float64(max(of, 1)), quantity.Percent(0).Measure())
}
func percentOf(n float64) finding.Amount { return finding.Of(n, quantity.Percent(0).Measure()) }

// delivered holds the greatest power seen against the rating.
func (l *Ledger) delivered(subject string, p *pointHealth) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: subject, What: "the point delivers the power it is rated for", Key: "delivered power"}
	rated, known := l.rating(p.name)
	if !known {
		f.Why = finding.Say("the rating of the point is not known")
		f.Next = "say the rating of the point, or enter it in the job"
		return f
	}
	least := rated * enoughPower / 100
	f.Limit = watts(least)
	f.Source = finding.From(fmt.Sprintf("%d %% of the rating, %s", enoughPower, rated), finding.Practice.String())
	switch {
	case p.best >= least:
		f.Value, f.Margin, f.Verdict = watts(p.best), watts(p.best-least), finding.Meets
		f.Why = finding.Say("the greatest power seen in %d sessions", p.sessions)
	case p.best == 0:
		f.Why = finding.Say("no session is long enough to tell: %d min and 1 kWh", longEnough)
		f.Next = "look again when there are more sessions"
	case !p.powerKnown:
		f.Why = finding.Say("the records say how long vehicles were plugged in, not how long they charged: the greatest mean power over that time, %s, only "+
			"says that the point gave at least so much", p.best)
		f.Next = "have the point send meter readings during a session, or read its power on the next visit with a vehicle that can take all of it"
	case p.sessions < enoughSessions:
		f.Value, f.Why = watts(p.best), finding.Say("%d sessions are too few to tell", p.sessions)
		f.Next = "look again when there are more sessions"
	default:
		f.Value, f.Margin, f.Verdict = watts(p.best), watts(p.best-least), finding.JudgeOnSite
		f.Why = finding.Say("the greatest power seen in %d sessions; the vehicles may take no more, or the point gives no more", p.sessions)
		f.Next = "compare the current limit the point is set to with the settings card; see what the vehicles can take; " + deadFirst +
			"check that every line conductor is connected and every terminal is tight"
	}
	return f
}

// cutShort is the reasons for a stop that nobody at the point wished for.
// Source of the words: OCPP 1.6 and 2.0.1, from memory.
var cutShort = map[string]string{
	"EmergencyStop": "see why the emergency stop was used, and that it is reset",
	"PowerLoss":     "ask the occupier about power cuts; look for a device that trips: read its rating and curve, and test the RCD",
	"Reboot":        "read the point's log for restarts; check the supply voltage under load at its terminals",
	"HardReset":     "read the point's log for restarts; check the supply voltage under load at its terminals",
	"SoftReset":     "ask who restarts the point and why",
	"Other":         "read the point's log at these times",

	"GroundFault":      "test the RCD; test insulation resistance of the circuit and of the vehicle lead",
	"OvercurrentFault": "compare the current limit the point is set to with the vehicle and the device",
	"PowerQuality":     "record the supply voltage at the point over some days",
	"ImmediateReset":   "read the point's log for restarts",
}

func (p *pointHealth) cutShortFinding(subject string) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: subject, What: "sessions end because somebody ends them", Key: "cut short",
		Limit: percentOf(fewCutShort), Source: finding.From(finding.Practice.String(), "")}
	if len(p.reasons) == 0 && p.empty == 0 {
		f.Verdict, f.Value, f.Margin = finding.Meets, percentOf(0), percentOf(fewCutShort)
		f.Why = finding.Say("none of %d sessions is said to have been cut short", p.sessions)
		return f
	}
	bad := int64(p.cutShort + p.empty)
	f.Value = percent(bad, int64(p.sessions))
	f.Margin = percentOf(fewCutShort - f.Value.Number)
	words := counted(p.reasons)
	if p.empty > 0 {
		words = append(words, fmt.Sprintf("%d without energy", p.empty))
	}
	f.Why = finding.Say("of %d sessions: %s", p.sessions, strings.Join(words, ", "))
	switch {
	case f.Margin.Number >= 0:
		f.Verdict = finding.Meets
	case p.sessions < enoughSessions:
		f.Next = "look again when there are more sessions"
	default:
		f.Verdict = finding.JudgeOnSite
		f.Next = p.cutShortNext()
	}
	return f
}

func (p *pointHealth) cutShortNext() string {
	var most string
	for reason, n := range p.reasons {
		if most == "" || n > p.reasons[most] || n == p.reasons[most] && reason < most {
			most = reason
		}
	}
	if next := cutShort[most]; next != "" {
		return next
	}
	return "plug in a vehicle or a simulator and see that charging begins: control pilot, card, limiter, schedule"
}

func counted(reasons map[string]int) []string {
	var words []string
	for reason := range reasons {
		words = append(words, reason)
	}
	slices.Sort(words)
	for i, w := range words {
		words[i] = fmt.Sprintf("%d %s", reasons[w], w)
	}
	return words
}

func (p *pointHealth) heldBackFinding(subject string) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: subject, What: "the limiter seldom holds charging back", Key: "held back",
		Value: percent(p.heldBack, p.heldOf), Limit: percentOf(fewHeldBack), Source: finding.From(finding.Practice.String(), "")}
	f.Margin = percentOf(fewHeldBack - f.Value.Number)
	f.Why = finding.Say("held back %s of %s plugged in", spell(p.heldBack), spell(p.heldOf))
	f.Verdict = finding.Meets
	switch {
	case f.Margin.Number < 0 && p.sessions < enoughSessions:
		f.Verdict = finding.NotKnown
		f.Next = "look again when there are more sessions"
	case f.Margin.Number < 0:
		f.Verdict = finding.JudgeOnSite
		f.Next = "read the demand of the site over a week; check the limiter's setting and its current clamps (place, direction, ratio, phase); ask whether " +
			"the schedule can move to quieter hours"
	}
	return f
}

// unsettled returns how many lines of the records are doubtful or cannot be read.
func (l *Ledger) unsettled() (n int) {
	for _, t := range l.Tallies {
		n += t.Doubted + t.Faulty
	}
	return n
}

func (p *pointHealth) passedByFinding(subject string, by Energy, unsettled int) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: subject, What: "the meter counts nothing between sessions", Key: "between sessions",
		Value: percent(int64(by), int64(p.energy)), Limit: percentOf(fewPassedBy), Source: finding.From(finding.Practice.String(), "")}
	f.Margin = percentOf(fewPassedBy - f.Value.Number)
	f.Why = finding.Say("%s were counted between the end of a session and the start of the next; %s in sessions", by, p.energy)
	f.Verdict = finding.Meets
	switch {
	case f.Margin.Number < 0 && unsettled > 0:
		f.Verdict = finding.NotKnown
		f.Why = f.Why.Then(finding.Say("%d lines of the records are doubtful or cannot be read, and may be these", unsettled))
		f.Next = "settle those lines first"
	case f.Margin.Number < 0:
		f.Verdict = finding.JudgeOnSite
		f.Next = "look for sessions missing from the records, such as those charged while the link was down or without a card; see whether anything else is " +
			"fed through the point's meter"
	}
	return f
}
