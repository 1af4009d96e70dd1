package meter

import (
	"embed"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/quantity"
	"chargewright/sheet"
)

//go:embed tables/registers/*.csv
var builtInRegisters embed.FS

// Register is where one value stands in a meter, and how it is written there.
type Register struct {
	What     string // voltage, current, power, energy or frequency
	Line     int    // 0 to 2 for L1 to L3; -1 for the whole
	Holding  bool   // a holding register (function 3); else an input register (4)
	At       uint16
	Type     string
	LowFirst bool    // the low word of a number stands first
	Swapped  bool    // the low byte of a register stands first
	Scale    float64 // what one count is, in V, A, W, Wh or Hz
}

// bytesSwapped ends a word order where the low byte of a register stands first.
const bytesSwapped = ", bytes swapped"

// types are the kinds of number, and how many registers of 16 bit each takes.
var types = map[string]uint16{"uint16": 1, "int16": 1, "uint32": 2, "int32": 2, "float32": 2, "uint64": 4, "int64": 4, "float64": 4}

// RegisterMaps returns the names of the built-in maps.
func RegisterMaps() []string {
	entries, err := builtInRegisters.ReadDir("tables/registers")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".csv"))
	}
	return out
}

// RegisterMap returns the built-in map of that name.
func RegisterMap(name string) ([]Register, error) {
	if !slices.Contains(RegisterMaps(), name) {
		return nil, fmt.Errorf("no register map is called %q: there are %s, or give a CSV file", name, strings.Join(RegisterMaps(), ", "))
	}
	text, err := builtInRegisters.ReadFile("tables/registers/" + name + ".csv")
	if err != nil {
		return nil, err
	}
	return ReadRegisterMap(name+".csv", text)
}

// ReadRegisterMap reads a register map from CSV, every fault at once.
//
//	what,line,function,register,type,word order,scale
//	voltage,L1,input,0,float32,high first,1
//
// Registers count from 0, as they travel (Modbus application protocol 4.4).
func ReadRegisterMap(name string, text []byte) ([]Register, error) {
	var out []Register
	rows, err := sheet.Rows(name, string(text), func(r *struct {
		What     string  `col:"what,key"`
		Line     string  `col:"line,key"`
		Function string  `col:"function"`
		Register string  `col:"register"`
		Type     string  `col:"type"`
		Order    string  `col:"word order"`
		Scale    float64 `col:"scale,must"`
	}, row sheet.Row) {
		reg := Register{What: r.What, Line: slices.Index([]string{"L1", "L2", "L3"}, strings.TrimSuffix(r.Line, "-N")),
			Holding: r.Function == "holding", Type: r.Type, LowFirst: strings.HasPrefix(r.Order, "low first"), Swapped: strings.HasSuffix(r.Order, bytesSwapped),
			Scale: r.Scale}
		n, err := strconv.ParseUint(r.Register, 0, 16)
		switch {
		case !slices.Contains([]string{"voltage", "current", "power", "energy", "frequency"}, reg.What):
			row.Fault("what", r.What, "voltage, current, power, energy or frequency is wanted")
		case r.Line != "" && reg.Line < 0:
			row.Fault("line", r.Line, "L1, L2, L3 or nothing is wanted")
		case r.Line == "" && (reg.What == "voltage" || reg.What == "current"):
			row.Fault("", "", reg.What+" needs a line: L1, L2 or L3")
		case reg.Line >= 0 && (reg.What == "energy" || reg.What == "frequency"):
			row.Fault("", "", reg.What+" is wanted for the whole, without a line")
		case r.Function != "holding" && r.Function != "input":
			row.Fault("function", r.Function, "holding (function 3) or input (function 4) is wanted")
		case err != nil || n+uint64(max(types[reg.Type], 1)) > 1<<16:
			row.Fault("register", r.Register, "a number from 0 to 65535 is wanted, as it travels")
		case types[reg.Type] == 0:
			row.Fault("type", reg.Type, "there are "+strings.Join(slices.Sorted(maps.Keys(types)), ", "))
		case !slices.Contains([]string{"high first", "low first"}, strings.TrimSuffix(r.Order, bytesSwapped)):
			row.Fault("word order", r.Order, "high first or low first is wanted, followed by \""+bytesSwapped+"\" where the low byte of a register stands first")
		case !(math.Abs(r.Scale) > 0) || math.IsInf(r.Scale, 0):
			row.Fault("scale", row.Get("scale"), "what one count is, in V, A, W, Wh or Hz, is wanted")
		}
		reg.At = uint16(n)
		out = append(out, reg)
	})
	const most = 100
	if err == nil && len(rows) > most {
		err = sheet.Fault{File: name, Want: fmt.Sprintf("between 1 and %d registers are wanted", most)}
	}
	return out, err
}

// decode returns the number that registers hold, scaled; false for a number
// that says "nothing to show" (not finite).
func (r Register) decode(words []uint16) (float64, bool) {
	if len(words) != int(types[r.Type]) {
		return 0, false
	}
	if r.LowFirst {
		words = slices.Clone(words)
		slices.Reverse(words)
	}
	var bits uint64
	for _, w := range words {
		if r.Swapped {
			w = w<<8 | w>>8
		}
		bits = bits<<16 | uint64(w)
	}
	var n float64
	switch r.Type {
	case "uint16", "uint32", "uint64":
		n = float64(bits)
	case "int16":
		n = float64(int16(bits))
	case "int32":
		n = float64(int32(bits))
	case "int64":
		n = float64(int64(bits))
	case "float32":
		n = float64(math.Float32frombits(uint32(bits)))
	case "float64":
		n = math.Float64frombits(bits)
	}
	n *= r.Scale
	return n, !math.IsNaN(n) && !math.IsInf(n, 0)
}

// put places a number in the reading.
func (m *Reading) put(r Register, n float64) {
	switch {
	case r.What == "voltage":
		m.Voltage[r.Line] = quantity.Known(quantity.Volts(n))
	case r.What == "current":
		m.Current[r.Line] = quantity.Known(quantity.Amperes(n))
	case r.What == "power" && r.Line >= 0:
		m.Power[r.Line] = quantity.Known(quantity.Watts(n))
	case r.What == "power":
		m.Total = quantity.Known(quantity.Watts(n))
	case r.What == "energy":
		m.Energy = quantity.Known(quantity.WattHours(n))
	case r.What == "frequency":
		m.Frequency = quantity.Known(n)
	}
}
