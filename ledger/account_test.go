package ledger

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"chargewright/job"

	"errors"
)

// accounted says why a line of a record went nowhere, or is empty: every line
// is head, blank, a session that is counted, or a note that is doubt, fault or
// repetition; and the energies add up.
func accounted(l *Ledger) string {
	l.Settle()
	for i, t := range l.Tallies {
		if !t.Complete() {
			return fmt.Sprintf("%+v does not add up", t)
		}
		if t.messages {
			continue
		}
		states := map[int]string{}
		l.Each(func(s *session) {
			if int(s.File) == i {
				states[int(s.Line)] = [...]string{"counted", "counted", "doubted", "twice"}[s.State]
			}
		})
		for _, n := range l.Notes {
			kind := map[Kind]string{Doubted: "doubted", SaidTwice: "twice", Faulty: "faulty"}[n.Kind]
			if n.File != t.File || kind == "" {
				continue
			}
			if kind == "faulty" {
				if states[n.Line] != "" {
					return fmt.Sprintf("line %d is faulty and %s", n.Line, states[n.Line])
				}
				states[n.Line] = kind
			}
			if states[n.Line] != kind {
				return fmt.Sprintf("line %d is noted as %s and is %q", n.Line, kind, states[n.Line])
			}
		}
		if len(states) != t.Lines-t.Blank-t.Head {
			return fmt.Sprintf("%d lines of %d are accounted for", len(states), t.Lines-t.Blank-t.Head)
		}
		noted := map[string]int{}
		for _, n := range l.Notes {
			if n.File == t.File {
				noted[n.Kind.String()]++
			}
		}
		if noted[Doubted.String()] != t.Doubted || noted[SaidTwice.String()] != t.SaidTwice || noted[Faulty.String()] != t.Faulty {
			return fmt.Sprintf("notes %v and tally %+v differ", noted, t)
		}
	}
	return ""
}

// safeError reports whether an error names the file, as every fault must.
func safeError(err error, file string) bool {
	var one job.Problem
	var many job.Problems
	return (errors.As(err, &one) || errors.As(err, &many)) && strings.HasPrefix(err.Error(), file)
}

var fuzzTariff = "what,band,from,to,value,unit\nenergy,night,00:30,05:30,9.5,p/kWh\nenergy,day,05:30,00:30,30,p/kWh\nVAT,,,,5,%\n"

// FuzzReadTable: whatever the record, nothing panics, no line is lost, no sum
// exceeds its parts.
func FuzzReadTable(f *testing.F) {
	for _, s := range []string{
		"start,stop,energy kWh,point,session\n2026-11-02 08:00,2026-11-02 10:00,12.5,A,1\n2026-11-02 08:00,2026-11-02 10:00,12.5,A,1\n",
		"start;stop;energy Wh\n25.10.2026 01:20;25.10.2026 01:50;4200\nNA;NA;NA\n\"x\n",
		"start,meter start kWh,meter stop kWh,point\n2026-03-29 01:30,1,2,A\n2026-03-29 03:30,3,2,A\n",
		"start,stop,energy kWh,point,length h,charging min,held back min,solar kWh\n2026-10-25 00:20,2026-10-25 03:20,5,A,4,60,1,7\n",
		"#\n\n", "", "start\n", "\xff\xfestart", "start,stop,energy kWh\n2026-11-02 08:00,2026-11-02 10:00,1e9\n2026-11-02 08:00,,1\n1970-01-01 00:00,,1\n",
		"start,start,energy kWh\n", "start,energy kWh\n0001-01-01 00:00,1\n9999-12-31 23:59,1\n",
	} {
		f.Add([]byte(s))
	}
	london := zone(f, "Europe/London")
	price := tariff(f, fuzzTariff)
	f.Fuzz(func(t *testing.T, text []byte) {
		l := newLedger(Settings{Zone: london, Made: time.Unix(1_795_600_000, 0), Ratings: map[string]Rating{"A": 7360}, Unit: "kWh"})
		if err := l.ReadTable("records.csv", bytes.NewReader(text)); err != nil {
			if !safeError(err, "records.csv") {
				t.Fatalf("%v", err)
			}
			return
		}
		if why := accounted(l); why != "" {
			t.Fatal(why)
		}
		st, err := l.Statement(wanted{By: []Key{ByMonth, ByPoint}, Tariff: price})
		if err != nil {
			t.Fatal(err)
		}
		if st.Total.Sessions != l.Tallies[0].Counted || st.Total.Energy != l.Tallies[0].EnergyCounted || st.Total.Least > st.Total.Cost || st.Total.Cost > st.Total.Most {
			t.Fatalf("total %+v of %+v", st.Total, l.Tallies[0])
		}
		if _, err := l.Compare(wanted{Tariff: price}, nil, schedule(t, "00:30-05:30")); err != nil {
			t.Fatal(err)
		}
		l.Health()
	})
}

