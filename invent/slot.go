package invent

import (
	"reflect"
	"slices"
	"strings"
	"sync"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/works"
)

// slot is one field of the record, and what it can hold. An item of a list is a
// star in its pattern: "circuits/*/legs/*/length".
type slot struct {
	pattern string
	choices []string // none for words of a person's own and for names of other parts
	words   bool     // the choices are all there is
}

// ladders are values of each kind of quantity, from slips of the pen to the
// greatest; a field takes those it does not refuse.
var ladders = map[reflect.Type][]string{
	reflect.TypeFor[quantity.Ohms](): {"0.01 Ω", "0.05 Ω", "0.2 Ω", "0.35 Ω", "0.8 Ω", "1.37 Ω", "5 Ω", "21 Ω", "83 Ω",
		"200 Ω", "201 Ω", "1667 Ω"},
	reflect.TypeFor[quantity.OhmMetres]():           {"10 Ω·m", "100 Ω·m", "1000 Ω·m"},
	reflect.TypeFor[quantity.KelvinMetresPerWatt](): {"0.5 K·m/W", "1 K·m/W", "2.5 K·m/W", "3 K·m/W", "4 K·m/W"},
	reflect.TypeFor[quantity.Amperes](): {"0 A", "3.5 mA", "6 mA", "10 mA", "30 mA", "100 mA", "300 mA", "6 A", "13 A", "16 A", "20 A",
		"32 A", "40 A", "63 A", "80 A",
		"100 A", "160 A", "250 A", "400 A", "1 kA", "1.9 kA", "3 kA", "6 kA", "10 kA", "16 kA", "33 kA", "80 kA"},
	reflect.TypeFor[quantity.Volts]():     {"110 V", "216 V", "230 V", "240 V", "253 V", "400 V", "1.4 kV", "2.5 kV", "4 kV", "6 kV"},
	reflect.TypeFor[quantity.Watts]():     {"0 W", "1.4 kW", "3 kW", "3.68 kW", "7.36 kW", "7.4 kW", "9.5 kW", "11 kW", "22 kW", "50 kW"},
	reflect.TypeFor[quantity.WattHours](): {"1 kWh", "10 kWh", "60 kWh"},
	reflect.TypeFor[quantity.Metres](): {"0 m", "50 mm", "150 mm", "250 mm", "400 mm", "500 mm", "0.7 m", "1.2 m", "2.4 m", "3 m",
		"10 m", "25 m", "60 m", "120 m", "400 m"},
	reflect.TypeFor[quantity.SquareMillimetres](): {"1 mm²", "1.5 mm²", "2.5 mm²", "4 mm²", "6 mm²", "10 mm²", "16 mm²", "25 mm²", "35 mm²",
		"50 mm²", "70 mm²", "95 mm²", "120 mm²", "150 mm²", "185 mm²", "240 mm²", "300 mm²"},
	reflect.TypeFor[quantity.Celsius](): {"-5 °C", "10 °C", "20 °C", "25 °C", "30 °C", "35 °C", "45 °C", "60 °C", "70 °C", "90 °C"},
	reflect.TypeFor[quantity.Seconds](): {"0 s", "0.1 s", "1 s", "5 s", "10 s", "60 s", "120 s", "600 s", "2 h"},
	reflect.TypeFor[quantity.Percent](): {"0 %", "1 %", "2 %", "5 %", "20 %", "50 %"},
	reflect.TypeFor[float64]():          {"0.1", "0.5", "0.8", "0.9", "1", "2"},
	reflect.TypeFor[int]():              {"0", "1", "2", "3", "4", "5", "7", "9", "12", "20", "48"},
	reflect.TypeFor[bool]():             {"yes", "no"},
}

// held is facts that others of the record must go with for it to be read at
// all; they are drawn with those.
var held = []string{"edition", "supply/phases", "boards/*/phases", "circuits/*/phases", "loads/*/phases", "boards/*/ways",
	"boards/*/ways free", "invented"}

