package ledger

import (
	"compress/gzip"
	"os"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// apartments reads the published records of the apartment buildings.
func apartments(t testing.TB) *Ledger {
	t.Helper()
	f, err := os.Open("testdata/apartments.csv.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	l := newLedger(Settings{Zone: zone(t, "Europe/Oslo"), Columns: map[string]string{
		"start": "Start_plugin", "stop": "End_plugout", "energy": "El_kWh", "length": "Duration_hours", "session": "session_ID", "person": "User_ID", "cost centre": "Garage_ID"}})
	if err := l.ReadTable("apartments.csv", text); err != nil {
		t.Fatal(err)
	}
	l.Settle()
	return l
}

// TestApartmentsAgreeWithTheArticle: Data in Brief 36 (2021) 107105, abstract:
// 6,878 sessions, 97 users. The sums by month were counted from the same file
// by a separate program (awk), to 0.005 kWh.
func TestApartmentsAgreeWithTheArticle(t *testing.T) {
	l := apartments(t)
	if n := l.count(); n != 6878 {
		t.Errorf("%d sessions, want 6878 as published", n)
	}
	people := map[name]bool{}
	months := map[string]Energy{}
	l.Each(func(s *session) {
		people[s.Person] = true
		months[l.keyText(ByMonth, int64(l.clock.Wall(s.Start).Month()))] += s.Energy
	})
	if len(people) != 97 || people[0] {
		t.Errorf("%d users, want 97 as published", len(people))
	}
	want := map[string]Energy{"2018-12": 151_140_000, "2019-01": 1_229_960_000, "2019-02": 1_528_420_000, "2019-03": 3_539_820_000, "2019-04": 3_175_910_000, "2019-05": 3_451_670_000, "2019-06": 3_819_440_000,
		"2019-07": 3_323_960_000, "2019-08": 5_626_930_000, "2019-09": 7_507_080_000, "2019-10": 10_821_100_000, "2019-11": 14_091_950_000, "2019-12": 13_672_400_000, "2020-01": 15_553_500_000}
	for month, e := range want {
		if abs(months[month]-e) > 5000 {
			t.Errorf("%s: %s, want %s", month, months[month].Exact(), e.Exact())
		}
	}
	if len(months) != len(want) {
		t.Errorf("%d months, want %d", len(months), len(want))
	}
	tally := l.Tallies[0]
	if !tally.Complete() || tally.Counted+tally.Doubted != 6878 || tally.EnergyCounted+tally.EnergyDoubted != 87_493_280_000 {
		t.Errorf("counted and doubted together are %+v, want 6878 sessions and 87493.28 kWh", tally)
	}
}

// TestApartmentsTraps: the traps of the same set, counted from the file: 34
// sessions without plug-out, 17 over the night of 27 October 2019 whose length
// is an hour more than the clock times say, 5 in June 2019 whose length is two
// hours less; and 6 over the night of 31 March 2019 whose length is what the
// clock times differ by, though the clocks went forward. All three fit a record
// kept in UTC up to about 22 June 2019 and in local time from then on.
func TestApartmentsTraps(t *testing.T) {
	l := apartments(t)
	unsaid, back, forward, queried := 0, 0, 0, 0
	for _, n := range l.Notes {
		switch {
		case n.Kind == Noticed && n.Field == "stop":
			unsaid++
		case n.Kind == Noticed && n.Field == "length" && strings.Contains(n.Text, "clocks changed"):
			back++
			if s := l.at(uint32(n.Line - 2)); !strings.HasPrefix(l.when(s.Start), "2019-10-2") {
				t.Errorf("line %d: %s", n.Line, n)
			}
		case n.Kind == Corrected && n.Field == "length":
			forward++
			if s := l.at(uint32(n.Line - 2)); !strings.HasPrefix(l.when(s.Start), "2019-03-30") {
				t.Errorf("line %d: %s", n.Line, n)
			}
		case n.Kind == Doubted && n.Field == "length":
			queried++
			if s := l.at(uint32(n.Line - 2)); !strings.HasPrefix(l.when(s.Start), "2019-06-2") {
				t.Errorf("line %d is doubted: %s", n.Line, n)
			}
		case n.Kind == Doubted:
			t.Errorf("%s", n)
		}
	}
	if unsaid != 34 || back != 17 || forward != 6 || queried != 5 {
		t.Errorf("%d without a stop, %d over the night the clocks went back, %d over the night they went forward, %d with a length that disagrees; want 34, 17, 6, 5", unsaid, back, forward, queried)
	}
	st, err := l.Statement(wanted{By: []Key{ByCentre, ByMonth}})
	if err != nil {
		t.Fatal(err)
	}
	centres, bl2 := map[string]bool{}, Energy(0)
	for _, line := range st.Lines {
		centres[line.Keys[0]] = true
		if line.Keys[0] == "Bl2" {
			bl2 += line.Energy
		}
	}
	for _, n := range l.OfKind(Doubted) {
		if l.Name(l.at(uint32(n.Line-2)).Centre) == "Bl2" {
			bl2 += n.Energy
		}
	}
	if len(centres) != 24 || bl2 != 27_046_920_000 {
		t.Errorf("%d garages, Bl2 %s kWh; want 24 and 27046.92", len(centres), bl2.Exact())
	}
}

// read reads a table from text.
func read(t testing.TB, s Settings, text string) *Ledger {
	t.Helper()
	if s.Zone == nil {
		s.Zone = zone(t, "Europe/London")
	}
	l := newLedger(s)
	if err := l.ReadTable("records.csv", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	l.Settle()
	return l
}

func tariff(t testing.TB, text string) *priceList {
	t.Helper()
	out, err := readPriceList("tariff.csv", "tariff", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return out
}
