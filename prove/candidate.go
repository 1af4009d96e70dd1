package prove

// The measurements that could be made.

import (
	_ "embed"
	"slices"
	"strconv"
	"strings"
	"sync"

	"chargewright/reading"
)

//go:embed tests.csv
var testTable string

// candidate is a measurement that could be made.
type candidate struct {
	question      *question
	function, how string
	minutes, risk float64
	basis         string // of both
}

// suggestion is a row of the table of tests.
type suggestion struct {
	kind          *kind
	function      string
	how           reading.Ways
	at, words     string
	minutes, risk float64
	basis         string
}

// suggestable is the table of tests, read once.
var suggestable = sync.OnceValue(func() []suggestion {
	rows, err := table("tests.csv", testTable, testColumns)
	if err != nil {
		panic("prove: " + err.Error()) // a test reads the table
	}
	var out []suggestion
	for _, r := range rows {
		s := suggestion{kind: kindOf(r[0]), function: r[1], at: r[2], words: r[5], basis: r[6]}
		s.minutes, _ = strconv.ParseFloat(r[3], 64)
		s.risk, _ = strconv.ParseFloat(r[4], 64)
		if s.how, err = s.kind.Ways(s.function); err != nil {
			panic("prove: " + err.Error())
		}
		out = append(out, s)
	}
	return out
})

const testColumns = "reading,function,at,minutes,risk,how,basis"

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
			if len(r.gap) == 0 && r.circuit.Point != nil && len(runs) < 1 {
				runs = append(runs, r)
			}
		}
	}
	var out []candidate
	put := func(s suggestion, place string) {
		k := s.kind
		q := b.ask(k, place, s.how, b.meterOf(k.Class))
		q.nulled = b.instrumentNulled(q.instrument)
		if len(q.gap) > 0 {
			return
		}
		if _, ok := k.predict(b.sound, q); !ok {
			return
		}
		out = append(out, candidate{q, s.function, s.words, s.minutes, s.risk, s.basis})
	}
	for _, row := range rows {
		switch row.at {
		case "supply":
			if row.kind.Class != "clamp" || b.hasClamp() {
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
				case row.at == "point" && c.Point == nil, row.at == "board" && c.Board == nil:
				case row.how.Has("surge device out") && !r.surge():
				case row.how.Has("point disconnected") && c.Point == nil:
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
		if q.kind.Class == class {
			return q.instrument
		}
	}
	return ""
}
