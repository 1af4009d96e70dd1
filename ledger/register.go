package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"

	"chargewright/sheet"
)

// meterValue is readings taken at one time, in both versions.
type meterValue struct {
	Timestamp    string
	SampledValue []struct {
		Value         json.RawMessage
		Measurand     string
		Context       string
		Phase         string
		Unit          string
		UnitOfMeasure struct {
			Unit       string
			Multiplier int
		}
	}
}

// read keeps the readings of the energy register. One taken as the session began
// (OCPP 1.6 section 7.34, Transaction.Begin) says nothing of its end, whatever
// message carries it.
func (r *running) read(values []meterValue, otherwise int64) {
	for _, v := range values {
		at, err := instant(v.Timestamp)
		if err != nil {
			at = otherwise
		}
		given := err == nil
		for _, s := range v.SampledValue {
			if s.Phase != "" || s.Measurand != "" && s.Measurand != "Energy.Active.Import.Register" || at == 0 {
				continue
			}
			places := 3 // Wh unless it says otherwise
			if s.Unit == "kWh" || s.UnitOfMeasure.Unit == "kWh" {
				places = 6
			}
			if e, err := register(json.Number(bytes.Trim(s.Value, `"`)), places+s.UnitOfMeasure.Multiplier); err == nil {
				at := at
				if s.Context == "Transaction.Begin" {
					if r.opened = true; !given {
						at = r.s.Start
					}
				}
				r.readings = append(r.readings, sample{at, e})
			}
		}
	}
}

func register(n json.Number, places int) (Energy, error) {
	text := n.String()
	if places < 0 || places > 12 {
		return none, fmt.Errorf("register is %q in a unit no meter counts in", text)
	}
	e, _, ok := sheet.Number([]byte(text), places)
	if !ok || e > 1_000_000_000*int64(KWh) {
		return none, fmt.Errorf("register is %q: what the meter has counted is wanted, in Wh", text)
	}
	return Energy(e), nil
}

func instant(text string) (int64, error) {
	st, ok := sheet.ReadStamp([]byte(text), false)
	if !ok {
		return 0, fmt.Errorf("timestamp is %q: a date and time with its offset is wanted, like 2026-11-25T14:05:30Z", text)
	}
	return int64(st.Wall) - st.Offset, nil
}
