package ledger

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/sheet"
)

// mileageRates is what is paid back a mile, by date of the journey.
type mileageRates struct {
	rows    []mileageRate
	Sources []string
}

type mileageRate struct {
	dated  // ten-thousandths of a penny a mile
	source string
}

// readMileageRates reads a table: valid from, valid until, pence a mile,
// source, confidence.
func readMileageRates(file string, r io.Reader) (*mileageRates, error) {
	s, err := sheet.Read(file, r, "valid from", "pence a mile", "source", "confidence")
	if err != nil {
		return nil, err
	}
	m := &mileageRates{}
	for _, row := range s.Rows {
		v, ok := validity(row)
		n, is := number(row, "pence a mile", 4, "pence a mile, like 7")
		if !ok || !is {
			continue
		}
		if n > 1000*10_000 {
			row.Fault("pence a mile", row.Get("pence a mile"), "no rate is above £10 a mile: pence a mile, like 7")
			continue
		}
		for _, o := range m.rows {
			if v.from <= o.until && o.from <= v.until {
				row.Fault("valid from", row.Get("valid from"), fmt.Sprintf("line %d gives another rate for the same days", o.line))
			}
		}
		source := row.Get("source") + " (" + row.Get("confidence") + ")"
		m.rows = append(m.rows, mileageRate{dated{v, n, row.Line}, source})
		if !slices.Contains(m.Sources, source) {
			m.Sources = append(m.Sources, source)
		}
	}
	return m, s.Faults.Err()
}

// journey is one journey on business.
type journey struct {
	Day     int64
	Vehicle string
	Person  string
	Miles   int64 // thousandths of a mile
	line    int
}

// readJourneys reads a table: date, miles, and if wanted vehicle and person.
func readJourneys(file string, r io.Reader) ([]journey, error) {
	s, err := sheet.Read(file, r, "date", "miles")
	if err != nil {
		return nil, err
	}
	var out []journey
	for _, row := range s.Rows {
		day, ok := sheet.ReadDate([]byte(row.Get("date")), false)
		if !ok {
			row.Fault("date", row.Get("date"), "the date of the journey is wanted, like 2026-11-25")
			continue
		}
		miles, is := number(row, "miles", 3, "miles driven, like 23.4")
		if !is {
			continue
		}
		if miles > 3000*1000 {
			row.Fault("miles", row.Get("miles"), "no day's journey is longer than 3000 miles")
			continue
		}
		out = append(out, journey{day, row.Get("vehicle"), row.Get("person"), miles, row.Line})
	}
	return out, s.Faults.Err()
}

// MileageClaim is journeys paid back by the mile.
type MileageClaim struct {
	Lines    []mileageLine `json:"lines"`
	Total    Money         `json:"total"` // exact; printed to the penny
	Unrated  []string      `json:"notKnown"`
	Rules    []string      `json:"rules"`
	Sources  []string      `json:"sources"`
	Rounding int64         `json:"roundingPence"`
}

// mileageLine is the journeys of one person and vehicle at one rate.
type mileageLine struct {
	Person   string `json:"person"`
	Vehicle  string `json:"vehicle"`
	Journeys int    `json:"journeys"`
	Miles    int64  `json:"milesThousandths"`
	Rate     string `json:"rate"`
	Amount   Money  `json:"amount"`
	Source   string `json:"source"`
	rate     int64
}

