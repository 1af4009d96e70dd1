package prove

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
)

//go:embed instruments.csv
var instrumentTable string

// accuracy is what an instrument of one class is usually out by, and the most
// its product standard allows.
type accuracy struct {
	share, digits, resolution, top float64
	allowed                        float64
	standard                       string
}

// deviation returns one standard deviation at v.
func (a accuracy) deviation(v float64) float64 {
	return math.Hypot(a.share*v, a.digits*a.resolution)
}

// accuracies is the table of instruments, read once.
var accuracies = sync.OnceValues(func() (map[string]accuracy, error) {
	rows, err := table(instrumentTable, "class,share,digits,resolution,top,unit,allowed,standard,source")
	if err != nil {
		return nil, fmt.Errorf("instruments: %w", err)
	}
	out := map[string]accuracy{}
	for _, r := range rows {
		var n [5]float64
		for i, column := range []int{1, 2, 3, 4, 6} {
			if n[i], err = strconv.ParseFloat(r[column], 64); err != nil {
				return nil, fmt.Errorf("instruments: %s: %w", r[0], err)
			}
		}
		out[r[0]] = accuracy{n[0], n[1], n[2], n[3], n[4], r[7]}
	}
	return out, nil
})

// table reads a CSV with comment lines and the header given.
func table(text, header string) ([][]string, error) {
	in := csv.NewReader(strings.NewReader(text))
	in.Comment = '#'
	rows, err := in.ReadAll()
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 || strings.Join(rows[0], ",") != header {
		return nil, fmt.Errorf("the first row must be %s", header)
	}
	return rows[1:], nil
}
