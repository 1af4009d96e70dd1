package sheet

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// Rows reads a table of ours into rows of a type whose exported fields say
// their columns, in order:
//
//	type step struct {
//		Key   string  `col:"key,key"`   // rows are unique by their keys together
//		Title string  `col:"step,must"` // not empty
//		Low   float64 `col:"low,must"`
//		Old   bool    `col:"old"`       // yes, no or nothing
//	}
func Rows[T any](file, text string) ([]T, error) {
	of := reflect.TypeFor[T]()
	var columns []string
	type field struct {
		column    string
		at        int
		key, must bool
	}
	var fields []field
	for i := range of.NumField() {
		name, marks, tagged := strings.Cut(of.Field(i).Tag.Get("col"), ",")
		if name == "" {
			continue
		}
		if !tagged {
			marks = ""
		}
		columns = append(columns, name)
		fields = append(fields, field{name, i, marks == "key", marks != ""})
	}
	t, err := Own(file, text, columns...)
	if err != nil {
		return nil, err
	}
	out := make([]T, len(t.Rows))
	seen := map[string]int{}
	for n, row := range t.Rows {
		v := reflect.ValueOf(&out[n]).Elem()
		var keys []string
		for k, f := range fields {
			cell := row.cells[k]
			if f.key {
				keys = append(keys, cell)
			}
			if cell == "" && !f.must {
				continue
			}
			if cell == "" && !f.key {
				row.Fault(f.column, "", "it may not be empty")
				continue
			}
			switch to := v.Field(f.at); to.Kind() {
			case reflect.String:
				to.SetString(cell)
			case reflect.Bool:
				to.SetBool(row.Yes(f.column))
			case reflect.Float64:
				to.SetFloat(row.Number(f.column))
			case reflect.Int:
				i, err := strconv.Atoi(cell)
				if err != nil {
					row.Fault(f.column, cell, "a whole number is wanted")
				}
				to.SetInt(int64(i))
			default:
				panic("sheet: no cell is read into a " + to.Type().String())
			}
		}
		if keys != nil {
			key := strings.Join(keys, ", ")
			if before, twice := seen[key]; twice {
				row.Fault(columns[0], key, fmt.Sprintf("it is there twice: line %d has it already", before))
			}
			seen[key] = row.Line
		}
	}
	return out, t.Faults.Err()
}
