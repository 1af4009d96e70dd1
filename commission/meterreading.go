package commission

import (
	"time"

	"chargewright/quantity"
)

// MeterReading is what a meter on Modbus shows, by line.
type MeterReading struct {
	At      time.Time
	Voltage [3]quantity.Maybe[quantity.Volts]
	Current [3]quantity.Maybe[quantity.Amperes]
	Power   [3]quantity.Maybe[quantity.Watts]
	Total   quantity.Maybe[quantity.Watts]
	Energy  quantity.Maybe[quantity.WattHours]
}
