package ledger

import (
	"io"
	"strings"
	"testing"
	"time"

	"chargewright/finding"
)

// account makes a statement of one record.
func account(t *testing.T, s Asked, record, prices string) *Account {
	t.Helper()
	s.Now, s.Zone = time.Date(2027, 5, 1, 12, 0, 0, 0, time.UTC), "UTC"
	if s.By == "" {
		s.By = "month"
	}
	table := func(name, text string) Table {
		return Table{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }}
	}
	s.Records = []Table{table("record.csv", record)}
	if prices != "" {
		s.Tariff = table("tariff.csv", prices)
	}
	a, err := s.Account()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestBilledAmounts: 10 kWh at 20 p are £2.00, at 5 % VAT £2.10 (arithmetic).
// Each row is a bill of two sessions, and what is said of it.
func TestBilledAmounts(t *testing.T) {
	const head = "start,stop,energy kWh,"
	const flat = "what,value,unit\nenergy,20,p/kWh\nVAT,5,%\n"
	const bands = "what,band,from,to,value,unit\nenergy,night,00:00,06:00,10,p/kWh with VAT\nenergy,day,06:00,24:00,30,p/kWh with VAT\n"
	for _, tt := range []struct {
		name, column, first, second, prices string
		verdict                             finding.Verdict
		differ                              int
		billed                              string
	}{
		{"right, in pounds", "cost £", "2.10", "4.20", flat, finding.Meets, 0, "£6.30"},
		{"right, in pence", "amount pence", "210", "420", flat, finding.Meets, 0, "£6.30"},
		{"right, the unit in the cell", "billed", "£2.10", "420p", flat, finding.Meets, 0, "£6.30"},
		{"a penny off by rounding", "cost £", "2.11", "4.19", flat, finding.Meets, 0, "£6.30"},
		{"without the VAT", "cost £", "2.00", "4.00", flat, finding.Fails, 2, "£6.00"},
		{"one of them dearer", "cost £", "2.10", "5.20", flat, finding.Fails, 1, "£7.30"},
		{"between the least and the most of two bands", "cost £", "1.70", "6.00", bands, finding.Meets, 0, "£7.70"},
		{"above the most", "cost £", "3.50", "6.00", bands, finding.Fails, 1, "£9.50"},
		{"no tariff", "cost £", "2.10", "4.20", "", finding.NotKnown, 0, "£6.30"},
	} {
		record := head + tt.column + "\n2026-11-02 04:00,2026-11-02 08:00,10," + tt.first + "\n2026-11-03 14:00,2026-11-03 20:00,20," + tt.second + "\n"
		b := account(t, Asked{}, record, tt.prices).Report.Billing
		if b == nil {
			t.Errorf("%s: no amount was read", tt.name)
			continue
		}
		if f := b.finding(); f.Verdict != tt.verdict || b.Differ != tt.differ || b.Billed.String() != tt.billed {
			t.Errorf("%s: %s, %d differ, %s; want %s, %d, %s: %s", tt.name, f.Verdict, b.Differ, b.Billed, tt.verdict, tt.differ, tt.billed, f.Why)
		}
	}
	b := account(t, Asked{}, "session,start,stop,energy kWh,cost £\n1,2026-11-02 08:00,2026-11-02 10:00,10,2.10\n1,2026-11-09 08:00,,0,-2.10\n", flat).Report.Billing
	if b.Refunded.String() != "£2.10" || b.Differ != 0 {
		t.Errorf("a refund: %+v", b)
	}
	if b := account(t, Asked{}, head+"cost\n2026-11-02 04:00,2026-11-02 08:00,10,€2.10\n", flat).Report.Billing; b != nil {
		t.Errorf("euros were held against pounds: %+v", b)
	}
	if a := account(t, Asked{}, head+"cost £\n2026-11-02 04:00,2026-11-02 08:00,10,lots\n", flat); a.Report.Records[0].Faulty != 1 {
		t.Errorf("%q is an amount: %+v", "lots", a.Report.Records)
	}
}

