package demand

import (
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones, wherever the test runs

	"chargewright/quantity"
)

func unzipped(t testing.TB, file string) []byte {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// household is the recording of UCI data set 235, two days at one minute.
func household(t testing.TB) *Log {
	t.Helper()
	l, err := ReadLog("household", unzipped(t, "household_1min.csv.gz"), Columns{Date: "Date", Clock: "Time", Current: [3]string{"Global_intensity"}}, Setting{Zone: time.UTC, Volts: 230, Phases: 1})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestHousehold: UCI data set 235; figures counted from the file by hand.
func TestHousehold(t *testing.T) {
	l := household(t)
	_, peak := l.Greatest()
	if len(l.Values) != 2880 || l.Step != time.Minute || l.Gaps != 0 || peak.Current != 28.4 || peak.At.Format("2/1/2006 15:04") != "2/7/2007 21:58" {
		t.Errorf("%d values every %v, %d gaps, %v at %v: want 2880 every minute, none, 28.4 A at 2/7/2007 21:58", len(l.Values), l.Step, l.Gaps, peak.Current, peak.At)
	}
	p, err := ReadLog("household", unzipped(t, "household_1min.csv.gz"), Columns{Date: "Date", Clock: "Time", Power: "Global_active_power"}, Setting{Zone: time.UTC, Volts: 230, Phases: 1})
	if err != nil {
		t.Fatal(err)
	}
	if kwh := float64(p.Energy(230)) / 1000; math.Abs(kwh-33.228) > 0.0015 {
		t.Errorf("energy %.4f kWh, want 33.228", kwh)
	}
}

// TestHouseholdWithAPoint: the recorded 28.4 A and a 32 A point pass a 60 A
// cut-out, so with this very data a limiter must act; and with it, fill.
func TestHouseholdWithAPoint(t *testing.T) {
	run := func(c *limiterControl) *Result {
		site, err := household(t).Site(time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		return mustRun(t, &runSetup{Start: monday, Step: time.Minute, Length: 48 * time.Hour, Volts: 230, Site: site, Control: c,
			Bays:   []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}},
			Visits: booked{{{Arrive: 0, Leave: 48 * 3600, Needs: 1e6, Most: 32, Phases: 1}}}})
	}
	free := run(nil)
	if math.Abs(float64(free.Peak[0])-60.4) > 1e-9 || free.Above(0, 60) < 60 {
		t.Errorf("without a limiter the peak is %v, want 60.4 A", free.Peak[0])
	}
	c := quick()
	c.Limit, c.Error = 60, 0
	held := run(&c)
	if held.Peak[0] > 60 || held.Bays[0].Held < 60 {
		t.Errorf("with a limiter the peak is %v, held for %v", held.Peak[0], held.Bays[0].Held)
	}
	if held.Points >= free.Points || held.Points < free.Points*99/100 {
		t.Errorf("the limiter left %v of %v: it had to act for a minute or so", held.Points.WattHours(), free.Points.WattHours())
	}
}

// TestBuildings: Cambridge University Estates archive, 2019; figures counted
// from the file by hand.
func TestBuildings(t *testing.T) {
	text := unzipped(t, "buildings_hourly.csv.gz")
	for _, tt := range []struct {
		building string
		year     float64 // kWh
		largest  float64 // kWh in an hour
		when     string
		zeros    int
		doubt    string
	}{
		{"b57", 166347.1, 67.8, "2019-06-14 09:00", 0, ""},
		{"b63", 116003.8, 49.6, "2019-01-24 12:00", 0, ""},
		{"b94", 371116.0, 77.0, "2019-10-27 02:00", 0, "clocks went back"},
		{"b119", 193129.1, 51.6, "2019-07-25 16:00", 22, ""},
	} {
		l, err := ReadLog("buildings", text, Columns{Time: "datetime", Energy: "UCam_Building_" + tt.building + "_kwh"}, Setting{Zone: time.UTC, Local: zone(t, "Europe/London"), Volts: 230, Phases: 3})
		if err != nil {
			t.Fatal(err)
		}
		_, peak := l.Greatest()
		if got := float64(l.Energy(230)) / 1000; math.Abs(got-tt.year) > 0.5 {
			t.Errorf("%s: %.1f kWh in the year, want %.1f", tt.building, got, tt.year)
		}
		if want := quantity.Amperes(tt.largest * 1000 / 690); math.Abs(float64(peak.Current-want)) > 0.001 {
			t.Errorf("%s: largest %v, want %v", tt.building, peak.Current, want)
		}
		if got := peak.At.UTC().Format("2006-01-02 15:04"); got != tt.when {
			t.Errorf("%s: largest at %s, want %s", tt.building, got, tt.when)
		}
		if l.Zeros != tt.zeros {
			t.Errorf("%s: %d hours of exactly 0, want %d", tt.building, l.Zeros, tt.zeros)
		}
		if (tt.doubt == "") != (peak.Question == "") || !strings.Contains(peak.Question, tt.doubt) {
			t.Errorf("%s: question %q, want one about %q", tt.building, peak.Question, tt.doubt)
		}
	}
}

// sessions reads the charging sessions of Data in Brief 36 (2021) 107105.
func sessions(t testing.TB) (rows [][]string, column map[string]int) {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(unzipped(t, "sessions.csv.gz")))
	r.Comma = ';'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column = map[string]int{}
	for i, h := range rows[0] {
		column[h] = i
	}
	return rows[1:], column
}