// Claim pays journeys back by the rate published for the date of each. A
// journey on a day without a rate is not known, and stays out of the total.
func (m *mileageRates) Claim(file string, js []journey) MileageClaim {
	c := MileageClaim{Lines: []mileageLine{}, Unrated: []string{}}
	for _, j := range js {
		at := slices.IndexFunc(m.rows, func(r mileageRate) bool { return r.holds(j.Day) })
		if at < 0 {
			c.Unrated = append(c.Unrated, fmt.Sprintf("%s:%d: %s, %s miles: no rate is known for that day", file, j.line, dayText(j.Day), milesText(j.Miles)))
			continue
		}
		r := m.rows[at]
		i := slices.IndexFunc(c.Lines, func(l mileageLine) bool {
			return l.Person == j.Person && l.Vehicle == j.Vehicle && l.rate == r.value && l.Source == r.source
		})
		if i < 0 {
			i = len(c.Lines)
			c.Lines = append(c.Lines, mileageLine{Person: j.Person, Vehicle: j.Vehicle, Rate: penceText(r.value) + " p a mile", Source: r.source, rate: r.value})
		}
		c.Lines[i].Journeys++
		c.Lines[i].Miles += j.Miles
	}
	for i := range c.Lines {
		l := &c.Lines[i]
		l.Amount = Money(divide(l.Miles*l.rate, 1000*100))
		c.Total += l.Amount
		c.Rounding -= l.Amount.Pence()
		if !slices.Contains(c.Sources, l.Source) {
			c.Sources = append(c.Sources, l.Source)
		}
	}
	c.Rounding += c.Total.Pence()
	c.Rules = []string{"Miles are added up by person, vehicle and rate; each sum is rounded once to a hundredth of a penny, and printed to the penny, half " +
		"up. The rate is the one published for the date of the journey; a journey without a rate stays out."}
	return c
}

// MilesText prints the miles.
func (l mileageLine) MilesText() string { return milesText(l.Miles) }

func milesText(thousandths int64) string {
	return strings.TrimSuffix(strings.TrimRight(decimal(thousandths, 3), "0"), ".")
}

func penceText(p int64) string { return strings.TrimSuffix(unitPrice(p).String(), " p/kWh") }

// AtHome is what the energy of the miles costs where it is charged: one price
// of the tariff for each.
type AtHome struct {
	Miles   int64  `json:"milesThousandths"`
	Energy  Energy `json:"energyKWh"`
	Economy string `json:"milesPerKWh"`
	Prices  []struct {
		Band  string `json:"band"`
		Price string `json:"price"`
		Cost  Money  `json:"cost"`
	} `json:"prices"`
}

// Lines says it in words.
func (a AtHome) Lines() []string {
	var out []string
	for _, p := range a.Prices {
		out = append(out, fmt.Sprintf("all %s miles, at %s miles per kWh, are %s: at %s (%s) they cost %s", milesText(a.Miles), a.Economy, a.Energy, p.Price,
			p.Band, p.Cost))
	}
	return out
}

// readEconomy reads miles per kWh in thousandths.
func readEconomy(text string) (int64, error) {
	n, cut, ok := sheet.Number([]byte(text), 3)
	if !ok || cut > 0 || n < 100 || n > 20_000 {
		return 0, fmt.Errorf("%q is no economy of a vehicle: miles per kWh are wanted, like 3.5", text)
	}
	return n, nil
}

// AtHome returns what the energy of the journeys costs at each price the
// tariff has on the day of the last of them: miles ÷ miles per kWh × price.
func (t *priceList) AtHome(js []journey, economy int64) AtHome {
	a := AtHome{Economy: milesText(economy)}
	last := int64(-always)
	for _, j := range js {
		a.Miles += j.Miles
		last = max(last, j.Day)
	}
	a.Energy, _ = energyFor(a.Miles, economy, 0)
	for _, r := range t.rates {
		if !r.holds(last) {
			continue
		}
		_, cost := energyFor(a.Miles, economy, r.price)
		a.Prices = append(a.Prices, struct {
			Band  string `json:"band"`
			Price string `json:"price"`
			Cost  Money  `json:"cost"`
		}{r.band, r.price.String(), cost})
	}
	return a
}

// energyFor returns the energy of so many miles, and what it costs at a price.
// Miles and economy are in thousandths. The cost is taken from the miles, not
// from the rounded energy.
//
//	formula  kWh = miles / (miles per kWh)
func energyFor(miles, economy int64, p unitPrice) (Energy, Money) {
	const most = 1_000_000_000 // a million miles keep within 64 bits
	miles = min(miles, most)
	return Energy(divide(miles*int64(KWh), economy)), Money(divide(miles*int64(p), economy*100))
}
