package ledger

import (
	"fmt"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/sheet"
)

func found(t *testing.T, fs []finding.Finding, key, about string) finding.Finding {
	t.Helper()
	for _, f := range fs {
		if f.Key == key && strings.Contains(f.Subject, about) {
			return f
		}
	}
	t.Fatalf("nothing found about %s of %s in %d findings", key, about, len(fs))
	return finding.Finding{}
}

// TestHealth: a point that gives half its rating, one that is held back, one
// that trips. The bounds are common practice, no source.
func TestHealth(t *testing.T) {
	var b strings.Builder
	b.WriteString("start,stop,energy kWh,charging min,held back min,point,reason\n")
	for day := 1; day <= 10; day++ {
		fmt.Fprintf(&b, "2026-11-%02d 08:00,2026-11-%02d 12:00,7.2,120,0,half,Local\n", day, day)
		fmt.Fprintf(&b, "2026-11-%02d 08:00,2026-11-%02d 12:00,14.4,120,60,held,Local\n", day, day)
		fmt.Fprintf(&b, "2026-11-%02d 08:00,2026-11-%02d 12:00,14.4,120,0,trips,%s\n", day, day, []string{"Local", "PowerLoss"}[day%2])
		fmt.Fprintf(&b, "2026-11-%02d 08:00,2026-11-%02d 20:00,14.4,,,long,\n", day, day)
	}
	l := read(t, Settings{Ratings: map[string]Rating{"": 7360}}, b.String())
	fs := l.Health()
	for _, tt := range []struct {
		key, about string
		want       finding.Verdict
		next       string
	}{
		{"delivered power", "half", finding.JudgeOnSite, "prove dead"},
		{"delivered power", "held", finding.Meets, ""},
		{"delivered power", "long", finding.NotKnown, "meter readings"},
		{"held back", "held", finding.JudgeOnSite, "clamps"},
		{"held back", "half", finding.Meets, ""},
		{"cut short", "trips", finding.JudgeOnSite, "RCD"},
		{"cut short", "half", finding.Meets, ""},
	} {
		f := found(t, fs, tt.key, tt.about)
		if f.Verdict != tt.want || !strings.Contains(f.Next, tt.next) {
			t.Errorf("%s of %s: %s, next %q; want %s, %q", tt.key, tt.about, f.Verdict, f.Next, tt.want, tt.next)
		}
	}
	l = readMessages(t, messages16)
	if f := found(t, l.Health(), "fault GroundFailure", "CP1"); f.Verdict != finding.JudgeOnSite || !strings.Contains(f.Next, "insulation resistance") || !strings.Contains(f.Next, "prove dead") {
		t.Errorf("earth fault: %s, next %q", f.Verdict, f.Next)
	}
	if f := found(t, read(t, Settings{}, "start,stop,energy kWh\n2026-11-01 08:00,2026-11-01 10:00,9\n").Health(), "delivered power", "not named"); f.Verdict != finding.NotKnown {
		t.Errorf("without a rating: %s, want not known", f.Verdict)
	}
}

// TestDrift: the points' meters against a site meter that counts 2 and 10 %
// more; a doubtful session leaves it not known.
func TestDrift(t *testing.T) {
	const rows = "start,stop,energy kWh,point\n2026-11-02 08:00,2026-11-02 18:00,60,A\n2026-11-09 08:00,2026-11-09 18:00,40,A\n2026-11-16 08:00,2026-11-16 18:00,50,A\n2026-11-23 08:00,2026-11-22 18:00,50,A\n"
	l := read(t, Settings{}, rows)
	m, err := readSiteMeter("meter.csv", strings.NewReader("time,register kWh\n2026-11-16 00:00,163\n2026-11-01 00:00,1000\n"), l.Settings)
	if err != nil {
		t.Fatal(err)
	}
	if f := l.Drift(m)[0]; f.Verdict != finding.NotKnown || !strings.Contains(f.Why.String(), "reset") {
		t.Errorf("a register that falls: %s, %s", f.Verdict, f.Why)
	}
	m, err = readSiteMeter("meter.csv", strings.NewReader("time,register kWh\n2026-11-01 00:00,1000\n2026-11-08 00:00,1061.2\n2026-11-15 00:00,1105.2\n2026-11-30 00:00,1200\n"), l.Settings)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range l.Drift(m) {
		got = append(got, f.Verdict.String())
	}
	if fmt.Sprint(got) != "[meets fails not known]" {
		t.Errorf("drift: %v, want 2 %% meets, 9 %% fails, doubtful not known", got)
	}
}

// TestDue: what is due by date, the end of a month kept.
func TestDue(t *testing.T) {
	in, err := readInspections("due.csv", strings.NewReader("what,about,last done,every months,source,confidence\ntest button,RCD,2026-08-31,6,s,c\nlook over,CP1,2025-01-01,12,s,c\ntest,CP1,,12,s,c\n"))
	if err != nil {
		t.Fatal(err)
	}
	fs := in.Due(sheet.DaysTo(2026, 11, 25))
	want := []string{"fails: last done 1 January 2025, due 1 January 2026", "not known: it is not known when it was last done", "meets: last done 31 August 2026, due 28 February 2027"}
	for i, f := range fs {
		if got := f.Verdict.String() + ": " + f.Why.String(); got != want[i] {
			t.Errorf("%d: %s, want %s", i, got, want[i])
		}
	}
}