// slots is every field of the record that holds one value. It is never changed.
var slots = sync.OnceValue(func() map[string]*slot {
	all := map[string]*slot{}
	walk(reflect.TypeFor[job.Job](), "", all)
	for pattern, s := range all {
		if !s.words && len(s.choices) > 0 {
			s.choices = slices.DeleteFunc(slices.Clone(s.choices), func(value string) bool { return !holds(pattern, value) })
		}
	}
	for _, pattern := range held {
		all[pattern].choices = nil
	}
	return all
})

// walk notes the fields of a struct.
func walk(t reflect.Type, pattern string, into map[string]*slot) {
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			walk(f.Type, pattern, into)
			continue
		}
		name := f.Tag.Get("field")
		if name == "" || f.Tag.Get("key") != "" {
			continue
		}
		at := works.Under(pattern, name)
		switch t := f.Type; {
		case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
			walk(t.Elem(), at+"/*", into)
		case t.Kind() == reflect.Slice:
			into[at+"/*"] = &slot{pattern: at + "/*"}
		case f.Tag.Get("words") != "":
			into[at] = &slot{at, strings.Split(f.Tag.Get("words"), "|"), true}
		default:
			if stated(t) {
				t = t.Field(0).Type
			}
			if s := valueSlot(at, t); s != nil {
				into[at] = s
			} else {
				walk(t, at, into)
			}
		}
	}
}

// stated reports that a struct is a fact with how it is known.
func stated(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && strings.HasPrefix(t.Name(), "Stated[")
}

// valueSlot returns the slot of a field that is one value, nil where it has
// fields of its own.
func valueSlot(at string, t reflect.Type) *slot {
	if t.Kind() == reflect.Struct && strings.HasPrefix(t.Name(), "Maybe[") {
		t = t.Field(0).Type
	}
	if words, ok := reflect.Zero(t).Interface().(interface{ Values() []string }); ok {
		return &slot{at, words.Values(), true}
	}
	if t.Kind() == reflect.Struct {
		return nil
	}
	return &slot{pattern: at, choices: ladders[t]}
}

// holds reports whether the record takes a value at a place.
func holds(pattern, value string) bool {
	_, err := job.NewRecord(job.Entry{Path: strings.ReplaceAll(pattern, "*", "x"), Value: value}).Job("")
	problems, _ := err.(job.Problems)
	for _, p := range problems {
		if !p.Unfinished() {
			return false
		}
	}
	return true
}

// slotAt returns the slot of a path, or nil.
func slotAt(path string) *slot { return slots()[Pattern(path)] }

// Pattern returns a path with a star for every item on it, "circuits/*/cable/csa":
// a law speaks of a field, not of one circuit's. A path that leads nowhere is
// returned as it is.
func Pattern(path string) string {
	names := works.NamesOf(path)
	for stars := range 1 << len(names) {
		at := ""
		for i, name := range names {
			if stars>>i&1 == 1 {
				name = "*"
			}
			at = strings.TrimPrefix(at+"/"+name, "/")
		}
		if patterns()[at] {
			return at
		}
	}
	return path
}

// patterns is every field and every item of the record.
var patterns = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for at := range slots() {
		out[at] = true
		for i := range at {
			if strings.HasPrefix(at[i:], "/*/") {
				out[at[:i+2]] = true
			}
		}
	}
	return out
})

// slotsUnder returns the slots of an item, lists of its own left out, in order.
func slotsUnder(pattern string) []*slot {
	var out []*slot
	for at, s := range slots() {
		if rest, ok := strings.CutPrefix(at, pattern+"/"); ok && !strings.Contains(rest, "*") {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b *slot) int { return strings.Compare(a.pattern, b.pattern) })
	return out
}

// Choices returns what the field at a path can hold, as far as it is known.
func Choices(path string) []string {
	if s := slotAt(path); s != nil {
		return s.choices
	}
	return nil
}
