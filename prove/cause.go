package prove

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

//go:embed causes.csv
var causeTable string

const causeColumns = "key,is,cause,faults,places,rate,low,high,unit,danger,acts,next,source"

// cause is one thing that may be wrong, in words and with its rate.
type cause struct {
	key, words string
	is         string   // fault, state, instrument or person
	faults     []string // in the rulebook's table of faults, or a case of the trade
	places     string
	rate       float64 // chance at each place
	low, high  float64
	unit       string
	danger     string
	grave      bool   // nothing is energised under it
	acts       string // who must act
	next       string
	source     string
	change     change
}

// notEnergised lists the causes under which nothing is energised: a fault would
// leave metal live, or something burn. What to say of it stands in the table.
var notEnergised = []string{"cpc joint", "cpc broken", "earth terminal", "pen", "sheath", "no supply earth", "reversed supply", "moisture", "damage",
	"damage between live", "electrode open", "neutral earth exchanged"}

// causeIs lists what a cause can be: something wrong with the place, a state
// that a sound place may be in, or something of the instrument or the person.
var causeIs = []string{"fault", "state", "instrument", "person"}

// Priors is how often each cause is found and how large it is.
type Priors struct{ causes []*cause }

// UsualPriors returns the rates the program comes with: engineering judgement.
func UsualPriors() Priors {
	p, err := ReadPriors(causeTable)
	if err != nil {
		panic("prove: " + err.Error()) // a test reads the table
	}
	return p
}

// PriorsTable returns the table of causes the program comes with, to be edited
// and given back.
func PriorsTable() string { return causeTable }

// ReadPriors reads rates from a table in the layout of causes.csv. Causes left
// out are taken to be impossible; every key must be one the program knows.
func ReadPriors(text string) (Priors, error) {
	rows, err := table("causes.csv", text, causeColumns)
	if err != nil {
		return Priors{}, fmt.Errorf("priors: %w", err)
	}
	var p Priors
	seen := map[string]bool{}
	for i, r := range rows {
		c := &cause{key: r[0], is: r[1], words: r[2], faults: strings.Fields(r[3]), places: r[4], unit: r[8], danger: r[9],
			grave: slices.Contains(notEnergised, r[0]), acts: r[10], next: r[11],
			source: r[12], change: changes[r[0]]}
		if !slices.Contains(causeIs, c.is) {
			return Priors{}, fmt.Errorf("priors: row %d: %s is %q; it is one of %s", i+1, c.key, c.is, strings.Join(causeIs, ", "))
		}
		if c.change == nil {
			return Priors{}, fmt.Errorf("priors: row %d: no cause is called %q; there are %s", i+1, r[0], strings.Join(changeNames(), ", "))
		}
		if seen[c.key] {
			return Priors{}, fmt.Errorf("priors: row %d: %s stands there twice", i+1, c.key)
		}
		seen[c.key] = true
		for k, into := range []*float64{&c.rate, &c.low, &c.high} {
			v, err := strconv.ParseFloat(r[5+k], 64)
			if err != nil || !(v > 0) || math.IsInf(v, 0) {
				return Priors{}, fmt.Errorf("priors: %s: %q is wanted above zero", c.key, r[5+k])
			}
			*into = v
		}
		if c.rate >= 1 || c.low > c.high {
			return Priors{}, fmt.Errorf("priors: %s: the rate must be below 1 and low at most high", c.key)
		}
		if c.source == "" {
			return Priors{}, fmt.Errorf("priors: %s: where the rate is from is wanted", c.key)
		}
		p.causes = append(p.causes, c)
	}
	return p, nil
}

func changeNames() []string {
	var out []string
	for k := range changes {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// size is one range of how large a cause is: a middle and one deviation.
type size struct{ x, deviation, share float64 }

// sizes cuts the range of a cause into pieces narrow enough that readings are
// straight lines over each. Spread evenly over the logarithm.
func (c *cause) sizes() []size {
	if c.unit == "sizes" { // one size smaller is more usual than two
		var out []size
		for n := c.low; n <= c.high; n++ {
			out = append(out, size{n, 0, math.Pow(0.2, n-c.low)})
		}
		return normalised(out)
	}
	if c.high <= c.low*1.0001 {
		return []size{{c.low, 0, 1}}
	}
	const step, ends, open = 2.0, 50.0, 0.3
	if c.unit == "Ω" && c.high >= 1e6 && c.low < 1 { // a joint, or nothing at all
		joint := *c
		joint.high = ends
		out := joint.sizes()
		for i := range out {
			out[i].share *= 1 - open
		}
		return append(out, size{openOhms, 0, open})
	}
	n := max(1, int(math.Ceil(math.Log(c.high/c.low)/math.Log(step))))
	q := math.Pow(c.high/c.low, 1/float64(n))
	var out []size
	for k := range n {
		a := c.low * math.Pow(q, float64(k))
		b := a * q
		mean := (b - a) / math.Log(q) // of the log-uniform piece
		variance := (b*b-a*a)/(2*math.Log(q)) - mean*mean
		out = append(out, size{mean, math.Sqrt(variance), 1})
	}
	return normalised(out)
}

func normalised(s []size) []size {
	var sum float64
	for i := range s {
		sum += s[i].share
	}
	for i := range s {
		s[i].share /= sum
	}
	return s
}
