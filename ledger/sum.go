package ledger

// Sum is what sessions come to.
type Sum struct {
	Sessions    int    `json:"sessions"`
	Energy      Energy `json:"energyKWh"`
	Seconds     int64  `json:"pluggedInSeconds"`
	TimeUnknown int    `json:"timeNotKnown"` // sessions counted without their time
	Estimated   int    `json:"estimated"`    // sessions whose stop was lost and is an estimate
	EstimatedOf Energy `json:"estimatedKWh"`
	Cost        Money  `json:"cost"` // pounds, as the prices have it: with or without VAT
	Least       Money  `json:"costAtLeast"`
	Most        Money  `json:"costAtMost"`
	VAT         Money  `json:"vat"` // in the cost, or to be added to it
	Unpriced    int    `json:"notPriced"`
	Solar       Energy `json:"solarKWh"`
	SolarOf     Energy `json:"solarKnownOfKWh"` // energy of the sessions whose solar part is known
	CO2         int64  `json:"co2Milligrams"`
	NoFactor    Energy `json:"co2NotKnownOfKWh"`
	bands       [mostBands]Energy
	vatUnknown  int
}

// enter adds a session to a sum.
func (l *Ledger) enter(sum *Sum, tl *timeline, w wanted, s *session, day int64, solar []Energy, i uint32) {
	sum.Sessions++
	sum.Energy += s.Energy
	if s.State == StopUnsaid {
		sum.TimeUnknown++
	} else {
		sum.Seconds += s.Length()
	}
	if s.estimated {
		sum.Estimated++
		sum.EstimatedOf += s.Energy
	}
	part := l.rare(s).Solar
	if solar != nil {
		part = solar[i]
	}
	if part != none {
		sum.Solar += part
		sum.SolarOf += s.Energy
	}
	if w.Factors != nil {
		if f, ok := valueOn(w.Factors.rows, day); ok {
			sum.CO2 += divide(int64(s.Energy), 1000) * f / 1000
		} else {
			sum.NoFactor += s.Energy
		}
	}
	if tl == nil {
		return
	}
	b := l.price(tl, s)
	if !b.Known {
		sum.Unpriced++
		return
	}
	sum.Cost += b.Cost
	sum.Least += b.Least
	sum.Most += b.Most
	for n := range b.Bands {
		sum.bands[n] += b.Bands[n]
	}
	if rate, ok := valueOn(tl.Tariff.vat, day); ok {
		sum.VAT += vatOf(b.Cost, rate, tl.Tariff.WithVAT)
	} else {
		sum.vatUnknown++
	}
}

// vatOf returns the VAT on an amount, or in it; the rate is in hundredths of a
// per cent. It is rounded to a hundredth of a penny, half up.
func vatOf(m Money, rate int64, inside bool) Money {
	if inside {
		return Money(divide(int64(m)*rate, 10_000+rate))
	}
	return Money(divide(int64(m)*rate, 10_000))
}

func (s *Sum) add(o *Sum) {
	s.Sessions += o.Sessions
	s.Energy += o.Energy
	s.Seconds += o.Seconds
	s.TimeUnknown += o.TimeUnknown
	s.Estimated += o.Estimated
	s.EstimatedOf += o.EstimatedOf
	s.Cost += o.Cost
	s.Least += o.Least
	s.Most += o.Most
	s.VAT += o.VAT
	s.Unpriced += o.Unpriced
	s.Solar += o.Solar
	s.SolarOf += o.SolarOf
	s.CO2 += o.CO2
	s.NoFactor += o.NoFactor
	s.vatUnknown += o.vatUnknown
	for i := range s.bands {
		s.bands[i] += o.bands[i]
	}
}

// VATKnown reports whether the tariff says the VAT of every session.
func (s *Sum) VATKnown() bool { return s.vatUnknown == 0 }
