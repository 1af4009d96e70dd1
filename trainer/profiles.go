package trainer

import (
	"slices"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// profile is one limit that a pretended point holds.
type profile struct {
	id, level   int
	purpose     ocpp.Purpose
	transaction string
	from        time.Time     // zero: since ever
	lasts       time.Duration // 0: for ever
	watts       bool
	periods     []ocpp.Period
}

// at returns the profile's limit at t, and false before it begins and once it
// has run out.
func (p profile) at(t time.Time) (float64, bool) {
	since := t.Sub(p.from)
	if p.from.IsZero() {
		since = 0
	}
	if since < 0 || p.lasts > 0 && since >= p.lasts {
		return 0, false
	}
	limit, known := 0.0, false
	for _, period := range p.periods {
		if period.From <= since {
			limit, known = period.Limit, true
		}
	}
	return limit, known
}

// profiles is what a pretended point holds of limits.
type profiles []profile

// put adds a profile. One of the same purpose and level, or the same id, is
// replaced (OCPP 1.6 section 3.13).
func (ps *profiles) put(p profile) {
	*ps = append(slices.DeleteFunc(*ps, func(q profile) bool {
		return q.id == p.id || q.purpose == p.purpose && q.level == p.level && q.transaction == p.transaction
	}), p)
}

// drop removes the profile of that id and reports whether there was one.
func (ps *profiles) drop(id int) bool {
	before := len(*ps)
	*ps = slices.DeleteFunc(*ps, func(p profile) bool { return p.id == id })
	return len(*ps) < before
}

// end removes what belongs to a session.
func (ps *profiles) end(transaction string) {
	*ps = slices.DeleteFunc(*ps, func(p profile) bool { return p.purpose == ocpp.OneSession && p.transaction == transaction })
}

// limit returns the current allowed at t, and whether a profile of the session
// or of any session decides.
//
//	rule    within a purpose the highest level that holds now; the session's own
//	        before that of any session; capped by that of the whole point
//	source  OCPP 1.6 section 3.13 and errata 3.43; watts divided by voltage and
//	        phases, three where none are named (errata 3.68)
func (ps profiles) limit(t time.Time, transaction string, volts quantity.Volts, phases int) (limit quantity.Amperes, session, found bool) {
	best := func(purpose ocpp.Purpose) (quantity.Amperes, bool) {
		level, amps, ok := -1, 0.0, false
		for _, p := range ps {
			if p.purpose != purpose || purpose == ocpp.OneSession && p.transaction != transaction {
				continue
			}
			n, holds := p.at(t)
			if holds && p.level > level {
				level, amps, ok = p.level, n, true
				if p.watts {
					amps = n / (float64(volts) * float64(phases))
				}
			}
		}
		return quantity.Amperes(amps), ok
	}
	for _, purpose := range []ocpp.Purpose{ocpp.OneSession, ocpp.AnySession} {
		if limit, found = best(purpose); found {
			session = true
			break
		}
	}
	if most, ok := best(ocpp.WholePoint); ok && (!found || most < limit) {
		limit, found = most, true
	}
	return limit, session, found
}
