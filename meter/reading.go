package meter

import (
	"encoding/json"
	"time"

	"chargewright/quantity"
)

// Reading is what a meter on Modbus shows, by line.
type Reading struct {
	At        time.Time
	Voltage   [3]quantity.Maybe[quantity.Volts]
	Current   [3]quantity.Maybe[quantity.Amperes]
	Power     [3]quantity.Maybe[quantity.Watts]
	Total     quantity.Maybe[quantity.Watts]
	Energy    quantity.Maybe[quantity.WattHours]
	Frequency quantity.Maybe[float64] // Hz
}

// MarshalJSON writes the reading, null where the meter shows nothing.
func (m Reading) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		At        time.Time   `json:"at"`
		Voltage   [3]*float64 `json:"voltage"`             // V
		Current   [3]*float64 `json:"current"`             // A
		Power     [3]*float64 `json:"power"`               // W
		Total     *float64    `json:"total"`               // W
		Energy    *float64    `json:"energy"`              // Wh
		Frequency *float64    `json:"frequency,omitempty"` // Hz
	}{m.At, shown3(m.Voltage), shown3(m.Current), shown3(m.Power), shown(m.Total), shown(m.Energy), shown(m.Frequency)})
}

// shown is a figure, or nil where there is none.
func shown[Q ~float64](m quantity.Maybe[Q]) *float64 {
	q, known := m.Get()
	if !known {
		return nil
	}
	f := float64(q)
	return &f
}

func shown3[Q ~float64](m [3]quantity.Maybe[Q]) (out [3]*float64) {
	for k := range m {
		out[k] = shown(m[k])
	}
	return out
}
