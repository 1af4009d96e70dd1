package ledger

import (
	"strings"
	"testing"
)

// TestWhatIf: a session of 14.72 kWh at 7.36 kW takes two hours. From 18:00 on
// they cost 30 p; moved to 01:00 they cost 10 p. The figures are arithmetic.
func TestWhatIf(t *testing.T) {
	night := tariff(t, "what,band,from,to,value,unit\nenergy,night,00:30,05:30,10,p/kWh with VAT\nenergy,day,05:30,00:30,30,p/kWh with VAT\n")
	settings := Settings{Ratings: map[string]Rating{"A": 7360}}
	compare := func(text, when string) *Comparison {
		c, err := read(t, settings, text).Compare(wanted{Tariff: night}, nil, schedule(t, when))
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	c := compare("start,stop,energy kWh,charging min,point\n2026-11-02 18:00,2026-11-03 07:00,14.72,120,A\n", "01:00-06:00")
	if c.Now.String() != "£4.42" || c.Then.String() != "£1.47" || c.Saving.String() != "£2.94" || c.DoNotFit != 0 {
		t.Errorf("now %s, then %s, saving %s, %d do not fit; want £4.42, £1.47, £2.94, 0", c.Now, c.Then, c.Saving, c.DoNotFit)
	}
	if c.Least > c.Saving || c.Most < c.Saving || c.Least > 0 {
		t.Errorf("saving from %s to %s: it may have been charged at night already", c.Least, c.Most)
	}
	c = compare("start,stop,energy kWh,charging min,point\n2026-11-02 18:00,2026-11-03 02:00,14.72,120,A\n", "01:00-06:00")
	if c.DoNotFit != 1 || c.Outside != 7_360_000 || c.Then.String() != "£2.94" {
		t.Errorf("one hour of the schedule before it leaves: %d do not fit, %s outside, %s; want 1, 7.36 kWh, £2.94", c.DoNotFit, c.Outside, c.Then)
	}
	c = compare("start,stop,energy kWh,charging min,point\n2026-11-02 18:00,2026-11-02 21:00,14.72,120,A\n", "01:00-06:00")
	if c.Saving != 0 || c.DoNotFit != 1 {
		t.Errorf("gone before the schedule begins: saving %s, %d do not fit; want none, 1", c.Saving, c.DoNotFit)
	}
	c = compare("start,stop,energy kWh,point\n2026-11-02 18:00,,14.72,A\n", "01:00-06:00")
	if c.LeftOut != 1 || c.Sessions != 0 {
		t.Errorf("a session without a stop: %d compared, %d left out; want 0, 1", c.Sessions, c.LeftOut)
	}
	for _, text := range []string{"", "23:00", "23:00-25:00", "Funday 23:00-07:00", "23:00-07:00,"} {
		if _, err := readSchedule(text); err == nil {
			t.Errorf("ReadSchedule(%q) is taken", text)
		}
	}
}

// TestWhatIfStaysWithinTheStay: the energy of the week is that of the sessions,
// whatever the schedule.
func TestWhatIfStaysWithinTheStay(t *testing.T) {
	l := apartments(t)
	flat := tariff(t, "what,value,unit\nenergy,20,p/kWh\n")
	c, err := l.Compare(wanted{Tariff: flat}, nil, schedule(t, "Mon-Fri 23:00-07:00, Sat-Sun 00:00-24:00"))
	if err != nil {
		t.Fatal(err)
	}
	if c.Now != c.Then || c.Saving != 0 || c.Least != 0 || c.Most != 0 {
		t.Errorf("at one price a schedule saves %s (%s to %s), want nothing", c.Saving, c.Least, c.Most)
	}
	sum := func(w meanWeek) (e Energy) {
		for _, d := range w.Energy {
			for _, h := range d {
				e += h
			}
		}
		return e
	}
	if a, b := sum(c.WeekNow), sum(c.WeekThen); abs(a-b) > KWh/100 {
		t.Errorf("a mean week holds %s now and %s then", a, b)
	}
}

// TestSolarShare: a half-hour's surplus is shared by what each drew, and nobody
// takes more than that.
func TestSolarShare(t *testing.T) {
	l := read(t, Settings{}, "start,stop,energy kWh,point\n2026-06-01 12:00,2026-06-01 12:30,3,A\n2026-06-01 12:00,2026-06-01 12:30,1,B\n2026-06-01 13:00,2026-06-01 13:30,2,A\n2026-06-01 14:00,2026-06-01 14:30,2,A\n")
	sp, err := readSurplus("surplus.csv", strings.NewReader("starting,kWh\n2026-06-01 12:00,2\n2026-06-01T12:00:00Z,5\n"), l.Settings)
	if err != nil {
		t.Fatal(err)
	}
	st, err := l.Statement(wanted{By: []Key{ByPoint}, Surplus: sp})
	if err != nil {
		t.Fatal(err)
	}
	// 12:00 BST: 2 of 4 kWh, so A 1.5 and B 0.5; 13:00 BST: all 2; 14:00: not known.
	a, b := st.Lines[0].Sum, st.Lines[1].Sum
	if a.Solar != 3_500_000 || a.SolarOf != 5*KWh || b.Solar != 500_000 {
		t.Errorf("A %s of %s, B %s; want 3.5 of 5 kWh and 0.5 kWh", a.Solar, a.SolarOf, b.Solar)
	}
}

// TestHalfHours: prices by half-hour, through the night the clocks go back; a
// half-hour without a price leaves the session unpriced.
func TestHalfHours(t *testing.T) {
	prices := tariff(t, "starting,p/kWh\n2026-10-25T00:00:00Z,10\n2026-10-25T00:30:00Z,20\n2026-10-25T01:00:00Z,-5\n2026-10-25T01:30:00Z,40\n2026-10-25T02:30:00Z,1\n")
	l := read(t, Settings{}, "start,stop,energy kWh,point\n2026-10-25T00:15:00Z,2026-10-25T01:15:00Z,4,A\n2026-10-25T01:45:00Z,2026-10-25T02:15:00Z,4,A\n")
	st, err := l.Statement(wanted{By: []Key{ByDay}, Tariff: prices})
	if err != nil {
		t.Fatal(err)
	}
	// 1 kWh at 10, 2 at 20, 1 at −5 p.
	if st.Total.Cost != 45*Penny || st.Total.Unpriced != 1 {
		t.Errorf("cost %s, %d not priced; want £0.45 and 1", st.Total.Cost, st.Total.Unpriced)
	}
	if st.Total.Least != -5*4*Penny || st.Total.Most != 80*Penny {
		t.Errorf("from %s to %s; want −£0.20 to £0.80: without a rating all of it may have flowed in any of its half-hours", st.Total.Least, st.Total.Most)
	}
}

// TestTariffFaults: every fault is named with its line.
func TestTariffFaults(t *testing.T) {
	for text, want := range map[string]string{
		"what,value,unit\nenergy,cheap,p/kWh\n":                                          "tariff.csv:2: value is \"cheap\"",
		"what,value,unit\nenergy,9.12345,p/kWh\n":                                        "tariff.csv:2",
		"what,value,unit\nenergy,9,€/kWh\n":                                              "p/kWh",
		"what,value,unit\nenergy,9,p/kWh\nenergy,9,p/kWh with VAT\n":                     "tariff.csv:3",
		"what,from,value,unit\nenergy,25:00,9,p/kWh\n":                                   "time of day",
		"what,valid from,valid until,value,unit\nenergy,2026-05-01,2026-04-01,9,p/kWh\n": "before",
		"price\n1\n":                           "tariff.csv:1",
		"starting,p/kWh\n2026-01-01 00:10,5\n": "half-hour",
		"what,value,unit\nVAT,5,%\nVAT,20,%\nenergy,1,p/kWh\n": "line 2",
		"": "head",
		"what,valid from,valid until,days,from,to,clock,value,unit\nenergy,,,Mon-Fry,,,,9,p/kWh\nenergy,,,,,,noon,9,p/kWh\n": "tariff.csv:3",
	} {
		if _, err := readPriceList("tariff.csv", "t", strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want it to say %q", text, err, want)
		}
	}
	two := tariff(t, "what,from,to,value,unit\nenergy,00:00,12:00,9,p/kWh\nenergy,11:00,24:00,9,p/kWh\n")
	if _, err := two.Timeline(zone(t, "Europe/London"), 1_772_323_200, 1_772_400_000); err == nil || !strings.Contains(err.Error(), "tariff.csv:3") || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("two prices at once: %v", err)
	}
}
