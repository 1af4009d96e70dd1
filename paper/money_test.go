package paper

import (
	"bufio"
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"chargewright/document"
)

// TestQuotationByHand: the bakery's quotation worked out with a pencil.
// Labour (3 + 7 + 3 + 3.5) h × £52 = £858.00; materials 640 + 58.40 +
// 15 × 6.85 + 21 × 2.10 + 74 = £919.25; VAT at 20 % of £1777.25 = £355.45.
// Option: 2 h × £52 + £95 = £199.00, VAT £39.80.
func TestQuotationByHand(t *testing.T) {
	all, gaps := quote(&example(t, "bakery complete.yaml").m.Job.Quotation)
	if len(gaps) > 0 || len(all) != 2 {
		t.Fatalf("quote = %v, gaps %v", all, gaps)
	}
	for i, want := range []struct{ option, net, vat string }{{"", "£1777.25", "£355.45"}, {"bollard", "£199.00", "£39.80"}} {
		if g := all[i]; g.Option != want.option || g.Net.String() != want.net || g.VAT.String() != want.vat {
			t.Errorf("option %q: %v and %v, want %q: %s and %s", g.Option, g.Net, g.VAT, want.option, want.net, want.vat)
		}
	}
}

// TestWhatIsNotPricedIsSaid: a price nobody entered is no price of nothing.
func TestWhatIsNotPricedIsSaid(t *testing.T) {
	p := edited(t, "bakery", "  VAT: 20 %\n", "", "unit: m, price: 6.85}", "unit: m}")
	if _, gaps := quote(&p.m.Job.Quotation); len(gaps) != 2 {
		t.Errorf("gaps = %v, want the cable's price and the rate of VAT", gaps)
	}
	if text := text(quotationPaper(p.m, made)); strings.Contains(text, "To pay") {
		t.Error("a sum to pay is printed without the rate of VAT")
	}
}

// TestCutsAreTheRoutes: the pool's feeder is one piece of 12 m + 73 m; the
// bakery's point is 6 m of singles, two of them live and one the cpc, and
// 9 m + 4 m of armoured cable.
func TestCutsAreTheRoutes(t *testing.T) {
	for name, want := range map[string][]string{"pool complete.yaml": {"1 × 85 m"}, "bakery complete.yaml": {"2 × 6 m", "1 × 6 m", "1 × 13 m"}} {
		list, missing := cuts(example(t, name).m)
		if len(missing) > 0 {
			t.Errorf("%s: missing %v", name, missing)
		}
		for i, w := range want {
			if got := fmt.Sprintf("%d × %s", list[i].Pieces, list[i].Length); got != w {
				t.Errorf("%s: piece %d is %s, want %s", name, i+1, got, w)
			}
		}
	}
}

// TestClockChanges: the days the clocks change in the United Kingdom, as its
// government publishes them (from memory): the last Sundays of March and
// October.
func TestClockChanges(t *testing.T) {
	for _, tt := range []struct{ after, march, october string }{
		{"2026-11-25", "2027-03-28", "2027-10-31"}, {"2026-03-28", "2026-03-29", "2026-10-25"}, {"2025-03-30", "2026-03-29", "2025-10-26"},
	} {
		day, err := time.Parse(time.DateOnly, tt.after)
		if err != nil {
			t.Fatal(err)
		}
		october, march := clockChanges(day)
		if march.Format(time.DateOnly) != tt.march || october.Format(time.DateOnly) != tt.october {
			t.Errorf("after %s: %s and %s, want %s and %s", tt.after, march.Format(time.DateOnly), october.Format(time.DateOnly), tt.march, tt.october)
		}
	}
}

func TestMonthsAfterKeepToTheMonth(t *testing.T) {
	for _, tt := range []struct {
		from   string
		months int
		want   string
	}{{"2026-11-30", 3, "2027-02-28"}, {"2024-02-29", 12, "2025-02-28"}, {"2026-11-23", 36, "2029-11-23"}, {"2026-08-31", 6, "2027-02-28"}} {
		from, err := time.Parse(time.DateOnly, tt.from)
		if err != nil {
			t.Fatal(err)
		}
		if got := monthsAfter(from, tt.months).Format(time.DateOnly); got != tt.want {
			t.Errorf("%d months after %s = %s, want %s", tt.months, tt.from, got, tt.want)
		}
	}
}

// TestCalendar holds the calendar to RFC 5545: lines end in CR LF and have 75
// octets at most (3.1), every event has UID, DTSTAMP and DTSTART (3.6.1), and
// what was escaped reads back (3.3.11).
func TestCalendar(t *testing.T) {
	p := edited(t, "bakery", "warranty: the installation", "warranty: a line, so long that it must be folded; with a back\\slash and ½ of Ω over the fold, again and again, the installation")
	text := Calendar(p.m, made)
	if !bytes.HasPrefix(text, []byte("BEGIN:VCALENDAR\r\n")) || !bytes.HasSuffix(text, []byte("END:VCALENDAR\r\n")) {
		t.Error("the calendar does not begin and end as one")
	}
	var lines []string
	for s := bufio.NewScanner(bytes.NewReader(text)); s.Scan(); {
		line := s.Text() // without LF, and without the CR before it
		if len(line) > 75 {
			t.Errorf("%d octets: %s", len(line), line)
		}
		if strings.HasPrefix(line, " ") {
			lines[len(lines)-1] += line[1:]
			continue
		}
		lines = append(lines, line)
	}
	if strings.Count(string(text), "\n") != strings.Count(string(text), "\r\n") {
		t.Error("a line does not end in CR LF")
	}
	events, has := 0, map[string]int{}
	uids := map[string]bool{}
	for _, line := range lines {
		name, value, _ := strings.Cut(line, ":")
		name, _, _ = strings.Cut(name, ";")
		has[name]++
		if line == "BEGIN:VEVENT" {
			events++
		}
		if name == "UID" {
			uids[value] = true
		}
		if name == "SUMMARY" && strings.HasPrefix(value, "Periodic inspection") && !strings.Contains(string(text), "DTSTART;VALUE=DATE:20291123") {
			t.Error("the inspection is not due three years after the work was finished")
		}
	}
	if events < 6 || has["UID"] != events || has["DTSTAMP"] != events || has["DTSTART"] != events || len(uids) != events || has["BEGIN"] != has["END"] {
		t.Errorf("%d events, %v, %d names", events, has, len(uids))
	}
	if !strings.Contains(strings.Join(lines, "\n"), `a line\, so long that it must be folded\; with a back\\slash and ½ of Ω over`) {
		t.Error("an escaped text does not read back")
	}
}

// TestZipHoldsEveryFile with an independent reader.
func TestZipHoldsEveryFile(t *testing.T) {
	unzip := tool(t, "unzip", "unzip")
	p := example(t, "bakery complete.yaml")
	files, err := Pack(p.m, p.fs, p.es, nil, made)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := document.Zip(files, made)
	if err != nil {
		t.Fatal(err)
	}
	name := t.TempDir() + "/h.zip"
	save(t, name, whole)
	if out := run(t, unzip, "-t", name); !strings.Contains(out, "No errors") {
		t.Error(out)
	}
	if out := run(t, unzip, "-p", name, "for-the-customer/owner.pdf"); out != string(content(files, "owner.pdf")) {
		t.Error("owner.pdf is another in the ZIP")
	}
}
