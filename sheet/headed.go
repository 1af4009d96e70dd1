// Package sheet reads tables with a head.
package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
)

// Faults gathers faults, so that all are told at once.
type Faults []string

func (f *Faults) Add(text string) { *f = append(*f, text) }

func (f Faults) Err() error {
	if len(f) == 0 {
		return nil
	}
	return fmt.Errorf("%s", strings.Join(f, "\n"))
}

// Headed reads CSV with a head and gives each row by column, and the line
// it stands on.
func Headed(name string, text []byte, columns []string) (rows []map[string]string, lines []int, err error) {
	const mostTable = 1 << 20
	if len(text) > mostTable {
		return nil, nil, fmt.Errorf("%s is larger than 1 MiB", name)
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	all := [][]string{}
	for {
		record, err := r.Read()
		if record == nil && err != nil {
			if err.Error() == "EOF" {
				break
			}
			return nil, nil, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := r.FieldPos(0)
		all, lines = append(all, record), append(lines, line)
	}
	if len(all) == 0 {
		return nil, nil, fmt.Errorf("%s is empty: the head %s is wanted", name, strings.Join(columns, ","))
	}
	at := map[string]int{}
	for i, c := range all[0] {
		at[strings.TrimSpace(c)] = i
	}
	for _, c := range columns {
		if _, ok := at[c]; !ok {
			return nil, nil, fmt.Errorf("%s:%d: the column %s is missing; the head is %s", name, lines[0], c, strings.Join(columns, ","))
		}
	}
	for i, record := range all[1:] {
		if len(record) != len(all[0]) {
			return nil, nil, fmt.Errorf("%s:%d: %d columns stand here and %d in the head: a text with a comma goes in quotes", name, lines[i+1], len(record), len(all[0]))
		}
		row := map[string]string{}
		for c, i := range at {
			if i < len(record) {
				row[c] = strings.TrimSpace(record[i])
			}
		}
		rows = append(rows, row)
	}
	return rows, lines[1:], nil
}
