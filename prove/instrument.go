package prove

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"chargewright/sheet"
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
	rows, err := table("instruments.csv", instrumentTable, "class,share,digits,resolution,top,unit,allowed,standard,source")
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

// table reads a table of ours with the header given.
func table(file, text, header string) ([][]string, error) {
	t, err := sheet.Own(file, text, strings.Split(header, ",")...)
	if err == nil {
		err = t.Faults.Err()
	}
	if err != nil {
		return nil, err
	}
	rows := make([][]string, len(t.Rows))
	for i, r := range t.Rows {
		rows[i] = r.Cells()
	}
	return rows, nil
}
