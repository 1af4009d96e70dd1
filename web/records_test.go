package web

import (
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// everythingSent is everythingAsked as the form of the page sends it.
func everythingSent() (url.Values, map[string]string) {
	return url.Values{"by": {"month", "person", "", ""}, "zone": {"Europe/London"}, "schedule": {"00:30-05:30"}, "economy": {"3.5"}, "only-point": {"CP1"}, "from": {"2026-09-01"}, "to": {"2026-11-30"}, "date": {"2026-11-25"},
			"rating-of": {"CP1", ""}, "rating": {"", "22 kW"}, "column-energy": {"energy kWh"}},
		map[string]string{"record": "bakery/sessions.csv", "tariff": "tariffs/night.csv", "then": "tariffs/flat.csv", "cards": "bakery/cards.csv", "co2": "tariffs/co2.csv",
			"journeys": "bakery/journeys.csv", "mileage": "bakery/mileage.csv", "inspections": "bakery/inspections.csv", "site-meter": "site.csv\ntime,register kWh\n2026-09-01 00:00,100\n2026-11-01 00:00,1300\n",
			"surplus": "surplus.csv\nstarting,kWh\n2026-09-01T14:00:00Z,1\n"}
}

// TestEverythingOfTheRecords: the page takes all that the command takes, and
// its form and the programming interface come to the same.
func TestEverythingOfTheRecords(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	job := jobOf(t, s)
	fields, files := everythingSent()
	resp, page := upload(t, h, "/jobs/"+job+"/charging", fields, files)
	text := wordsOf(page)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("everything answers %s: %s", resp.Status, text)
	}
	for _, want := range []string{
		"sessions 81", "sessions 81 energy, kWh 1526.02",
		"Claim: £15.33",   // by hand: 192.3 miles at 7 p and 24.9 at 7.5 p are £15.3285
		"CO2e, kg 270.10", // by hand: 1526.02 kWh, to 0.005, at 0.177 kg/kWh
		"all 236.5 miles, at 3.5 miles per kWh, are 67.57 kWh", // by hand
		"no rate is known for that day",
		"tariff flat, charging let run 00:30-05:30", "fits the schedule",
		"the points' meters agree with the site meter",
		"press the test button of the RCD, every 6 months",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q: %s", want, text)
		}
	}
	if !strings.Contains(page, `name="as" value="week-what-if.svg"`) {
		t.Error("the week as it would be cannot be taken away")
	}
	if acts, _ := s.Store.Acts(t.Context(), job, 0); len(acts) != 1 {
		t.Errorf("%d acts: a statement stores something", len(acts))
	}
}

// TestColumnsAreMatched: a record whose columns are not known by their names is
// kept, its own headings are offered, and the choice makes it count.
func TestColumnsAreMatched(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/charging"
	files := map[string]string{"tariff": "tariffs/night.csv", "record": "site.csv\nBeginn;Ende;Menge;Fahrer\n2026-10-05 12:00;2026-10-05 13:00;6,5;Anna\n2026-10-06 12:00;2026-10-06 13:00;7;Bert\n"}
	resp, page := upload(t, h, address, url.Values{"by": {"month"}, "zone": {"Europe/London"}}, files)
	if text := wordsOf(page); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text, "no column says when a session started") || !strings.Contains(text, "no column says the energy") {
		t.Fatalf("unknown columns answer %s: %s", resp.Status, text)
	}
	if !regexp.MustCompile(`<details open><summary>How the records are written`).MatchString(page) {
		t.Error("the choice of columns stays shut")
	}
	for _, want := range []string{`<option value="Menge">Menge</option>`, `name="column-energy"`, `name="column-register at start"`, "In hand: <b>site.csv</b>", "In hand: <b>night.csv</b>"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not hold %s", want)
		}
	}
	fields := carriedBy(page)
	maps.Copy(fields, url.Values{"by": {"person"}, "zone": {"Europe/London"}, "column-start": {"Beginn"}, "column-stop": {"Ende"}, "column-energy": {"Menge"}, "column-person": {"Fahrer"}})
	resp, page = post(t, h, address, fields)
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "column Menge: it does not say its unit") || !strings.Contains(page, `<option value="Menge" selected>`) {
		t.Fatalf("no unit answers %s: %s", resp.Status, wordsOf(page))
	}
	fields.Set("unit", "kWh")
	resp, page = post(t, h, address, fields)
	// By hand: 13.5 kWh by day at 29.8 p with VAT.
	if text := wordsOf(page); resp.StatusCode != http.StatusOK || !strings.Contains(text, "energy, kWh 13.50") || !strings.Contains(text, "cost, £ 4.02") || !strings.Contains(text, "Anna 1 6.50") {
		t.Errorf("the matched columns answer %s: %s", resp.Status, text)
	}
}