// TestRecordedSessions drives a run with the recorded sessions of the largest
// garage: published, 6,878 sessions and 97 users; counted by hand, 2,243
// sessions and 27,046.92 kWh in garage Bl2. What was delivered and what was
// short make up what was wanted, to the joule.
func TestRecordedSessions(t *testing.T) {
	rows, col := sessions(t)
	users := map[string]bool{}
	first := time.Date(2018, 12, 21, 0, 0, 0, 0, time.UTC)
	byUser := map[string]int{}
	var book booked
	var bays []bayFacts
	all, garage, wanted, skipped := 0.0, 0.0, int64(0), 0
	n, visits := 0, 0
	const step = 5 * time.Minute
	quantum := int64(230 * 300)
	for _, r := range rows {
		users[r[col["User_ID"]]] = true
		kwh, err := strconv.ParseFloat(strings.Replace(r[col["El_kWh"]], ",", ".", 1), 64)
		if err != nil {
			t.Fatal(err)
		}
		all += kwh
		if r[col["Garage_ID"]] != "Bl2" {
			continue
		}
		n++
		garage += kwh
		in, err1 := time.Parse("02.01.2006 15:04", r[col["Start_plugin"]])
		out, err2 := time.Parse("02.01.2006 15:04", r[col["End_plugout"]])
		user := r[col["User_ID"]]
		i, known := byUser[user]
		if !known {
			i = len(bays)
			byUser[user] = i
			bays = append(bays, bayFacts{Name: user, On: [3]bool{true, true, true}, Most: 32, Least: 6})
			book = append(book, nil)
		}
		v := vehicleVisit{Arrive: quantity.Seconds(in.Sub(first).Seconds()), Leave: quantity.Seconds(out.Sub(first).Seconds()), Needs: quantity.WattHours(kwh * 1000), Most: 32, Phases: 3}
		if err1 != nil || err2 != nil || !out.After(in.Add(step)) || len(book[i]) > 0 && v.Arrive < book[i][len(book[i])-1].Leave+300 {
			skipped++ // no end, too short for a step, or two at once
			continue
		}
		visits++
		q := quantum * 3
		wanted += (int64(math.Round(float64(v.Needs)*3.6e6)) + q - 1) / q * q
		book[i] = append(book[i], v)
	}
	if len(rows) != 6878 || len(users) != 97 || n != 2243 || math.Abs(garage-27046.92) > 0.005 || math.Abs(all-87493.28) > 0.005 {
		t.Fatalf("%d sessions, %d users, %.2f kWh; garage %d sessions, %.2f kWh", len(rows), len(users), all, n, garage)
	}
	if mean := all / float64(len(rows)) * 1000; math.Abs(mean-float64(homeFleet.Needs)) > 5 {
		t.Errorf("a session is %.0f Wh on average, the home fleet takes %v", mean, homeFleet.Needs)
	}
	c := quick()
	c.Limit, c.Sharing = 80, "by departure"
	r := mustRun(t, &runSetup{Start: first, Step: step, Length: 410 * 24 * time.Hour, Volts: 230, Site: Steady{20, 20, 20}, Bays: bays, Visits: book, Control: &c})
	short := millijoules(0)
	for _, b := range r.Bays {
		short += b.Short
	}
	if _, of := r.NotFull(); of != visits {
		t.Errorf("%d vehicles came, %d were booked (%d left out)", of, visits, skipped)
	}
	if int64(r.Points+short) != wanted {
		t.Errorf("delivered %d mJ, short %d, wanted %d", r.Points, short, wanted)
	}
	if r.Peak.Greatest() > 80 {
		t.Errorf("peak %v above the limit", r.Peak)
	}
	if float64(short) > 0.05*float64(wanted) {
		t.Errorf("%v short of %v wanted", short.WattHours(), millijoules(wanted).WattHours())
	}
}

