package prove

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/sheet"
	"chargewright/works"
)

var columnFields = []string{"at", "reading", "value", "function", "instrument", "leads nulled", "temperature", "who", "when", "note"}

// Columns lists the fields of a reading that a table may have, the three that
// it must have first.
func Columns() []string { return slices.Clone(columnFields) }

// NoColumn says that a field a table must have stands under no heading.
type NoColumn struct {
	Field    string
	Headings []string
}

func (e *NoColumn) Error() string {
	return fmt.Sprintf("no column is headed %q: say which one it is; the headings are %s", e.Field, strings.Join(e.Headings, ", "))
}

// ReadColumns reads readings from a table whose columns the user names: fields
// of a reading (at, reading, value, function, instrument, leads nulled,
// temperature, who, when, note) to the headings they stand under. A heading
// not named is taken by its own name. Every fault is told with its line.
func ReadColumns(file string, from io.Reader, heading map[string]string) ([]works.Reading, error) {
	for f := range heading {
		if !slices.Contains(columnFields, f) {
			return nil, fmt.Errorf("a reading has no field %q; %s", f, reading.Nearest(f, columnFields))
		}
	}
	in, err := openReadings(file, from, heading)
	if err != nil {
		return nil, err
	}
	var faults sheet.Faults
	column := map[string]int{}
	for _, f := range columnFields {
		i, fault := in.Head.Find(sheet.Column{Field: f, Named: heading[f]})
		if column[f] = i; fault != nil {
			faults = append(faults, *fault)
		}
	}
	for _, f := range columnFields[:3] {
		if column[f] < 0 && len(faults) == 0 {
			return nil, &NoColumn{f, in.Head.Names}
		}
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	var out []works.Reading
	for in.Next() {
		fault := func(field, found, want string) {
			faults = append(faults, sheet.Fault{File: file, Line: in.Line, Field: field, Found: found, Want: want})
		}
		if in.Wrong != "" {
			fault("line", "", in.Wrong)
			continue
		}
		get := func(f string) string {
			if i := column[f]; i >= 0 && i < len(in.Cells) {
				return sheet.Text(in.Cells[i])
			}
			return ""
		}
		r := works.Reading{At: get("at"), Reading: get("reading"), Value: get("value"), Function: get("function"), Instrument: get("instrument"), Who: get("who"),
			When: get("when"), Note: get("note")}
		if r.At == "" && r.Reading == "" && r.Value == "" {
			continue
		}
		if text := get("temperature"); text != "" {
			t, err := quantity.ParseCelsius(text)
			if err != nil {
				fault("temperature", "", err.Error())
			}
			r.Temperature = quantity.Known(t)
		}
		if text := get("leads nulled"); text != "" {
			yes, ok := sheet.Yes(text)
			if !ok {
				fault("leads nulled", text, "write yes or no")
			}
			r.LeadsNulled = quantity.Known(yes)
		}
		out = append(out, r)
	}
	if in.Err() != nil {
		return nil, in.Err()
	}
	return out, faults.Err()
}

func openReadings(file string, from io.Reader, heading map[string]string) (*sheet.Reader, error) {
	return sheet.Open(file, from, sheet.Bounds{}, func(h sheet.Head) (n int) {
		for _, f := range columnFields {
			if i, _ := h.Find(sheet.Column{Field: f, Named: heading[f]}); i >= 0 {
				n++
			}
		}
		return n
	})
}

// Headings returns the headings of a table of readings.
func Headings(from io.Reader) ([]string, error) {
	in, err := openReadings("", from, nil)
	return in.Head.Names, err
}
