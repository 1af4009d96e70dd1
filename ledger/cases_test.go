package ledger

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestImpossibleSessions is the trade's case of four sessions with (start,
// stop, energy kWh, hours) at 7.36 kW: (–, 7783.903, 7783.903, 6) exceeds
// 44.2; (7900.0, 7912.760, 7930.179, 4) disagrees with 12.760; (10.0, 22.5,
// 12.5, 2) is accepted; (100, 3, –, 3) is a register reset. The expected
// figures are arithmetic.
func TestImpossibleSessions(t *testing.T) {
	l := read(t, Settings{Ratings: map[string]Rating{"": 7360}}, `start,stop,meter start kWh,meter stop kWh,energy kWh,point
2026-11-02 08:00,2026-11-02 14:00,,7783.903,7783.903,A
2026-11-02 08:00,2026-11-02 12:00,7900.0,7912.760,7930.179,B
2026-11-02 08:00,2026-11-02 10:00,10.0,22.5,12.5,C
2026-11-02 08:00,2026-11-02 11:00,100,3,,D
`)
	tally := l.Tallies[0]
	if tally.Counted != 1 || tally.EnergyCounted != 12_500_000 || tally.Doubted != 3 {
		t.Errorf("counted %d sessions and %s, %d doubtful; want 1, 12.50 kWh, 3", tally.Counted, tally.EnergyCounted, tally.Doubted)
	}
	for line, want := range map[int]string{2: "exceeds the 44.16 kWh", 3: "12.76 kWh", 5: "reset"} {
		if got := noteAt(l, line, Doubted); !strings.Contains(got, want) {
			t.Errorf("line %d: %q, want it to say %q", line, got, want)
		}
	}
	st, err := l.Statement(wanted{By: []Key{ByMonth}, Tariff: tariff(t, "what,value,unit\nenergy,20,p/kWh with VAT\n")})
	if err != nil {
		t.Fatal(err)
	}
	if st.Total.Cost != 250*Penny || st.Total.Sessions != 1 {
		t.Errorf("total = %s of %d sessions, want £2.50 of 1", st.Total.Cost, st.Total.Sessions)
	}
}

func noteAt(l *Ledger, line int, k Kind) string {
	for _, n := range l.Notes {
		if n.Line == line && n.Kind == k {
			return n.String()
		}
	}
	return ""
}

// TestPayingBack is the trade's case: 1000 miles at 3.5 miles per kWh; 7 p a
// mile is £70.00; 285.7 kWh at 7 and 25 p are £20.00 and £71.43; at 18 p
// £51.43. The expected figures are arithmetic. A day without a rate is not
// known.
func TestPayingBack(t *testing.T) {
	rates, err := readMileageRates("rates.csv", strings.NewReader("valid from,valid until,pence a mile,source,confidence\n2025-06-01,2025-08-31,7,s,c\n"))
	if err != nil {
		t.Fatal(err)
	}
	js, err := readJourneys("journeys.csv", strings.NewReader("date,miles\n2025-06-01,400\n2025-08-31,600\n2025-09-01,50\n"))
	if err != nil {
		t.Fatal(err)
	}
	claim := rates.Claim("journeys.csv", js)
	if claim.Total != 70*Pound || len(claim.Unrated) != 1 || !strings.Contains(claim.Unrated[0], "journeys.csv:4") {
		t.Errorf("claim = %s, %v; want £70.00 and line 4 not known", claim.Total, claim.Unrated)
	}
	economy, err := readEconomy("3.5")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"what,band,from,to,value,unit\nenergy,night,00:00,07:00,7,p/kWh\nenergy,day,07:00,24:00,25,p/kWh\n": "[£20.00 £71.43]",
		"what,value,unit\nenergy,18,p/kWh\n": "[£51.43]",
	} {
		home := tariff(t, text).AtHome([]journey{{Miles: 1_000_000}}, economy)
		var got []string
		for _, p := range home.Prices {
			got = append(got, p.Cost.String())
		}
		if home.Energy/100_000 != 2857 || fmt.Sprint(got) != want {
			t.Errorf("1000 miles = %s, %v; want 285.7 kWh, %s", home.Energy, got, want)
		}
	}
}