// TestGapsAndResets: a register that is changed, a reading that is missing.
func TestGapsAndResets(t *testing.T) {
	text := `# invented
time;register kWh
2026-01-01 00:00;100,0
2026-01-01 00:30;101,0
2026-01-01 01:00;102,5
2026-01-01 01:30;NA
2026-01-01 02:00;104,5
2026-01-01 02:30;0,5
2026-01-01 03:00;1,5
`
	l, err := ReadLog("meter.csv", []byte(text), Columns{}, Setting{Zone: time.UTC, Volts: 230, Phases: 1})
	if err != nil {
		t.Fatal(err)
	}
	want := "[true true false false false true]"
	if got := fmt.Sprint(l.Known); got != want || l.Resets != 1 || l.Gaps != 3 {
		t.Errorf("known %s, %d resets, %d gaps: want %s, 1, 3", got, l.Resets, l.Gaps, want)
	}
	// 1.5 kWh in a half-hour is 3 kW, 13.04 A at 230 V.
	if _, peak := l.Greatest(); math.Abs(float64(peak.Current)-13.043) > 0.001 {
		t.Errorf("greatest %v, want 13.04 A", peak.Current)
	}
	notes := strings.Join(l.Notes, "\n")
	for _, want := range []string{"went back 1 time ", "3 of 6 intervals are missing", "mean over 30 min"} {
		if !strings.Contains(notes, want) {
			t.Errorf("notes do not say %q:\n%s", want, notes)
		}
	}
}

// TestClocksGoBack: in London, 01:30 comes twice on 25 October 2026, and the
// hour from 01:00 on 29 March does not come at all.
func TestClocksGoBack(t *testing.T) {
	text := "time,L1 A\n2026-10-25 00:30,1\n2026-10-25 01:00,2\n2026-10-25 01:30,3\n2026-10-25 01:00,4\n2026-10-25 01:30,5\n2026-10-25 02:00,6\n"
	l, err := ReadLog("autumn.csv", []byte(text), Columns{}, Setting{Zone: zone(t, "Europe/London"), Phases: 1})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range l.Values {
		if v[0] != int64(i+1)*1000 {
			t.Errorf("value %d is %d", i, v[0])
		}
	}
	if len(l.Values) != 6 || l.Gaps != 0 {
		t.Errorf("%d values, %d gaps: want 6 and none", len(l.Values), l.Gaps)
	}
	text = "time,L1 A\n2026-03-29 00:00,1\n2026-03-29 00:30,2\n2026-03-29 02:00,3\n2026-03-29 02:30,4\n"
	if l, err = ReadLog("spring.csv", []byte(text), Columns{}, Setting{Zone: zone(t, "Europe/London"), Phases: 1}); err != nil || len(l.Values) != 4 {
		t.Errorf("spring: %v, %v", l, err)
	}
}

func TestBadFilesAreNamed(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", "x.csv:1: a line of headings is wanted"},
		{"when,L1 A\n1,2\n", "x.csv:1: no column is headed time or date"},
		{"time,thing\n2026-01-01 00:00,2\n", "x.csv:1: no heading names a line (L1, L2, L3) or a unit"},
		{"time,L1 A\n2026-01-01 00:00,2\nyesterday,3\n", `x.csv:3: time: "yesterday" is no time`},
		{"time,L1 A\n2026-01-01 00:00,2\n2026-01-01 00:30,lots\n", `x.csv:3: L1 A: "lots" is no number`},
		{"time,L1 A\n2026-01-01 00:00,2\n", "x.csv:2: two readings at least"},
		{"time,kWh day,kWh night\n2026-01-01 00:00,2,3\n", "name the column that holds the energy"},
	} {
		_, err := ReadLog("x.csv", []byte(tt.text), Columns{}, Setting{Volts: 230, Phases: 1})
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("ReadLog(%q) = %v, want %q", tt.text, err, tt.want)
		}
	}
	_, err := ReadLog("x.csv", []byte("time,L1 A\n2026-01-01 00:00,2\n"), Columns{Energy: "use"}, Setting{})
	if err == nil || !strings.Contains(err.Error(), `x.csv:1: head of the table is "use": no column is headed so for the energy; the headings are time, L1 A`) {
		t.Errorf("an unknown heading: %v", err)
	}
}

func FuzzReadLog(f *testing.F) {
	for _, s := range []string{"time,L1 A\n2026-01-01 00:00,2\n2026-01-01 00:30,3\n", "date;time;kWh\n1/1/2026;00:00;1,5\n1/1/2026;00:30;NA\n1/1/2026;01:00;2\n", "time,register\n2026-01-01 00:00,5\n2026-01-01 00:30,3\n", "\"", "time,L1,L1\n2026-01-01,,\n", "time,kW\n9999-01-01,1\n0001-01-01,2"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := ReadLog("fuzz", text, Columns{}, Setting{Zone: time.UTC, Volts: 230, Phases: 3})
		if err != nil {
			if !strings.HasPrefix(err.Error(), "fuzz") {
				t.Errorf("the error does not name the file: %v", err)
			}
			return
		}
		if len(l.Values) != len(l.Known) || len(l.Values) == 0 {
			t.Fatalf("%d values, %d known", len(l.Values), len(l.Known))
		}
		known := 0
		for _, k := range l.Known {
			if k {
				known++
			}
		}
		if known+l.Gaps != len(l.Known) {
			t.Fatalf("%d known and %d missing of %d", known, l.Gaps, len(l.Known))
		}
		l.Greatest()
		l.HalfHours()
		if _, err := l.Site(l.Step); err != nil {
			t.Fatal(err)
		}
		_ = l.String()
	})
}