// TestTablesInHand: a table is added, replaced by one of its name, put away,
// and outlives a bad one beside it.
func TestTablesInHand(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/charging"
	const head = "start,stop,energy kWh\n"
	fields := url.Values{"by": {"month"}, "zone": {"Europe/London"}}
	send := func(more url.Values, files map[string]string) string {
		t.Helper()
		form := maps.Clone(fields)
		maps.Copy(form, more)
		_, page := upload(t, h, address, form, files)
		fields = carriedBy(page)
		maps.Copy(fields, url.Values{"by": {"month"}, "zone": {"Europe/London"}})
		return wordsOf(page)
	}
	send(nil, map[string]string{"record": "one.csv\n" + head + "2026-10-05 12:00,2026-10-05 13:00,5\n", "tariff": "tariffs/night.csv"})
	if text := send(nil, map[string]string{"record": "two.csv\n" + head + "2026-10-06 12:00,2026-10-06 13:00,6\n"}); !strings.Contains(text, "sessions 2 energy, kWh 11.00") {
		t.Errorf("a second record is not added: %s", text)
	}
	if text := send(nil, map[string]string{"record": "two.csv\n" + head + "2026-10-06 12:00,2026-10-06 13:00,7\n"}); !strings.Contains(text, "sessions 2 energy, kWh 12.00") {
		t.Errorf("a record of the same name does not replace it: %s", text)
	}
	if text := send(nil, map[string]string{"tariff": "picture.csv\n\x89PNG\r\n\x1a\n\x00\x00"}); !strings.Contains(text, "picture.csv is no table of text") || !strings.Contains(text, "In hand: night.csv") || !strings.Contains(text, "In hand: two.csv") {
		t.Errorf("a picture for a tariff loses what was in hand: %s", text)
	}
	if text := send(url.Values{"record-away": {"0"}, "tariff-away": {"0"}}, nil); !strings.Contains(text, "sessions 1 energy, kWh 7.00") || strings.Contains(text, "In hand: night.csv") || strings.Contains(text, "In hand: one.csv") {
		t.Errorf("what is put away stays: %s", text)
	}
}

// TestCardsSurplusAndMeter is arithmetic by hand: whose card it is; 3 kWh in
// each of two half-hours of which the sun left 1 and 5, so 4 of 6 kWh; a site
// meter that counts 70 kWh where the points say 60, 14.3 % less and beyond 4 %.
func TestCardsSurplusAndMeter(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/charging"
	fields := url.Values{"by": {"person"}, "zone": {"Europe/London"}}
	_, page := upload(t, h, address, fields, map[string]string{"record": "a.csv\nstart,stop,energy kWh,card\n2026-11-05 12:00,2026-11-05 13:00,6,K1\n", "cards": "cards.csv\ncard,person,vehicle,cost centre\nK1,Ann (invented),van,rounds\n",
		"surplus": "sun.csv\nstarting,kWh\n2026-11-05T12:00:00Z,1\n2026-11-05T12:30:00Z,5\n"})
	if text := wordsOf(page); !strings.Contains(text, "Ann (invented) 1 6.00") || !strings.Contains(text, "solar, % 66.7") {
		t.Errorf("a card and a surplus answer %s", text)
	}
	_, page = upload(t, h, address, fields, map[string]string{"record": "a.csv\nstart,stop,energy kWh\n2026-11-05 12:00,2026-11-05 18:00,30\n2026-11-06 12:00,2026-11-06 18:00,30\n", "site-meter": "meter.csv\ntime,register kWh\n2026-11-05 00:00,1000\n2026-11-07 00:00,1070\n"})
	if text := wordsOf(page); !strings.Contains(text, "fails the points' meters agree with the site meter has -14.3 %") && !strings.Contains(text, "fails the points' meters agree with the site meter has −14.3 %") {
		t.Errorf("a site meter that counts more answers %s", text)
	}
}

