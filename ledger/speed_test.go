package ledger

import (
	"io"
	"runtime"
	"strconv"
	"testing"

	"chargewright/sheet"
)

// invented is a record of so many sessions, made as it is read: 1,000 points,
// 20,000 cards, a year of sessions with registers.
type invented struct {
	n, at int
	left  []byte
	buf   []byte
}

func (r *invented) Read(p []byte) (int, error) {
	for len(r.left) == 0 {
		if r.at > r.n {
			return 0, io.EOF
		}
		b := r.buf[:0]
		if r.at == 0 {
			b = append(b, "session,point,card,person,vehicle,cost centre,start,stop,meter start kWh,meter stop kWh,energy kWh\n"...)
		} else {
			i := r.at - 1
			point, turn := i%1000, i/1000
			start := 1_767_225_600 + int64(turn)*28_000 + int64(point)*7
			stop := start + 9000 + int64(i%97)*60
			from, e := 100_000+turn*12_345, 9_000+i%3_345
			b = append(b, 's')
			b = strconv.AppendInt(b, int64(i), 10)
			b = append(b, ",P"...)
			b = strconv.AppendInt(b, int64(point), 10)
			b = append(b, ",C"...)
			b = strconv.AppendInt(b, int64(i*7919%20000), 10)
			b = append(b, ",person "...)
			b = strconv.AppendInt(b, int64(i*7919%5000), 10)
			b = append(b, ",van "...)
			b = strconv.AppendInt(b, int64(i%800), 10)
			b = append(b, ",depot "...)
			b = strconv.AppendInt(b, int64(i%12), 10)
			b = append(b, ',')
			b = appendUTC(b, start)
			b = append(b, ',')
			b = appendUTC(b, stop)
			b = append(b, ',')
			b = appendWh(b, from)
			b = append(b, ',')
			b = appendWh(b, from+e)
			b = append(b, ',')
			b = appendWh(b, e)
			b = append(b, '\n')
		}
		r.buf, r.left = b, b
		r.at++
	}
	n := copy(p, r.left)
	r.left = r.left[n:]
	return n, nil
}

func appendWh(b []byte, wh int) []byte {
	b = strconv.AppendInt(b, int64(wh/1000), 10)
	b = append(b, '.')
	return append(b, byte('0'+wh/100%10), byte('0'+wh/10%10), byte('0'+wh%10))
}

func appendUTC(b []byte, u int64) []byte {
	y, m, d := sheet.DateOf(sheet.Civil(u).Day())
	s := int(u % 86400)
	for _, one := range []struct {
		n, width int
		mark     byte
	}{{y, 1000, '-'}, {m, 10, '-'}, {d, 10, 'T'}, {s / 3600, 10, ':'}, {s / 60 % 60, 10, ':'}, {s % 60, 10, 'Z'}} {
		for w := one.width; w > 0; w /= 10 {
			b = append(b, byte('0'+one.n/w%10))
		}
		b = append(b, one.mark)
	}
	return b
}

const nightPrices = "what,band,from,to,value,unit\nenergy,night,00:30,05:30,9.5,p/kWh with VAT\nenergy,day,05:30,00:30,29.8,p/kWh with VAT\nVAT,,,,5,%\n"

// statements reads so many sessions and makes their statements by month and
// cost centre, priced day and night.
func statements(t testing.TB, n int) *Statement {
	l := newLedger(Settings{Zone: zone(t, "Europe/London"), Ratings: map[string]Rating{"": 7400}})
	if err := l.ReadTable("invented.csv", &invented{n: n}); err != nil {
		t.Fatal(err)
	}
	st, err := l.Statement(wanted{By: []Key{ByMonth, ByCentre}, Tariff: tariff(t, nightPrices)})
	if err != nil {
		t.Fatal(err)
	}
	if st.Total.Sessions != n || st.Total.Unpriced != 0 {
		t.Fatalf("%d sessions, %d not priced, of %d: %v", st.Total.Sessions, st.Total.Unpriced, n, l.Notes[:min(3, len(l.Notes))])
	}
	return st
}

// BenchmarkMillionSessions: wanted are 5 s on one core and 300 MB. The time
// includes making the record, which is the smaller part.
func BenchmarkMillionSessions(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		statements(b, 1_000_000)
	}
	b.ReportMetric(float64(peak())/1e6, "MB-of-the-system")
}

// BenchmarkMakingTheRecord is the part of the above that is the benchmark's own.
func BenchmarkMakingTheRecord(b *testing.B) {
	for b.Loop() {
		if _, err := io.Copy(io.Discard, &invented{n: 1_000_000}); err != nil {
			b.Fatal(err)
		}
	}
}

// peak is the memory the program has asked of the system.
func peak() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.Sys
}

// TestMemoryOfAMillion: a session takes no more room than lets a million stay
// within 300 MB; a tenth of them is read.
func TestMemoryOfAMillion(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	l := newLedger(Settings{Zone: zone(t, "Europe/London")})
	if err := l.ReadTable("invented.csv", &invented{n: 100_000}); err != nil {
		t.Fatal(err)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if each := (after.HeapAlloc - before.HeapAlloc) / 100_000; each > 200 {
		t.Errorf("a session takes %d bytes, want at most 200", each)
	}
	runtime.KeepAlive(l)
}
