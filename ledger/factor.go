package ledger

import (
	"fmt"
	"io"

	"chargewright/sheet"
)

// factors is how much CO2 a kilowatt-hour stands for, by date.
type factors struct {
	rows    []dated // mg/kWh
	sources []string
}

// within returns where the factors of some days stand.
func (f *factors) within(first, last int64) (sources []string) {
	for i, r := range f.rows {
		if r.from <= last && r.until >= first {
			sources = append(sources, f.sources[i])
		}
	}
	return sources
}

// readFactors reads a table of CO2 factors: valid from, valid until,
// kg CO2e/kWh, source, confidence.
func readFactors(file string, r io.Reader) (*factors, error) {
	const column = "kg co2e/kwh"
	s, err := sheet.Read(file, r, "valid from", column)
	if err != nil {
		return nil, err
	}
	f := &factors{}
	for _, row := range s.Rows {
		v, ok := validity(row)
		n, is := number(row, column, 6, "kg of CO2 equivalent per kWh, like 0.177")
		if !ok || !is {
			continue
		}
		if n > 5_000_000 {
			row.Fault(column, row.Get(column), "no electricity is so dirty: kg of CO2 equivalent per kWh, like 0.177")
			continue
		}
		for _, other := range f.rows {
			if v.from <= other.until && other.from <= v.until {
				row.Fault("valid from", row.Get("valid from"), fmt.Sprintf("line %d gives another factor for the same days", other.line))
			}
		}
		f.rows = append(f.rows, dated{v, n, row.Line})
		f.sources = append(f.sources, "CO2: "+row.Get("source")+" ("+row.Get("confidence")+")")
	}
	return f, s.Faults.Err()
}
