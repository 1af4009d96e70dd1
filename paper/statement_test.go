package paper

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
)

// TestStatement: every text that goes in is on a page, and none leaves it.
func TestStatement(t *testing.T) {
	s := &Statement{Place: "Invented bakery", Period: "2026-09-01 to 2026-11-30", Invented: true, Made: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC), By: "month and person",
		Head: []string{"month", "person", "cost, £"}, Right: []bool{false, false, true}, Rows: [][]string{{"2026-09", "B. Baker", "31.18"}, {"2026-10", "D. Driver", "145.57 + 1 not priced"}}, Total: []string{"total", "", "176.75"},
		Below: [][2]string{{"standing charge", "£47.41"}}, Rules: []string{"Rounded half up."}, Sources: []string{"invented for show"},
		Sessions: StatementSessions{Head: []string{"line", "cost, £"}, Right: []bool{true, true}, Rows: [][]string{{"77", "3.7252"}}, Left: 9},
		Records:  []StatementRecord{{"sessions.csv", "102", "81", "13", "1", "4", "3"}},
		Noted:    []StatementNotes{{Heading: "Doubtful, not counted", Rows: [][2]string{{"16", "energy is doubtful"}}, Left: 7}},
		Compared: []document.Fact{{What: "saving", Value: "£2.94"}}, Weeks: []drawing.Scene{drawing.Week("week", "A week", drawing.WeekData{}, 0)},
		Claim:    &StatementClaim{Head: []string{"person", "amount, £"}, Right: []bool{false, true}, Rows: [][]string{{"B. Baker", "13.46"}}, Total: "£13.46", Unrated: []string{"line 7: no rate"}},
		Findings: []finding.Finding{{Clause: finding.Clause{Name: "common practice, no source"}, Subject: "point CP1", What: "delivers its power", Next: "prove dead"}}}
	var all strings.Builder
	for _, page := range s.document().Pages() {
		for _, text := range page.Scene.Texts() {
			if left, top, right, bottom := text.Box(); left < 0 || top < 0 || right > page.Scene.Width || bottom > page.Scene.Height {
				t.Errorf("%q leaves the page", text.Text)
			}
			all.WriteString(text.Text + " ")
		}
	}
	for _, want := range []string{"Charging statement", "Invented bakery", "invented", "B. Baker", "145.57 + 1 not priced", "176.75", "£47.41", "Rounded half up", "invented for show", "102", "energy is doubtful", "7 more", "3.7252", "9 more", "£2.94", "A week", "£13.46", "line 7: no rate", "not known", "prove dead", "Isolate, lock off"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("%q is on no page", want)
		}
	}
	one, err := s.PDF()
	if err != nil {
		t.Fatal(err)
	}
	if two, _ := s.PDF(); !bytes.Equal(one, two) {
		t.Error("the same statement makes other bytes")
	}
}
