package hear

import (
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/pilot"
	"chargewright/quantity"
)

// Signs in a limit that one end sends to the other.

func profileOf(p part) part {
	if v := p.in("csChargingProfiles"); !v.none() {
		return v
	}
	return p.in("chargingProfile")
}

// leastWatts is the least power any vehicle takes: 6 A on one line of 230 V. A
// limit in watts under it, but above nought, is surely amperes.
const leastWatts = 1380

// profileSeen looks at a limit as it is sent.
func (t *teller) profileSeen(l logLine, p part) *limit {
	profile := profileOf(p)
	schedule := profile.in("chargingSchedule").first() // 2.0.1 has a list
	periods := schedule.in("chargingSchedulePeriod")
	period := periods.first()
	purpose := profile.in("chargingProfilePurpose").word()
	amount, ok := period.in("limit").number()
	watts := schedule.in("chargingRateUnit").word() == "W"
	out := &limit{line: l.number, amps: amount}
	out.level, _ = profile.in("stackLevel").number()
	switch {
	case ok && watts && amount > 0 && amount < leastWatts/10:
		t.note("watts for amperes", l.number, "%.0f W", amount)
	case ok && watts && amount > 0:
		if period.in("numberPhases").none() {
			t.note("phases assumed", l.number, "%v is %v a phase over three phases of 230 V", quantity.Watts(amount), quantity.Amperes(amount/3/230))
		}
	case ok && amount > 0 && amount < float64(pilot.LeastOffer):
		t.note("limit below six", l.number, "%v", quantity.Amperes(amount))
	}
	out.zero = ok && (amount < float64(pilot.LeastOffer) || watts && amount < leastWatts)
	steps := 0
	for range periods.each {
		steps++
	}
	if start, told := period.in("startPeriod").number(); told && start != 0 {
		t.note("first step late", l.number, "it begins %.0f s into its schedule", start)
	}
	if purpose == "TxProfile" && len(t.running) == 0 {
		t.note("session limit without session", l.number, "%s", purpose)
	}
	outlet := outletOf(p)
	if (purpose == "ChargePointMaxProfile" || purpose == "ChargingStationMaxProfile") && outlet != "0" && outlet != "" {
		t.note("whole limit on outlet", l.number, "%s sent to %s", purpose, outlet)
	}
	if until := ocpp.ReadTime(profile.in("validTo").word()); !until.IsZero() && l.at.known() && l.at.zoned && until.Before(l.at.Add(-time.Minute)) {
		t.note("limit run out", l.number, "it is good until %s, and the log is at %s", until.UTC().Format(time.DateTime), l.at.UTC().Format(time.DateTime))
	}
	start := ocpp.ReadTime(schedule.in("startSchedule").word())
	later := !start.IsZero() && l.at.known() && start.After(l.at.Add(time.Minute))
	out.known = ok && !watts && steps == 1 && schedule.in("duration").none() && profile.in("validTo").none() && profile.in("validFrom").none() && !later &&
		profile.in("recurrencyKind").none()
	if profile.in("chargingProfileKind").word() == "Recurring" {
		out.known = false
		t.daily(l, start, ocpp.ReadTime(profile.in("startSchedule").word()))
	}
	return out
}

// daily looks at a schedule that is sent once for every day.
func (t *teller) daily(l logLine, start, other time.Time) {
	if start.IsZero() {
		start = other
	}
	if start.IsZero() || !l.at.known() && !t.last.known() {
		return
	}
	if change, off := nextClockChange(start); !change.IsZero() {
		t.note("schedule across the clock change", l.number, "set for %s UTC, %s on the wall; from %s it begins at %s on the wall", start.UTC().Format("15:04"),
			start.In(ocpp.Britain).Format("15:04"), change.Format(time.DateOnly), off)
	}
}

// profileAnswered takes what the point makes of a limit.
func (t *teller) profileAnswered(q question, l logLine, status string) {
	if q.limit == nil {
		return
	}
	purpose := q.purpose
	if status != "Accepted" {
		if t.found["session limit without session"] == nil && t.found["whole limit on outlet"] == nil {
			t.note("limit refused", l.number, "%s, level %.0f, outlet %s: %s", purpose, q.limit.level, q.outlet, t.meaning(status))
		}
		return
	}
	if old := t.limits[purpose]; old != nil {
		t.judgeLimit(old)
		if old.level > q.limit.level {
			q.limit.known = false // the older one of the higher level counts
		}
	}
	q.limit.at = l.at
	t.limits[purpose] = q.limit
}

// obeys holds a current against the limits that stand.
//
//	source  OCPP 1.6 section 3.13: a limit of the session stands before that of any
//	        session; that of the whole point caps both
func (t *teller) obeys(l logLine, i quantity.Amperes) {
	stands := t.limits[ocpp.OneSession]
	if stands == nil {
		stands = t.limits[ocpp.AnySession]
	}
	if whole := t.limits[ocpp.WholePoint]; whole != nil && (stands == nil || stands.known && whole.known && whole.amps < stands.amps) {
		stands = whole
	}
	if stands == nil || !stands.known {
		return
	}
	const settle = 30 * time.Second // engineering judgement: pilot, vehicle and meter
	if l.at.known() && stands.at.known() && l.at.Sub(stands.at.Time) < settle {
		return
	}
	const room = 1 // A: meter and pilot; engineering judgement
	if float64(i) > stands.amps+room {
		stands.over++
	} else if i > 0 {
		stands.obeyed = true
	}
}

// judgeLimit says whether a limit that stood was obeyed.
func (t *teller) judgeLimit(lim *limit) {
	switch {
	case lim.known && lim.over >= mostOver && !lim.obeyed:
		t.note("limit not obeyed", lim.line, "%d meter values after it are above %v", lim.over, quantity.Amperes(lim.amps))
	case lim.obeyed && lim.over == 0:
		t.tallies.obeyed++
	}
}

// nextClockChange returns the day within the coming year on which the clock on
// the wall moves, and what it will then show at the same time of day in UTC.
func nextClockChange(from time.Time) (time.Time, string) {
	_, now := from.In(ocpp.Britain).Zone()
	for day := 1; day <= 366; day++ {
		t := from.AddDate(0, 0, day)
		if _, offset := t.In(ocpp.Britain).Zone(); offset != now {
			return t, t.In(ocpp.Britain).Format("15:04")
		}
	}
	return time.Time{}, ""
}

// purposeOf is what a word for a limit means, in either version.
func purposeOf(word string) ocpp.Purpose {
	if p := ocpp.V16.Purpose(word); p != ocpp.NoPurpose {
		return p
	}
	return ocpp.V201.Purpose(strings.TrimSpace(word))
}
