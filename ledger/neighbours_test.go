package ledger

import (
	"math/rand"
	"os"
	"strings"
	"testing"
)

// TestNeighbours: what sessions of one point say about each other.
func TestNeighbours(t *testing.T) {
	for _, tt := range []struct {
		name, rows       string
		counted, doubted int
		twice            int
		note             string // said on one of the lines
	}{
		{"said twice", "1,A,08:00,10:00,0,12,12\n1,A,08:00,10:00,0,12,12\n", 1, 0, 1, "the same session as records.csv:2"},
		{"said twice under another number", "1,A,08:00,10:00,0,12,12\n2,A,08:00,10:00,0,12,12\n", 1, 0, 1, "the same session"},
		{"first said while it ran", "1,A,08:00,,,,5\n1,A,08:00,10:00,0,12,12\n", 1, 0, 1, "records.csv:3, counted there"},
		{"one number, two stories", "1,A,08:00,10:00,0,12,12\n1,A,12:00,14:00,12,20,8\n", 0, 2, 0, "same identifier"},
		{"one number on two points", "1,A,08:00,10:00,0,12,12\n1,B,12:00,14:00,12,20,8\n", 2, 0, 0, ""},
		{"two at once", "1,A,08:00,10:00,,,12\n2,A,09:00,11:00,,,8\n", 0, 2, 0, "at the same time"},
		{"two at once on two points", "1,A,08:00,10:00,,,12\n2,B,09:00,11:00,,,8\n", 2, 0, 0, ""},
		{"a late stop, registers that follow on", "1,A,08:00,10:00,0,6,6\n2,A,09:00,11:00,6,14,8\n", 2, 0, 0, "the stop is taken as"},
		{"one within another", "1,A,08:00,16:00,,,12\n2,A,09:00,10:00,,,3\n3,A,11:00,12:00,,,3\n", 0, 3, 0, "at the same time"},
		{"a minute shared, times to the minute", "1,A,08:00,10:00,,,12\n2,A,09:59,11:00,,,7\n", 2, 0, 0, ""},
		{"a meter changed in between", "1,A,08:00,10:00,500,512,12\n2,A,10:30,11:30,0,7,7\n", 2, 0, 0, "changed in between"},
		{"no stop, next session soon", "1,A,08:00,,,,60\n2,A,09:00,10:00,,,7\n", 1, 1, 0, "exceeds"},
		{"no stop, room enough", "1,A,08:00,,,,6\n2,A,09:00,10:00,,,7\n", 2, 0, 0, "the time is not"},
		{"register in place of energy", "1,A,08:00,,,9,9\n", 0, 1, 0, "register itself"},
		{"more than the point can", "1,A,08:00,10:00,,,17\n", 0, 1, 0, "exceeds the 14.72 kWh"},
		{"as much as the point can, voltage high", "1,A,08:00,10:00,,,16.2\n", 1, 0, 0, ""},
		{"below nothing", "1,A,08:00,10:00,,,-3\n", 0, 1, 0, "negative"},
		{"nothing delivered", "1,A,08:00,10:00,5,5,0\n", 1, 0, 0, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var rows strings.Builder
			rows.WriteString("session,point,start,stop,meter start kWh,meter stop kWh,energy kWh\n")
			for _, row := range strings.Split(strings.TrimSpace(tt.rows), "\n") {
				f := strings.Split(row, ",")
				for _, i := range []int{2, 3} {
					if f[i] != "" {
						f[i] = "2026-11-02 " + f[i]
					}
				}
				rows.WriteString(strings.Join(f, ",") + "\n")
			}
			l := read(t, Settings{Ratings: map[string]Rating{"": 7360}}, rows.String())
			if why := accounted(l); why != "" {
				t.Error(why)
			}
			tally, all := l.Tallies[0], ""
			for _, n := range l.Notes {
				all += n.String() + "\n"
			}
			if tally.Counted != tt.counted || tally.Doubted != tt.doubted || tally.SaidTwice != tt.twice || !strings.Contains(all, tt.note) {
				t.Errorf("%d counted, %d doubtful, %d said twice; want %d, %d, %d and %q in\n%s", tally.Counted, tally.Doubted, tally.SaidTwice, tt.counted, tt.doubted, tt.twice, tt.note, all)
			}
		})
	}
}

// TestOrderOfLinesDoesNotMatter: a record read in any order comes to the same.
func TestOrderOfLinesDoesNotMatter(t *testing.T) {
	text, err := os.ReadFile("../examples/bakery/sessions.csv")
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Split(strings.TrimSpace(string(text)), "\n")
	head, body := all[2], all[3:]
	random := rand.New(rand.NewSource(3))
	var first Tally
	for i := range 20 {
		l := read(t, Settings{Ratings: map[string]Rating{"CP1": 7400}}, head+"\n"+strings.Join(body, "\n")+"\n")
		if why := accounted(l); why != "" {
			t.Fatal(why)
		}
		if i == 0 {
			first = l.Tallies[0]
		}
		if l.Tallies[0] != first {
			t.Fatalf("in another order\n%s\nfirst\n%s", l.Tallies[0], first)
		}
		random.Shuffle(len(body), func(i, j int) { body[i], body[j] = body[j], body[i] })
	}
}
