package ledger

import (
	"bytes"
	"slices"
	"testing"

	"chargewright/demand"
)

// FuzzHeads: whatever the first lines of a table are, what is known of them is
// among its own headings, since a page offers no others.
func FuzzHeads(f *testing.F) {
	for _, text := range []string{"", "start,stop,energy kWh\n", "# remark\n\nBeginn;Ende;Menge\n", "\"open,energy kWh", "energy kWh,energy Wh,start", "time,L1 A,L2 A,L3 A\n2026-11-25 14:00,1,2,3\n", "date,time,A\n", "{\"a\": 1}", "\xef\xbb\xbftime\tkW\n", "a,\"b\nc\",L1\n"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		head := ReadHead(bytes.NewReader(text), Settings{Columns: map[string]string{"energy": "Menge"}})
		for field, column := range head.Known {
			if !slices.Contains(head.Columns, column) || !slices.Contains(FieldNames(), field) {
				t.Errorf("%q: %s is read from %q, which is not among %q", text, field, column, head.Columns)
			}
		}
		heads := demand.ReadHeads(text, demand.Columns{})
		found := heads.Found
		for _, column := range append(found.Current[:], found.Time, found.Date, found.Clock, found.Power, found.Energy, found.Register) {
			if column != "" && !slices.Contains(heads.All, column) {
				t.Errorf("%q: %q is not among %q", text, column, heads.All)
			}
		}
	})
}
