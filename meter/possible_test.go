package meter

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"chargewright/quantity"
)

// laid writes a true reading into registers as a meter of a layout holds it: the
// other way round from how it is read, by the published forms (IEEE 754; Modbus
// application protocol 4.2: a register is sent high byte first).
func laid(t *testing.T, at []Register, truth map[string]float64) registers {
	t.Helper()
	out := registers{false: {}, true: {}}
	for _, r := range at {
		n, there := truth[fmt.Sprintf("%s%d", r.What, r.Line+1)]
		if !there {
			t.Fatalf("the truth has no %s of line %d", r.What, r.Line)
		}
		n /= r.Scale
		var bits uint64
		switch r.Type {
		case "float32":
			bits = uint64(math.Float32bits(float32(n)))
		case "float64":
			bits = math.Float64bits(n)
		default:
			bits = uint64(int64(math.Round(n)))
		}
		size := int(types[r.Type])
		for k := range size {
			w := uint16(bits >> (16 * (size - 1 - k)))
			if r.LowFirst {
				w = uint16(bits >> (16 * k))
			}
			if r.Swapped {
				w = w<<8 | w>>8
			}
			out[r.Holding][r.At+uint16(k)] = w
		}
	}
	return out
}

// charging is what a meter on a three-phase supply shows while one line charges.
var charging = map[string]float64{"voltage1": 231.4, "voltage2": 229.9, "voltage3": 233.2, "current1": 31.7, "current2": 4.2, "current3": 12.6,
	"power1": 7300, "power2": 890, "power3": 2860, "power0": 11050, "energy0": 4125780, "frequency0": 50.02}

