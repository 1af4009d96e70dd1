package ledger

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

const monthOfTwo = `start,stop,energy kWh,charging min,point,card,person
2026-11-02 08:00,2026-11-02 10:00,12.5,120,A,=1+1,A. Driver
2026-11-03 08:00,2026-11-03 10:00,10.004,120,A,K2,B. Driver
2026-11-04 08:00,2026-11-04 07:00,9,120,A,K2,B. Driver
`

// TestForm: the statement as printed: 30 days at 52.1 p are
// £15.63, with 5 % VAT £16.4115; 12.5 and
// 10.004 kWh at 21.37 p are 267.125 and 213.78548 p, rounded to 267.13 and
// 213.79 p, 480.92 p together; 5 % VAT on each is 13.36 and 10.69 p.
// The figures are arithmetic.
func TestForm(t *testing.T) {
	l := read(t, Settings{}, monthOfTwo)
	w := wanted{By: []Key{ByMonth, ByPerson}, Tariff: tariff(t, "what,value,unit\nenergy,21.37,p/kWh\nstanding charge,52.1,p/day\nVAT,5,%\n")}
	st, err := l.Statement(w)
	if err != nil {
		t.Fatal(err)
	}
	f := st.Form()
	got := []string{strings.Join(f.Head, "|")}
	for _, r := range append(f.Rows, f.Total) {
		got = append(got, strings.Join(r, "|"))
	}
	for _, b := range f.Below {
		got = append(got, strings.Join(b, ": "))
	}
	want := []string{
		"month|person|sessions|energy, kWh|plugged in, h|cost, £|VAT, £|due, £",
		"2026-11|A. Driver|1|12.50|2.0|2.67|0.13|2.80",
		"2026-11|B. Driver|1|10.00|2.0|2.14|0.11|2.24",
		"total||2|22.50|4.0|4.81|0.24|5.05",
		"standing charge, 30 days at 52.1 p a day: £16.41",
		"sessions and standing charge, due: £21.46",
	}
	for i := range max(len(want), len(got)) {
		if i >= len(got) || i >= len(want) || got[i] != want[i] {
			t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
			break
		}
	}
	var b bytes.Buffer
	if err := st.CSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || rows[1][6] != "2.6713" || rows[2][6] != "2.1379" || rows[3][6] != "4.8092" || rows[3][9] != "0.2405" {
		t.Errorf("CSV %v, %v; want 2.6713 + 2.1379 = 4.8092 and VAT 0.2405", rows, err)
	}
	b.Reset()
	if err := l.SessionsCSV(&b, st, w); err != nil {
		t.Fatal(err)
	}
	if rows, err = csv.NewReader(&b).ReadAll(); err != nil || len(rows) != 3 || rows[1][3] != "'=1+1" || rows[1][7] != "2026-11-02T08:00:00Z" {
		t.Errorf("sessions %v, %v; want two, the first with its card guarded", rows, err)
	}
	if list, all := l.Sessions(st, w, 1); all != 2 || len(list.Rows) != 1 || strings.Join(list.Rows[0], "|") != "2|2026-11-02 08:00 GMT|2026-11-02 10:00 GMT|A|A. Driver||12.50|2.6713" {
		t.Errorf("list of %d: %v", all, list.Rows)
	}
	b.Reset()
	if err := l.NotesCSV(&b); err != nil || !strings.Contains(b.String(), "\"doubtful, not counted\",stop") {
		t.Errorf("notes %s, %v", &b, err)
	}
	text, err := json.Marshal(st)
	if err != nil || !strings.Contains(string(text), `"cost":4.8092`) || !strings.Contains(string(text), `"energyKWh":22.504`) {
		t.Errorf("JSON %s, %v", text, err)
	}
}

// TestChoosing: days from and to, and a choice of sessions; a choice shows no
// standing charge, which is the supply's.
func TestChoosing(t *testing.T) {
	l := read(t, Settings{}, monthOfTwo)
	price := tariff(t, "what,value,unit\nenergy,20,p/kWh\nstanding charge,50,p/day\n")
	one, err := ReadSelected("person=A. Driver")
	if err != nil {
		t.Fatal(err)
	}
	day, err := readDay("2026-11-03")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		w    wanted
		want string
	}{
		{wanted{Only: []Selected{one}}, "1 session, £2.50, 0 stretches"},
		{wanted{From: day}, "1 session, £2.00, 1 stretches"},
		{wanted{To: day - 1}, "1 session, £2.50, 1 stretches"},
		{wanted{From: day + 1}, "0 session, £0.00, 0 stretches"},
	} {
		tt.w.By, tt.w.Tariff = []Key{ByDay}, price
		st, err := l.Statement(tt.w)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%d session, %s, %d stretches", st.Total.Sessions, st.Total.Cost, len(st.Standing)); got != tt.want {
			t.Errorf("%+v: %s, want %s", tt.w, got, tt.want)
		}
	}
	for _, text := range []string{"", "person", "colour=red"} {
		if _, err := ReadSelected(text); err == nil {
			t.Errorf("ReadSelected(%q) is taken", text)
		}
	}
	for _, text := range []string{"", "week", "month,month", "month,day,point,card,person"} {
		if _, err := readKeys(text); err == nil {
			t.Errorf("ReadKeys(%q) is taken", text)
		}
	}
}

// TestRoundingOfLines: three lines of 0.5 p print as 1 p each; the total is 2 p
// and says that the lines round to more.
func TestRoundingOfLines(t *testing.T) {
	l := read(t, Settings{}, "start,stop,energy kWh,person\n2026-11-02 08:00,2026-11-02 10:00,0.5,A\n2026-11-02 08:00,2026-11-02 10:00,0.5,B\n2026-11-02 08:00,2026-11-02 10:00,0.5,C\n")
	st, err := l.Statement(wanted{By: []Key{ByPerson}, Tariff: tariff(t, "what,value,unit\nenergy,1,p/kWh\n")})
	if err != nil {
		t.Fatal(err)
	}
	if st.Total.Cost != 150 || st.Total.Cost.String() != "£0.02" || st.Rounding != -1 {
		t.Errorf("total %s, rounding %d p; want £0.02 and −1", st.Total.Cost, st.Rounding)
	}
}

// TestStopUnsaidPrices: a session without a stop is priced at one price, and
// not where the price may have changed.
func TestStopUnsaidPrices(t *testing.T) {
	l := read(t, Settings{}, "start,stop,energy kWh\n2026-11-02 08:00,,10\n")
	for text, want := range map[string]string{
		"what,value,unit\nenergy,20,p/kWh\n": "£2.00, 0 not priced",
		nightPrices:                          "£0.00, 1 not priced",
		"what,valid until,value,unit\nenergy,2026-11-10,20,p/kWh\n": "£0.00, 1 not priced",
	} {
		st, err := l.Statement(wanted{By: []Key{ByMonth}, Tariff: tariff(t, text)})
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%s, %d not priced", st.Total.Cost, st.Total.Unpriced); got != want || st.Total.Energy != 10*KWh || st.Total.TimeUnknown != 1 {
			t.Errorf("%q: %s, %+v; want %s", text, got, st.Total, want)
		}
	}
}