// TestPublishedArithmetic: sums that are printed elsewhere.
func TestPublishedArithmetic(t *testing.T) {
	t.Run("school mathematics page on utility bills (wtmaths.com, example 1): 5545 − 5066 = 479 units at 15.4 p are 7376.6 p; with 5 % VAT £77.45", func(t *testing.T) {
		l := read(t, Settings{}, "start,stop,meter start kWh,meter stop kWh\n2026-10-01 00:00,2026-10-31 00:00,5066,5545\n")
		st, err := l.Statement(wanted{By: []Key{ByMonth}, Tariff: tariff(t, "what,value,unit\nenergy,15.4,p/kWh\nVAT,5,%\n")})
		if err != nil {
			t.Fatal(err)
		}
		if st.Total.Cost != 737660 || st.Due(st.Total.Cost, st.Total.VAT).String() != "£77.45" {
			t.Errorf("cost %s, due %s; want 73.7660 and £77.45", st.Total.Cost.Exact(), st.Due(st.Total.Cost, st.Total.VAT))
		}
	})
	t.Run("news of August 2025 on the advisory electric rate: 27.04 p/kWh at 3.59 miles per kWh gives 8 p a mile", func(t *testing.T) {
		if _, cost := energyFor(1000, 3590, 270_400); cost.Pence() != 8 {
			t.Errorf("a mile costs £%s, want 8 p", cost.Exact())
		}
	})
	t.Run("note on the 2025 conversion factors: 100,000 kWh are 20,705 kg at 0.20705 and 17,700 kg at 0.177", func(t *testing.T) {
		f, err := readFactors("co2.csv", strings.NewReader("valid from,valid until,kg CO2e/kWh,source,confidence\n2024-01-01,2024-12-31,0.20705,s,c\n2025-01-01,2025-12-31,0.177,s,c\n"))
		if err != nil {
			t.Fatal(err)
		}
		for year, want := range map[int]int64{2024: 20705, 2025: 17700} {
			l := read(t, Settings{}, fmt.Sprintf("start,stop,energy kWh\n%d-02-01 00:00,%d-11-01 00:00,100000\n", year, year))
			st, err := l.Statement(wanted{By: []Key{ByMonth}, Factors: f})
			if err != nil || st.Total.CO2 != want*1_000_000 {
				t.Errorf("%d: %d mg, %v; want %d kg", year, st.Total.CO2, err, want)
			}
		}
	})
}

// TestNightTariffOverTheYear is the trade's case of a clock change: a window
// from 23:00 to 07:00 in London is 22:00 to 06:00 UTC under summer time and
// 23:00 to 07:00 UTC in winter; a meter that keeps UTC does not move. Clock
// changes of 2026: 29 March and 25 October (Summer Time Order 2002: last
// Sundays, 01:00 UTC).
func TestNightTariffOverTheYear(t *testing.T) {
	london := zone(t, "Europe/London")
	local := tariff(t, "what,band,from,to,value,unit\nenergy,night,23:00,07:00,10,p/kWh\nenergy,day,07:00,23:00,30,p/kWh\n")
	utc := tariff(t, "what,band,from,to,clock,value,unit\nenergy,night,23:00,07:00,UTC,10,p/kWh\nenergy,day,07:00,23:00,UTC,30,p/kWh\n")
	at := func(text string) int64 {
		u, err := time.Parse("2006-01-02 15:04", text)
		if err != nil {
			t.Fatal(err)
		}
		return u.Unix()
	}
	for _, tt := range []struct {
		t          *priceList
		from, to   string // UTC
		night, day string // hours of each in the 24 or so
	}{
		{local, "2026-07-01 22:00", "2026-07-02 06:00", "8h0m0s", "0s"},
		{local, "2026-12-01 23:00", "2026-12-02 07:00", "8h0m0s", "0s"},
		{local, "2026-12-01 22:00", "2026-12-02 06:00", "7h0m0s", "1h0m0s"},
		{utc, "2026-07-01 22:00", "2026-07-02 06:00", "7h0m0s", "1h0m0s"},
		{local, "2026-03-28 00:00", "2026-03-30 00:00", "16h0m0s", "32h0m0s"}, // the night is an hour short; its last hour is replaced by the next night's first
		{local, "2026-03-28 23:00", "2026-03-29 06:00", "7h0m0s", "0s"},       // the whole night the clocks go forward
		{local, "2026-10-24 22:00", "2026-10-25 07:00", "9h0m0s", "0s"},       // the whole night they go back
		{utc, "2026-10-24 23:00", "2026-10-25 07:00", "8h0m0s", "0s"},
	} {
		from, to := at(tt.from), at(tt.to)
		tl, err := tt.t.Timeline(london, from, to)
		if err != nil {
			t.Fatal(err)
		}
		var b bill
		var sum exact
		tl.spread(from, to, Energy(to-from)*1000, &b, &sum)
		hours := func(band string) string {
			for i, n := range tl.Bands {
				if n == band {
					return (time.Duration(b.Bands[i]) * time.Millisecond).String()
				}
			}
			return "none"
		}
		if hours("night") != tt.night || hours("day") != tt.day {
			t.Errorf("%s to %s UTC: night %s, day %s; want %s, %s", tt.from, tt.to, hours("night"), hours("day"), tt.night, tt.day)
		}
	}
}