// TestOdometers: 300 miles between the first reading and the last on 100 kWh that
// were charged since the first are 3.0 miles per kWh (arithmetic).
func TestOdometers(t *testing.T) {
	const rows = "2026-11-02 08:00,2026-11-02 12:00,30,van,10000\n2026-11-05 08:00,2026-11-05 15:00,40,van,10120\n2026-11-06 08:00,2026-11-06 09:00,20,van,\n" +
		"2026-11-07 08:00,2026-11-07 09:00,5,van,999\n2026-11-08 08:00,2026-11-08 15:00,35,van,10300\n2026-11-08 08:00,2026-11-08 09:00,5,car,52000\n"
	d := account(t, Asked{}, "start,stop,energy kWh,vehicle,odometer miles\n"+rows, "").Report.Driven
	if len(d) != 2 || d[1].Tenths != 3000 || d[1].Energy != 100*KWh || d[1].Economy != "3.0" || len(d[1].Doubts) != 1 || d[0].Economy != "" {
		t.Errorf("%+v", d)
	}
	km := account(t, Asked{}, "start,stop,energy kWh,vehicle,odometer km\n"+rows, "").Report.Driven
	if len(km) != 2 || km[1].Tenths < 1860 || km[1].Tenths > 1866 { // 300 km are 186.4 miles
		t.Errorf("%+v", km)
	}
	if none := account(t, Asked{}, "start,stop,energy kWh,vehicle,odometer\n"+rows, "").Report.Driven; len(none) != 0 {
		t.Errorf("an odometer without a unit: %+v", none)
	}
	leap := account(t, Asked{}, "start,stop,energy kWh,vehicle,odometer miles\n2026-11-02 08:00,2026-11-02 12:00,30,van,10000\n2026-11-02 13:00,2026-11-02 14:00,5,van,10900\n", "").Report.Driven
	if len(leap) != 1 || len(leap[0].Doubts) != 1 || leap[0].Readings != 1 {
		t.Errorf("900 miles in five hours: %+v", leap)
	}
}

// TestYears: the tax year of a person begins on 6 April (Income Tax Act 2007,
// section 4, from memory).
func TestYears(t *testing.T) {
	const record = "start,stop,energy kWh\n2026-04-05 08:00,2026-04-05 09:00,1\n2026-04-06 08:00,2026-04-06 09:00,2\n2026-12-31 23:30,2027-01-01 00:30,4\n2027-04-05 08:00,2027-04-05 09:00,5\n"
	for _, tt := range []struct{ by, period, want string }{
		{"year", "", "2026 7, 2027 5"},
		{"tax year", "", "2025/26 1, 2026/27 11"},
		{"year", "2026", "2026 7"},
		{"month", "2026-04", "2026-04 3"},
		{"tax year", "2026/27", "2026/27 11"},
		{"tax year", "tax year 2026/27", "2026/27 11"},
		{"tax year,month", "2025/26", "2025/26 2026-04 1"},
	} {
		a := account(t, Asked{By: tt.by, Period: tt.period}, record, "")
		var got []string
		for _, line := range a.Report.Statement.Lines {
			got = append(got, strings.Join(line.Keys, " ")+" "+line.Energy.Exact())
		}
		if strings.Join(got, ", ") != tt.want {
			t.Errorf("by %s of %q: %q, want %q", tt.by, tt.period, got, tt.want)
		}
	}
	if st := account(t, Asked{Period: "2026/27"}, record, "what,value,unit\nenergy,10,p/kWh\nstanding charge,50,p/day\n").Report.Statement; st.From != "2026-04-06" || st.To != "2027-04-05" || st.Standing[0].Days != 365 {
		t.Errorf("a tax year has 365 days of standing charge: %s to %s, %+v", st.From, st.To, st.Standing)
	}
	for _, wrong := range []string{"2026/28", "2026-13", "last year", "26", "2026-11-25"} {
		if _, _, err := readPeriod(wrong); err == nil {
			t.Errorf("%q is a period", wrong)
		}
	}
}

// TestLostStopOfMessages: a session whose stop never came is closed by the next
// of its outlet, and marked.
func TestLostStopOfMessages(t *testing.T) {
	l := readMessages(t, `[2,"1","StartTransaction",{"connectorId":1,"idTag":"A","meterStart":1000,"timestamp":"2026-11-03T00:00:00Z"}]
[3,"1",{"transactionId":7}]
[2,"2","MeterValues",{"connectorId":1,"transactionId":7,"meterValue":[{"timestamp":"2026-11-03T02:00:00Z","sampledValue":[{"value":"9000"}]}]}]
[2,"3","StartTransaction",{"connectorId":1,"idTag":"A","meterStart":9500,"timestamp":"2026-11-03T09:00:00Z"}]
[3,"3",{"transactionId":8}]
[2,"4","StartTransaction",{"connectorId":2,"idTag":"B","meterStart":0,"timestamp":"2026-11-03T10:00:00Z"}]
[3,"4",{"transactionId":9}]
`)
	st, err := l.Statement(wanted{By: []Key{ByCard}})
	if err != nil {
		t.Fatal(err)
	}
	if st.Total.Sessions != 1 || st.Total.Estimated != 1 || st.Total.Energy != KWh*17/2 || st.Total.Seconds != 7200 || l.Tallies[0].Doubted != 2 {
		t.Errorf("%+v, %d doubtful; want one estimate of 8.5 kWh in 2 h, and two still running", st.Total, l.Tallies[0].Doubted)
	}
	if !strings.Contains(noteAt(l, 1, Estimated), "lost") {
		t.Errorf("the estimate is not marked: %v", l.Notes)
	}
}
