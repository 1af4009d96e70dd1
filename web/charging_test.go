package web

import (
	"bytes"
	"encoding/json"
	"html"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
)

// upload posts a form with files of the examples; one that is written out here
// is given as its name, a line feed and its text.
func upload(t testing.TB, h http.Handler, address string, fields url.Values, files map[string]string) (*http.Response, string) {
	t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	for name, values := range fields {
		for _, value := range values {
			form.WriteField(name, value)
		}
	}
	for field, file := range files {
		name, text, here := strings.Cut(file, "\n")
		if !here {
			text = example(t, name)
		}
		part, _ := form.CreateFormFile(field, name)
		part.Write([]byte(text))
	}
	form.Close()
	r := httptest.NewRequest("POST", address, &b)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result(), w.Body.String()
}

func example(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// carriedBy is what a page carries along, as the browser sends it again.
func carriedBy(page string) url.Values {
	out := url.Values{}
	for _, m := range regexp.MustCompile(`name="([a-z0-9-]+-(?:name|carried))" value="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		out.Add(m[1], html.UnescapeString(m[2]))
	}
	return out
}

var tags = regexp.MustCompile(`<[^>]*>`)

// words returns the text of a page, every space one.
func wordsOf(page string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(page, " "))), " ")
}

var bakery = map[string]string{"record": "bakery/sessions.csv", "tariff": "tariffs/night.csv"}

// TestBakeryStatement: the page says what the command ledger prints of the same
// records under the same tariff.
func TestBakeryStatement(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/charging"
	fields := url.Values{"by": {"month"}, "zone": {"Europe/London"}}
	resp, page := upload(t, h, address, fields, bakery)
	text := wordsOf(page)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("the records answer %s: %s", resp.Status, text)
	}
	for _, want := range []string{
		"total 81 1526.02 774.2 1497.17 446.16 + 1 not priced 199.73 446.16 21.25",
		"standing charge, 91 days at 52.1 p a day: £47.41",
		"without the 1 not priced: £493.57",
		"81 (1526.02 kWh) 13 (26474.60 kWh)",
		"Doubtful, not counted", "95.09 kWh a point rated 7.4 kW delivers", // the rating is the job's
		"For the next visit", "prove dead",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}

	// What the page carries along stands for the files.
	carried := carriedBy(page)
	maps.Copy(carried, fields)
	for name, opens := range map[string]string{"statement.pdf": "%PDF-", "week.svg": "<svg", "statement.csv": "month,", "statement.json": "{", "sessions.csv": "", "notes.csv": "file,line"} {
		carried.Set("as", name)
		resp, body := post(t, h, address, carried)
		if resp.StatusCode != http.StatusOK || !strings.Contains(resp.Header.Get("Content-Disposition"), name) || !strings.HasPrefix(body, opens) || len(body) < 100 {
			t.Errorf("%s answers %s, %q: %.60q", name, resp.Status, resp.Header.Get("Content-Disposition"), body)
		}
		if name == "statement.json" {
			var r struct {
				Statement struct{ Total struct{ Sessions int } }
			}
			if err := json.Unmarshal([]byte(body), &r); err != nil || r.Statement.Total.Sessions != 81 {
				t.Errorf("statement.json: %v, %d sessions, want 81", err, r.Statement.Total.Sessions)
			}
		}
	}
	if acts, _ := s.Store.Acts(t.Context(), jobOf(t, s), 0); len(acts) != 1 {
		t.Errorf("%d acts: a statement stores something", len(acts))
	}
}

// TestStatementByCardAndDays: other keys, fewer days, no tariff.
func TestStatementByCardAndDays(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	resp, page := upload(t, Secure(s.Handler()), "/jobs/"+jobOf(t, s)+"/charging",
		url.Values{"by": {"month", "card", "", ""}, "zone": {"Europe/London"}, "from": {"2026-10-01"}, "to": {"2026-10-31"}}, map[string]string{"record": "bakery/sessions.csv"})
	text := wordsOf(page)
	if resp.StatusCode != http.StatusOK || !strings.Contains(text, "month card sessions") || !strings.Contains(text, "total 30 592.03 296.2") || strings.Contains(text, "cost, £") {
		t.Errorf("October by card answers %s: %s", resp.Status, text)
	}
}

// TestRefusedRecords: what is wrong is said, and the rest of the form stays.
func TestRefusedRecords(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/charging"
	for _, tt := range []struct {
		name   string
		fields url.Values
		files  map[string]string
		status int
		want   string
	}{
		{"no table", url.Values{"by": {"card"}, "zone": {"Europe/Oslo"}}, nil, http.StatusUnprocessableEntity, "Choose the table of sessions first"},
		{"no zone", url.Values{"by": {"card"}, "zone": {"Mars/Olympus"}}, bakery, http.StatusUnprocessableEntity, "Time zone of the site: &#34;Mars/Olympus&#34;"},
		{"twice by one", url.Values{"by": {"card", "card"}, "zone": {"Europe/Oslo"}}, bakery, http.StatusUnprocessableEntity, "named twice"},
		{"no date", url.Values{"by": {"card"}, "zone": {"Europe/Oslo"}, "from": {"soon"}}, bakery, http.StatusUnprocessableEntity, "First day: &#34;soon&#34; is no date"},
		{"a tariff that is none", url.Values{"by": {"card"}, "zone": {"Europe/Oslo"}}, map[string]string{"record": "bakery/sessions.csv", "tariff": "bakery/sessions.csv"}, http.StatusUnprocessableEntity, "sessions.csv:"},
		{"sessions that are none", url.Values{"by": {"card"}, "zone": {"Europe/Oslo"}}, map[string]string{"record": "tariffs/night.csv"}, http.StatusUnprocessableEntity, "night.csv:"},
	} {
		resp, page := upload(t, h, address, tt.fields, tt.files)
		if resp.StatusCode != tt.status || !strings.Contains(page, tt.want) {
			t.Errorf("%s answers %s without %q", tt.name, resp.Status, tt.want)
		}
		if !strings.Contains(page, "<option selected>card</option>") || !strings.Contains(page, `value="`+tt.fields.Get("zone")+`"`) {
			t.Errorf("%s: what was entered is gone", tt.name)
		}
		if tt.files["record"] != "" && !strings.Contains(page, "record-carried") {
			t.Errorf("%s: the table must be chosen again", tt.name)
		}
	}
}

// TestTablesAreLimited: neither size nor kind is taken on trust.
func TestTablesAreLimited(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	for _, tt := range []struct {
		name, text string
		status     int
	}{
		{"picture.csv", "\x89PNG\r\n\x1a\n\x00\x00", http.StatusUnsupportedMediaType},
		{"long.csv", strings.Repeat("a,b\n", mostTable/4+1), http.StatusRequestEntityTooLarge},
	} {
		carried := table{tt.name, []byte(tt.text)}.Carried()
		resp, _ := post(t, h, "/jobs/"+jobOf(t, s)+"/charging", url.Values{"record-name": {tt.name}, "record-carried": {carried}})
		if resp.StatusCode != tt.status {
			t.Errorf("%s answers %s, want %d", tt.name, resp.Status, tt.status)
		}
	}
}
