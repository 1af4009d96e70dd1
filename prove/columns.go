package prove

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/model"
	"chargewright/reading"
	"chargewright/sheet"
	"chargewright/works"
)

// ReadTable reads readings from a table for a job: one reading a row, or one
// circuit a row with a column for each reading. All of them are admitted, or
// everything that is wrong is told with its line and the heading of its cell.
// told is what of the table is no reading.
func ReadTable(m *model.Model, file string, from io.Reader, asked reading.Asked) (rs []works.Reading, told []string, err error) {
	t, err := reading.Read(file, from, asked)
	var faults sheet.Faults
	if err != nil && !errors.As(err, &faults) {
		return nil, nil, err
	}
	for _, row := range t.Rows {
		r := works.Reading{Reading: row.Kind.Name, Value: row.Value, Function: row.Function, Instrument: row.Instrument, LeadsNulled: row.LeadsNulled,
			Temperature: row.Temperature, Who: row.Who, When: row.When, Note: row.Note}
		field, want := "at", ""
		if r.At, field, want = placeIn(m, row); want != "" {
			faults = append(faults, row.Fault(field, want))
			continue
		}
		if row.At != "" && row.Way != "" && !strings.EqualFold(row.At, r.At) && !isPlace(m, row.At) { // it went by its way
			r.Note = strings.Trim(r.Note+"; "+row.At, "; ")
		}
		if r.Instrument != "" && !slices.Contains(instrumentsOf(m), r.Instrument) {
			faults = append(faults, row.Fault("instrument", "no instrument of the job is called so; "+noInstrument(r.Instrument, instrumentsOf(m))))
			continue
		}
		one, err := Admit(m, r)
		var no *Refused
		switch {
		case errors.As(err, &no):
			faults = append(faults, row.Fault(no.Field, no.Want))
		case err != nil:
			return nil, nil, err
		}
		rs = append(rs, one)
	}
	if err := faults.Err(); err != nil {
		return nil, nil, err
	}
	return rs, t.Told, nil
}

// theSupply is what the place where the supply comes in is called beside it.
var theSupply = []string{"supply", "origin", "intake", "incoming", "incomer", "mains", "mains intake", "supply intake", "main intake", "incoming supply",
	"origin of the installation"}

// placeIn finds where a row of a table was read: by a name, however it is
// spelt, or by the way of its board. want is what is wrong with which field.
func placeIn(m *model.Model, row reading.Row) (at, field, want string) {
	byName := placesCalled(m, row.At)
	number, numbered := row.Way, row.Way != ""
	if !numbered && len(byName) == 0 {
		number = row.At
	}
	board := row.Board
	if board == "" && numbered && len(byName) == 1 && slices.ContainsFunc(m.Job.Boards, func(b works.Board) bool { return b.Name == byName[0] }) {
		board, byName = byName[0], nil
	}
	byWay, why := circuitsOf(m, number, board)
	switch {
	case row.Board != "" && len(placesCalled(m, row.Board)) == 0:
		return "", "board", "nothing has that name; " + reading.Nearest(row.Board, Places(m))
	case len(byName) > 1:
		return "", "at", "it could be " + strings.Join(byName, " or ") + ": write it as it is in the job"
	case len(byName) == 1 && numbered && len(byWay) == 1 && !sameCircuit(byWay[0], byName[0]):
		return "", "way", fmt.Sprintf("that way is %s, and the row names %s", byWay[0].Name, byName[0])
	case len(byName) == 1:
		return byName[0], "", ""
	case len(byWay) == 1:
		return byWay[0].Name, "", ""
	case len(byWay) > 1:
		var boards []string
		for _, c := range byWay {
			boards = append(boards, fmt.Sprintf("%s at %s", c.Name, c.From))
		}
		field = "way"
		if !numbered {
			field = "at"
		}
		return "", field, "it could be " + strings.Join(boards, " or ") + ": name the circuit, or its board"
	case row.At == "" || board != row.Board:
		return "", "way", why
	}
	return "", "at", "nothing has that name; " + reading.Nearest(row.At, Places(m))
}

// placesCalled lists the places that go by a name: one as it is written, or all
// that only differ in how they are spelt.
func placesCalled(m *model.Model, name string) []string {
	all := Places(m)
	if slices.Contains(all, name) {
		return []string{name}
	}
	var out []string
	for _, p := range all {
		if name != "" && reading.Plain(p) == reading.Plain(name) && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	if len(out) == 0 && slices.Contains(theSupply, strings.ToLower(strings.Join(strings.Fields(name), " "))) {
		return []string{"supply"}
	}
	return out
}

func isPlace(m *model.Model, name string) bool { return len(placesCalled(m, name)) > 0 }

// circuitsOf lists the circuits at a way of a board, of any board where none is
// named.
func circuitsOf(m *model.Model, way, board string) (out []works.Circuit, why string) {
	wanted := strings.ToLower(strings.TrimSpace(way))
	for _, word := range []string{"circuit", "way", "cct", "no", "number", "c"} {
		if rest, cut := strings.CutPrefix(wanted, word); cut && strings.Trim(rest, " .:") != "" {
			wanted = strings.Trim(rest, " .:")
		}
	}
	var ways []string
	for _, c := range m.Job.Circuits {
		if c.Way == "" || board != "" && reading.Plain(c.From) != reading.Plain(board) {
			continue
		}
		ways = append(ways, c.Way)
		if wanted != "" && reading.Plain(c.Way) == reading.Plain(wanted) {
			out = append(out, c)
		}
	}
	if len(ways) == 0 {
		return out, "no circuit of the job has a way recorded: name the circuit"
	}
	return out, "no circuit of the job is at that way; there are " + strings.Join(ways, ", ")
}

func sameCircuit(c works.Circuit, name string) bool { return name == c.Name || name == c.To }

func instrumentsOf(m *model.Model) []string {
	var out []string
	for _, i := range m.Job.Instruments {
		out = append(out, i.Name)
	}
	return out
}

func noInstrument(name string, there []string) string {
	if len(there) == 0 {
		return "none is recorded: write it into the job first"
	}
	return reading.Nearest(name, there)
}