// TestFaultsOfTheRecordsAreSaidAtOnce: by field and by line, and all of them.
func TestFaultsOfTheRecordsAreSaidAtOnce(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	job := jobOf(t, s)
	_, page := upload(t, h, "/jobs/"+job+"/charging", url.Values{"by": {"month"}, "zone": {"Europe/London"}, "economy": {"much"}, "schedule": {"at night"}, "rating-of": {"CP1"}, "rating": {"7 bananas"}},
		map[string]string{"record": "bakery/sessions.csv", "journeys": "trips.csv\ndate,miles\nsoon,12\n2026-11-01,far\n", "inspections": "due.csv\nwhat,about\nlook,CP1\n"})
	text := wordsOf(page)
	for _, want := range []string{"trips.csv:2: date", "trips.csv:3: miles", "due.csv:1: head of the table", `Miles per kWh: "much"`, "Charging let run: schedule", "7 bananas", "A claim by the mile takes both", "In hand: sessions.csv", "In hand: trips.csv"} {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
			t.Errorf("the page does not say %q: %s", want, text)
		}
	}
}

// TestClampColumnsAndClock: the invented recording with other headings, date
// and time of day apart, and a clock of its own, is matched and found right; it
// is one clamp, so it has no other line to show in.
func TestClampColumnsAndClock(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/clamp"
	var site strings.Builder
	site.WriteString("site.csv\nTag;Uhr;Klemme;Haus\n")
	for _, row := range strings.Split(strings.TrimSpace(example(t, "bakery/clamp/right.csv")), "\n") {
		cells := strings.Split(row, ",")
		if day, clock, ok := strings.Cut(cells[0], " "); ok && len(cells) == 4 && strings.HasPrefix(day, "2026") {
			site.WriteString(day + ";" + strings.Replace(clock, "14:", "15:", 1) + ";" + cells[2] + ";1\n") // an hour ahead
		}
	}
	fields := url.Values{"way": {"recordings"}, "line": {"L2"}, "zone": {"Europe/London"}}
	resp, page := upload(t, h, address, fields, map[string]string{"site": site.String(), "point": "bakery/clamp/point.csv"})
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "no column is headed time or date") || !strings.Contains(page, `<option value="Klemme">`) || !strings.Contains(page, "In hand: <b>point.csv</b>") {
		t.Fatalf("unknown headings answer %s: %s", resp.Status, wordsOf(page))
	}
	carried := carriedBy(page)
	maps.Copy(carried, fields)
	maps.Copy(carried, url.Values{"site-column-time": {"Tag"}, "site-column-clock": {"Uhr"}, "site-column-L1": {"Klemme"}})
	if _, page := post(t, h, address, carried); !strings.Contains(page, "is 1 h ahead of the point") {
		t.Errorf("clocks an hour apart are not told: %s", wordsOf(page))
	}
	carried.Set("site-clock", "Europe/Oslo")
	if resp, page := post(t, h, address, carried); resp.StatusCode != http.StatusOK || !strings.Contains(page, "right (") || strings.Contains(page, "ahead of the point") {
		t.Errorf("with its clock said it answers %s: %s", resp.Status, wordsOf(page))
	}
	carried.Set("site-clock", "Mars/Olympus")
	if resp, page := post(t, h, address, carried); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "Clock of the site&#39;s recording: &#34;Mars/Olympus&#34;") || !strings.Contains(page, `value="Mars/Olympus"`) {
		t.Errorf("a clock that is none answers %s: %s", resp.Status, wordsOf(page))
	}
}
