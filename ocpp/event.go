package ocpp

import (
	"strconv"
	"strings"
	"time"

	"chargewright/quantity"
)

// happening is what a point tells of itself, whatever the version says it with.
type happening string

// What a point may tell.
const (
	Joined     happening = "joined"     // its link was made
	Left       happening = "left"       // its link ended
	Booted     happening = "booted"     // it introduced itself
	Beat       happening = "heartbeat"  //
	Changed    happening = "status"     // an outlet's status changed
	Authorised happening = "authorise"  // it asked about a card
	Started    happening = "started"    // a session began
	Sampled    happening = "sample"     // it sent meter values
	Stopped    happening = "stopped"    // a session ended
	Reported   happening = "report"     // part of a list of its settings
	Alerted    happening = "security"   // a security event
	Others     happening = "other"      // anything else, kept as it came
	Phased     happening = "phase word" // charging state within a session
)

// Event is one thing a point told.
type Event struct {
	What        happening
	At          time.Time // when it came, by our clock
	Stamp       time.Time // when it was, by the point's clock; zero if it says nothing
	Outlet      int       // 0 where it is not said
	Status      string    // of an outlet, or the answer to a card
	Fault       string    // error code; empty for none
	Token       string
	Allowed     bool // the card or session was allowed
	Transaction string
	Register    quantity.Maybe[quantity.WattHours]
	Sample      *Sample
	Reason      string
	Identity    Identity
	Settings    []Setting
	Last        bool // the last part of a report
	Asked       bool // the link was cut by us
	Detail      string
}

// Identity is what a point says it is.
type Identity struct {
	Vendor   string `json:"vendor,omitempty"`
	Model    string `json:"model,omitempty"`
	Serial   string `json:"serial,omitempty"`
	Firmware string `json:"firmware,omitempty"`
}

// Setting is one setting as the point reports it.
type Setting struct {
	Name     string `json:"name"`
	Value    string `json:"value"`
	ReadOnly bool   `json:"readOnly,omitempty"`
}

// Sample is a set of meter values taken at one moment.
type Sample struct {
	At      time.Time
	Current [3]quantity.Maybe[quantity.Amperes] // by the point's own L1 to L3
	Voltage [3]quantity.Maybe[quantity.Volts]
	Power   quantity.Maybe[quantity.Watts]
	Energy  quantity.Maybe[quantity.WattHours] // import register
}

// Greatest returns the greatest current of the sample.
func (s *Sample) Greatest() (quantity.Amperes, bool) {
	var most quantity.Amperes
	known := false
	for _, c := range s.Current {
		if i, ok := c.Get(); ok {
			most, known = max(most, i), true
		}
	}
	return most, known
}

// Watts returns the power of the sample: as sent, or of its voltages and
// currents.
func (s *Sample) Watts() (quantity.Watts, bool) {
	if p, ok := s.Power.Get(); ok {
		return p, true
	}
	return s.Product()
}

// Product returns the sum of voltage times current over the lines.
func (s *Sample) Product() (quantity.Watts, bool) {
	var sum quantity.Watts
	known := false
	for k := range s.Current {
		i, oki := s.Current[k].Get()
		u, oku := s.Voltage[k].Get()
		if oki && oku {
			sum, known = sum+quantity.Watts(float64(i)*float64(u)), true
		}
	}
	return sum, known
}

// Measured is one sampled value in the words both versions share.
type Measured struct {
	Value, Measurand, Phase, Unit string
	multiplier                    int
}

// Add puts one value into the sample. Without a measurand it is the import
// register, and that in Wh (OCPP 1.6 section 7.31). What it cannot place it
// leaves; of a value that is no number it says so.
func (s *Sample) Add(v Measured) (unread string) {
	n, err := strconv.ParseFloat(strings.TrimSpace(v.Value), 64)
	if err != nil || n != n || n-n != 0 {
		return "a meter value is no number"
	}
	for range min(max(v.multiplier, 0), 12) {
		n *= 10
	}
	for range min(max(-v.multiplier, 0), 12) {
		n /= 10
	}
	if strings.HasPrefix(v.Unit, "k") {
		n *= 1000
	}
	switch v.Measurand {
	case "", "Energy.Active.Import.Register":
		if v.Phase == "" {
			s.Energy = quantity.Known(quantity.WattHours(n))
		}
	case "Power.Active.Import":
		if k := lineOf(v.Phase); k >= 0 { // line by line: added up
			s.Power = quantity.Known(s.Power.Or(0) + quantity.Watts(n))
		} else {
			s.Power = quantity.Known(quantity.Watts(n))
		}
	case "Current.Import":
		if k := lineOf(v.Phase); k >= 0 {
			s.Current[k] = quantity.Known(quantity.Amperes(n))
		} else if v.Phase == "" {
			s.Current[0] = quantity.Known(quantity.Amperes(n))
		}
	case "Voltage":
		if k := lineOf(v.Phase); k >= 0 {
			s.Voltage[k] = quantity.Known(quantity.Volts(n))
		} else if v.Phase == "" {
			s.Voltage[0] = quantity.Known(quantity.Volts(n))
		}
	}
	return ""
}

// lineOf returns 0 to 2 for L1 to L3, to neutral or alone, and -1 for the rest.
func lineOf(phase string) int {
	switch strings.TrimSuffix(phase, "-N") {
	case "L1":
		return 0
	case "L2":
		return 1
	case "L3":
		return 2
	}
	return -1
}

// ReadTime reads a time as OCPP writes it; zero if it is none.
func ReadTime(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}
	}
	return t
}

// WriteTime writes a time as OCPP has it: UTC, RFC 3339, milliseconds.
func WriteTime(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000Z") }
