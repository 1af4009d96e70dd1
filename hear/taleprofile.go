package hear

import (
	"time"

	"chargewright/ocpp"
	"chargewright/pilot"
	"chargewright/quantity"
)

// Signs in a limit that one end sends to the other.

func profileOf(p map[string]any) any {
	if v := p["csChargingProfiles"]; v != nil {
		return v
	}
	return p["chargingProfile"]
}

// scheduleOf returns the first schedule of a profile; 2.0.1 has a list.
func scheduleOf(profile any) any {
	s := inside(profile, "chargingSchedule")
	if list, ok := s.([]any); ok && len(list) > 0 {
		return list[0]
	}
	return s
}

func firstLimit(profile any) (quantity.Amperes, bool) {
	periods, _ := inside(scheduleOf(profile), "chargingSchedulePeriod").([]any)
	if len(periods) == 0 {
		return 0, false
	}
	n, ok := inside(periods[0], "limit").(float64)
	return quantity.Amperes(n), ok
}

// leastWatts is the least power any vehicle takes: 6 A on one line of 230 V. A
// limit in watts under it, but above nought, is surely amperes.
const leastWatts = 1380

// profileSeen looks at a limit as it is sent.
func (t *teller) profileSeen(l logLine, p map[string]any) {
	profile := profileOf(p)
	schedule := scheduleOf(profile)
	purpose := wordOf(inside(profile, "chargingProfilePurpose"))
	limit, ok := firstLimit(profile)
	watts := wordOf(inside(schedule, "chargingRateUnit")) == "W"
	switch {
	case ok && watts && limit > 0 && limit < leastWatts/10:
		t.note("watts for amperes", l.number, "%.0f W", float64(limit))
	case ok && watts && limit > 0:
		periods, _ := inside(schedule, "chargingSchedulePeriod").([]any)
		if inside(periods[0], "numberPhases") == nil {
			t.note("phases assumed", l.number, "%v is %v a phase over three phases of 230 V", quantity.Watts(limit), quantity.Amperes(float64(limit)/3/230))
		}
	case ok && limit > 0 && limit < pilot.LeastOffer:
		t.note("limit below six", l.number, "%v", limit)
	}
	if purpose == "TxProfile" && len(t.sessions) == 0 {
		t.note("session limit without session", l.number, "%s", purpose)
	}
	outlet := wordOf(p["connectorId"]) + wordOf(p["evseId"])
	if (purpose == "ChargePointMaxProfile" || purpose == "ChargingStationMaxProfile") && outlet != "0" && outlet != "" {
		t.note("whole limit on outlet", l.number, "%s sent to %s", purpose, outlet)
	}
	if wordOf(inside(profile, "chargingProfileKind")) != "Recurring" {
		return
	}
	start := ocpp.ReadTime(wordOf(inside(schedule, "startSchedule")))
	if start.IsZero() {
		start = ocpp.ReadTime(wordOf(inside(profile, "startSchedule")))
	}
	if start.IsZero() || l.at.IsZero() && t.last.IsZero() {
		return
	}
	if change, off := nextClockChange(start); !change.IsZero() {
		t.note("schedule across the clock change", l.number, "set for %s UTC, %s on the wall; from %s it begins at %s on the wall", start.UTC().Format("15:04"),
			start.In(ocpp.Britain).Format("15:04"), change.Format(time.DateOnly), off)
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