// TestWrongLayouts reads a meter of one layout by the map of another: no reading
// that cannot be is handed out, and the layout it has is named.
func TestWrongLayouts(t *testing.T) {
	given := func(name string) []Register {
		at, err := RegisterMap(name)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	with := func(at []Register, how func(*Register)) []Register {
		out := append([]Register(nil), at...)
		for k := range out {
			how(&out[k])
		}
		return out
	}
	float, scaled, whole := given("float-high-word-first"), given("scaled-integers"), given("whole-numbers")
	tests := []struct {
		name  string
		read  []Register
		meter []Register
		says  string // in a layout that is named
	}{
		{"low word first", float, with(float, func(r *Register) { r.LowFirst = true }), "with the low word first"},
		{"high word first", given("float-low-word-first"), float, "with the high word first"},
		{"bytes swapped", float, with(float, func(r *Register) { r.Swapped = true }), "bytes of each register the other way round"},
		{"words and bytes swapped", float, with(float, func(r *Register) { r.Swapped, r.LowFirst = true, true }), "low word first, with the two bytes"},
		{"its papers count from 1", with(float, func(r *Register) { r.At++ }), float, "one register lower"},
		{"one register higher", float, with(float, func(r *Register) { r.At++ }), "one register higher"},
		{"in holding registers", float, with(float, func(r *Register) { r.Holding = true }), "from holding registers"},
		{"whole numbers read as float", with(whole, func(r *Register) {
			r.Type, r.Scale = "float32", map[string]float64{"energy": 1, "frequency": 0.01, "current": 0.001}[r.What]
			if r.Scale == 0 {
				r.Scale = 0.1
			}
		}), whole, "as int32"},
		{"float read as whole numbers", with(float, func(r *Register) { r.Type = "int32" }), float, "as float32"},
		{"amperes ten times too small", with(scaled, func(r *Register) {
			if r.What == "current" {
				r.Scale = 0.001
			}
		}), scaled, "amperes 10 times the map's"}, // that its watts are too large is as near, and told beside it
		{"kilowatts taken for watts", float, with(float, func(r *Register) {
			if r.What == "power" {
				r.Scale = 1000
			}
		}), "watts 1000 times the map's"},
		{"volts in tenths taken whole", with(scaled, func(r *Register) {
			if r.What == "voltage" {
				r.Scale = 1
			}
		}), scaled, "volts 1/10 of the map's"},
		{"milliamperes taken for hundredths", with(whole, func(r *Register) {
			if r.What == "current" {
				r.Scale = 0.01
			}
		}), whole, "amperes 1/10 of the map's"},
	}
	refused := 0
	for _, tt := range tests {
		held := laid(t, tt.meter, charging)
		reading, there := held.under(tt.read)
		why := reading.impossible()
		if there && why == nil {
			t.Errorf("%s: handed out as a reading: %+v", tt.name, reading)
			continue
		}
		refused++
		found := nearest(tt.read, held)
		if !slices.ContainsFunc(found, func(l Layout) bool { return strings.Contains(l.String(), tt.says) }) {
			t.Errorf("%s: %v; layouts %v, want %q among them", tt.name, why, found, tt.says)
			continue
		}
		if v := float64(found[0].Reading.Voltage[1].Or(0)); math.Abs(v-charging["voltage2"]) > 0.06 {
			t.Errorf("%s: by the layout named, voltage L2 is %v, want %v", tt.name, v, charging["voltage2"])
		}
		first := "the registers are not there"
		if len(why) > 0 {
			first = why[0]
		}
		t.Logf("%-34s %-58s %s", tt.name, first, found[0])
	}
	t.Logf("%d of %d wrong layouts are refused", refused, len(tests))
	for _, name := range RegisterMaps() {
		at := given(name)
		reading, _ := laid(t, at, charging).under(at)
		if why := reading.impossible(); why != nil {
			t.Errorf("by its own map %s the meter's reading cannot be: %v", name, why)
		}
	}
}

// TestSoundReadings are readings that are possible, each odd in a way that happens
// on site.
func TestSoundReadings(t *testing.T) {
	k, v, w := quantity.Known[quantity.Amperes], quantity.Known[quantity.Volts], quantity.Known[quantity.Watts]
	for name, m := range map[string]Reading{
		"one line of three is wired":     {Voltage: three(v(231), v(0), v(0.3)), Current: three(k(16), k(0), k(0)), Power: three(w(3690), w(0), w(0)), Total: w(3690)},
		"solar feeds back":               {Voltage: three(v(248), v(247), v(249)), Current: three(k(9.8), k(9.7), k(9.9)), Power: three(w(-2420), w(-2390), w(-2460)), Total: w(-7270)},
		"solar feeds back, signed":       {Voltage: three(v(248), v(247), v(249)), Current: three(k(-9.8), k(-9.7), k(-9.9)), Power: three(w(-2420), w(-2390), w(-2460)), Total: w(-7270)},
		"a motor at no load":             {Voltage: three(v(230), v(230), v(230)), Current: three(k(3), k(3), k(3)), Power: three(w(90), w(85), w(88)), Total: w(263)},
		"nothing flows":                  {Voltage: three(v(230), v(230), v(230)), Current: three(k(0), k(0), k(0)), Power: three(w(0), w(0), w(0)), Total: w(0)},
		"a weak supply at the far end":   {Voltage: three(v(198), v(201), v(196)), Current: three(k(60), k(58), k(63)), Total: w(35500)},
		"currents alone":                 {Current: three(k(40), k(1), k(1))},
		"a current a moment after watts": {Voltage: three(v(230), v(230), v(230)), Current: three(k(31), k(0), k(0)), Power: three(w(7300), w(0), w(0)), Total: w(7300)},
	} {
		if why := m.impossible(); why != nil {
			t.Errorf("%s: %v", name, why)
		}
	}
	for name, m := range map[string]Reading{
		"line to line":            {Voltage: three(v(400), v(401), v(399))},
		"50 Hz read as 500":       {Voltage: three(v(230), v(230), v(230)), Frequency: quantity.Known(500.0)},
		"no line live":            {Voltage: three(v(0), v(0), v(0))},
		"the lines do not add up": {Voltage: three(v(230), v(230), v(230)), Current: three(k(10), k(10), k(10)), Power: three(w(2300), w(2300), w(2300)), Total: w(2300)},
	} {
		if m.impossible() == nil {
			t.Errorf("%s passes as a reading", name)
		}
	}
	at := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	energy := func(after time.Duration, wh quantity.WattHours) Reading {
		return Reading{At: at.Add(after), Energy: quantity.Known(wh)}
	}
	for _, tt := range []struct {
		name   string
		after  Reading
		refuse bool
	}{
		{"it stands", energy(time.Second, 1000), false}, {"it goes on", energy(time.Minute, 1120), false},
		{"it runs back", energy(time.Second, 990), true}, {"it leaps", energy(10*time.Second, 101000), true},
	} {
		if got := tt.after.since(energy(0, 1000)) != nil; got != tt.refuse {
			t.Errorf("%s: refused %v, want %v", tt.name, got, tt.refuse)
		}
	}
}

func three[Q any](a, b, c quantity.Maybe[Q]) [3]quantity.Maybe[Q] {
	return [3]quantity.Maybe[Q]{a, b, c}
}
