package prove

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/reading"
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
// not named is taken by its own name. Every fault is reported with its row.
func ReadColumns(in io.Reader, heading map[string]string) ([]job.Reading, error) {
	rows, err := readRows(in)
	if err != nil {
		return nil, err
	}
	fields := columnFields
	column := map[string]int{}
	for _, f := range fields {
		column[f] = -1
		wanted := f
		if h, named := heading[f]; named {
			wanted = h
		}
		for i, have := range rows[0] {
			if reading.Plain(have) == reading.Plain(wanted) {
				column[f] = i
			}
		}
		if _, named := heading[f]; named && column[f] < 0 {
			return nil, fmt.Errorf("no column is headed %q; the headings are %s", wanted, strings.Join(rows[0], ", "))
		}
	}
	for f := range heading {
		if _, ok := column[f]; !ok {
			return nil, fmt.Errorf("a reading has no field %q; %s", f, reading.Nearest(f, fields))
		}
	}
	for _, f := range fields[:3] {
		if column[f] < 0 {
			return nil, &NoColumn{f, rows[0]}
		}
	}
	var out []job.Reading
	for n, row := range rows[1:] {
		get := func(f string) string {
			if i := column[f]; i >= 0 && i < len(row) {
				return strings.TrimSpace(row[i])
			}
			return ""
		}
		r := job.Reading{At: get("at"), Reading: get("reading"), Value: get("value"), Function: get("function"), Instrument: get("instrument"), Who: get("who"), When: get("when"), Note: get("note")}
		if r.At == "" && r.Reading == "" && r.Value == "" {
			continue
		}
		if text := get("temperature"); text != "" {
			t, err := quantity.ParseCelsius(text)
			if err != nil {
				return nil, fmt.Errorf("row %d: temperature is %w", n+2, err)
			}
			r.Temperature = quantity.Known(t)
		}
		switch text := strings.ToLower(get("leads nulled")); text {
		case "":
		case "yes", "y", "true":
			r.LeadsNulled = quantity.Known(true)
		case "no", "n", "false":
			r.LeadsNulled = quantity.Known(false)
		default:
			return nil, fmt.Errorf("row %d: leads nulled is %q: write yes or no", n+2, text)
		}
		out = append(out, r)
	}
	return out, nil
}

// readRows reads a table with commas, semicolons or tabs between its cells.
func readRows(in io.Reader) ([][]string, error) {
	text, err := io.ReadAll(in)
	if err != nil {
		return nil, fmt.Errorf("the table cannot be read: %w", err)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	table := csv.NewReader(bytes.NewReader(text))
	table.Comment, table.FieldsPerRecord, table.TrimLeadingSpace = '#', -1, true
	for line := range bytes.Lines(text) {
		if line = bytes.TrimSpace(line); len(line) == 0 || line[0] == '#' {
			continue
		}
		for _, between := range ";\t" {
			if bytes.Count(line, []byte(string(between))) > bytes.Count(line, []byte(string(table.Comma))) {
				table.Comma = between
			}
		}
		break
	}
	rows, err := table.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("the table cannot be read: %w", err)
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("the table is empty: a row of headings is wanted first")
	}
	return rows, nil
}

// Headings returns the first row of a table of readings.
func Headings(in io.Reader) ([]string, error) {
	rows, err := readRows(in)
	if err != nil {
		return nil, err
	}
	return rows[0], nil
}
