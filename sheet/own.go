package sheet

import (
	"fmt"
	"reflect"
	"strings"
)

// Rows reads a table of ours into rows of a type whose fields say their
// columns. They may stand in any order, and others beside them.
//
//	type step struct {
//		Key   string  `col:"key,key"`   // rows are unique by their keys together
//		Title string  `col:"step,must"` // not empty
//		Low   float64 `col:"low,must"`
//		Old   bool    `col:"old"`       // yes, no or nothing
//	}
//
// Check, where there is one, looks at each row that could be read.
func Rows[T any](file, text string, check func(*T, Row)) ([]T, error) {
	type field struct {
		column    string
		at        int
		key, must bool
	}
	var fields []field
	var columns []string
	of := reflect.TypeFor[T]()
	for i := range of.NumField() {
		if name, mark, _ := strings.Cut(of.Field(i).Tag.Get("col"), ","); name != "" {
			columns = append(columns, name)
			fields = append(fields, field{name, i, mark == "key", mark == "must"})
		}
	}
	t, err := own(file, text, false, columns)
	if err != nil {
		return nil, err
	}
	out := make([]T, len(t.Rows))
	seen := map[string]int{}
	for n, row := range t.Rows {
		v := reflect.ValueOf(&out[n]).Elem()
		var keys []string
		before := len(t.Faults)
		for _, f := range fields {
			cell := row.Get(f.column)
			if f.key {
				keys = append(keys, cell)
			}
			switch to := v.Field(f.at); {
			case cell == "":
				if f.must {
					row.Fault(f.column, "", "it may not be empty")
				}
			case to.Kind() == reflect.String:
				to.SetString(cell)
			case to.Kind() == reflect.Bool:
				to.SetBool(row.Yes(f.column))
			case to.Kind() == reflect.Float64:
				to.SetFloat(row.Number(f.column))
			default:
				panic("sheet: no cell is read into a " + to.Type().String())
			}
		}
		if key := strings.Join(keys, ", "); key != "" {
			if line, twice := seen[key]; twice {
				row.Fault("", "", fmt.Sprintf("%s is there twice: it stands on line %d already", key, line))
			}
			seen[key] = row.Line
		}
		if check != nil && len(t.Faults) == before {
			check(&out[n], row)
		}
	}
	if len(out) == 0 {
		t.Fault(t.Head.Line, "", "", "no row stands below the head")
	}
	return out, t.Faults.Err()
}