func schedule(t testing.TB, text string) *chargeHours {
	t.Helper()
	s, err := readSchedule(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// FuzzReadMessages: whatever the messages, nothing panics and no line is lost.
func FuzzReadMessages(f *testing.F) {
	f.Add([]byte(messages16))
	f.Add([]byte(messages201))
	f.Add([]byte("[]\n{}\n[2,\"a\",\"StopTransaction\",{}]\n[3,\"a\",{}]\nnull\n{\"raw\":\"[2\"}\n"))
	london := zone(f, "Europe/London")
	f.Fuzz(func(t *testing.T, text []byte) {
		l := newLedger(Settings{Zone: london, Made: time.Unix(1_795_600_000, 0), Point: "A"})
		if err := l.ReadMessages("messages.jsonl", bytes.NewReader(text)); err != nil {
			t.Fatal(err)
		}
		if why := accounted(l); why != "" {
			t.Fatal(why)
		}
		if _, err := l.Statement(wanted{By: []Key{ByMonth}, Tariff: tariff(t, fuzzTariff)}); err != nil {
			t.Fatal(err)
		}
	})
}

// FuzzReadData: tariffs, rates, factors, journeys, cards, meters and
// inspections either read or say file and line.
func FuzzReadData(f *testing.F) {
	for _, s := range []string{fuzzTariff, "starting,p/kWh\n2026-10-25T00:30:00Z,21.4\n2026-10-25 01:30,-3.2\n", "valid from,valid until,pence a mile,source,confidence\n2026-01-01,2025-01-01,7,s,c\n",
		"date,miles\n2026-01-01,3\n", "card,person,vehicle,cost centre\nA,B,C,D\n", "time,register kwh\n2026-01-01 00:00,5\n", "what,about,last done,every months,source,confidence\nx,y,2026-01-31,1,s,c\n", "starting,kwh\n2026-10-25 01:30,1\n"} {
		f.Add([]byte(s))
	}
	london := zone(f, "Europe/London")
	f.Fuzz(func(t *testing.T, text []byte) {
		open := func() *bytes.Reader { return bytes.NewReader(text) }
		s := Settings{Zone: london}
		tr, e1 := readPriceList("data.csv", "t", open())
		if e1 == nil {
			if _, err := tr.Timeline(london, 1_772_323_200, 1_773_000_000); err != nil && !safeError(err, "data.csv") {
				t.Fatal(err)
			}
		}
		_, e2 := readMileageRates("data.csv", open())
		_, e3 := readFactors("data.csv", open())
		_, e4 := readJourneys("data.csv", open())
		_, e5 := readCards("data.csv", open())
		_, e6 := readSiteMeter("data.csv", open(), s)
		due, e7 := readInspections("data.csv", open())
		if e7 == nil {
			due.Due(20000)
		}
		_, e8 := readSurplus("data.csv", open(), s)
		for _, err := range []error{e1, e2, e3, e4, e5, e6, e7, e8} {
			if err != nil && !safeError(err, "data.csv") {
				t.Fatalf("%v", err)
			}
		}
	})
}
