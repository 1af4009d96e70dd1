package prove

// The measurements that could be made.

import (
	_ "embed"
	"slices"
	"strconv"
	"strings"
	"sync"
)

//go:embed tests.csv
var testTable string

// candidate is a measurement that could be made.
type candidate struct {
	question      *question
	function, how string
	minutes, risk float64
}

// suggestable is the rows of the table of tests, read once.
var suggestable = sync.OnceValue(func() [][]string {
	rows, err := table("tests.csv", testTable, testColumns)
	if err != nil {
		panic("prove: " + err.Error()) // a test reads the table
	}
	return rows
})

const testColumns = "reading,function,at,minutes,risk,how"

// candidates lists the measurements that may tell the hypotheses apart: at the
// supply, and where any of them supposes something.
func (b *bench) candidates(at []where) []candidate {
	rows := suggestable()
	var runs []*run
	for _, p := range at {
		for r := p.run; r != nil; r = r.feed {
			if !slices.Contains(runs, r) {
				runs = append(runs, r)
			}
		}
	}
	if len(runs) == 0 {
		for _, r := range b.wiring.runs {
			if r.gap == "" && r.circuit.Point != nil && len(runs) < 1 {
				runs = append(runs, r)
			}
		}
	}
	var out []candidate
	put := func(row []string, place string) {
		k := kindOf(row[0])
		q := b.ask(k, place, row[1], b.meterOf(k.class))
		q.nulled = b.instrumentNulled(q.instrument)
		if q.gap != "" {
			return
		}
		if _, ok := k.predict(b.sound, q); !ok {
			return
		}
		minutes, _ := strconv.ParseFloat(row[3], 64)
		risk, _ := strconv.ParseFloat(row[4], 64)
		out = append(out, candidate{q, row[1], row[5], minutes, risk})
	}
	for _, row := range rows {
		switch row[2] {
		case "supply":
			if row[0] != "clamp step" || b.hasClamp() {
				put(row, "supply")
			}
		case "electrode":
			for e := range b.wiring.electrodes {
				put(row, e.Name)
			}
		default:
			for _, r := range runs {
				c := r.circuit
				switch {
				case row[2] == "point" && c.Point == nil, row[2] == "board" && c.Board == nil:
				case strings.Contains(row[1], "surge device out") && (c.From == nil || len(c.From.Record.Surge) == 0):
				case strings.Contains(row[1], "point disconnected") && c.Point == nil:
				default:
					put(row, farEnd(c))
				}
			}
		}
	}
	slices.SortStableFunc(out, func(x, y candidate) int { return strings.Compare(x.question.at, y.question.at) })
	return out
}

// meterOf returns the instrument that readings of this class were taken with.
func (b *bench) meterOf(class string) string {
	for _, q := range b.asked {
		if q.kind.class == class {
			return q.instrument
		}
	}
	return ""
}
