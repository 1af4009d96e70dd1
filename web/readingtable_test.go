package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
)

// sendTable posts a form with one table.
func sendTable(t *testing.T, h http.Handler, address, field, name, text string, values map[string]string) (*http.Response, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for k, v := range values {
		form.WriteField(k, v)
	}
	if name != "" {
		f, err := form.CreateFormFile(field, name)
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte(text))
	}
	form.Close()
	r := httptest.NewRequest("POST", address, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result(), w.Body.String()
}

func TestReadingsFromATable(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	id := jobOf(t, s)
	address := "/jobs/" + id + "/readings/table"
	text, err := os.ReadFile("../examples/bakery/readings.csv")
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("Location,"), []byte("Locality,"), 1)
	resp, body := sendTable(t, h, address, "table", "readings.csv", string(text), map[string]string{"act": "t1"})
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `value="Locality"`) || !strings.Contains(body, "table-carried") {
		t.Fatalf("foreign headings answer %s; want them offered, with the table in hand", resp.Status)
	}
	columns := map[string]string{"act": "t1", "column-at": "Locality", "column-reading": "Test", "column-value": "Result", "column-function": "Method", "column-instrument": "Meter", "column-leads nulled": "Nulled", "column-who": "Tester", "column-when": "Time"}
	for range 2 { // sent twice, entered once
		if resp, body = sendTable(t, h, address, "table", "readings.csv", string(text), columns); resp.StatusCode != http.StatusSeeOther {
			t.Fatalf("the table answers %s: %s", resp.Status, problemOf(body))
		}
	}
	acts, err := s.Store.Acts(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	o, err := fold(id, acts)
	if err != nil || len(o.Faults) > 0 {
		t.Fatal(err, o.Faults)
	}
	lines := 0
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(line, "#") && strings.Contains(line, ",") {
			lines++
		}
	}
	if len(acts) != 2 || len(o.Job.Readings) != lines-1 {
		t.Errorf("%d acts, %d readings; want 2 and %d", len(acts), len(o.Job.Readings), lines-1)
	}
	if r := o.Job.Readings[0]; r.Who != "A. Spark" || r.When != "2026-11-24 10:05" || !r.LeadsNulled.Or(false) {
		t.Errorf("the first reading is %+v", r)
	}

	resp, body = sendTable(t, h, address, "table", "wrong.csv", "at,reading,value\nCP1,Zs,0.3 Ω\nCP7,Zs,0.3 Ω\nCP1,Zz,0.3\n", map[string]string{"act": "t2"})
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "wrong.csv:3: at is") || !strings.Contains(body, "wrong.csv:4: reading is") {
		t.Errorf("two wrong rows of three answer %s and not two lines: %s", resp.Status, problemOf(body))
	}
	if acts, _ := s.Store.Acts(t.Context(), id, 0); len(acts) != 2 {
		t.Error("half a table was entered")
	}
}

// TestAReadingOutsideTheSequence: whatever a test may be suggested, it can be
// entered where it is suggested.
func TestAReadingOutsideTheSequence(t *testing.T) {
	s := served(t, "bakery/high-ze.yaml")
	h := s.Handler()
	id := jobOf(t, s)
	for _, tt := range []struct{ query, form string }{
		{"at=supply&reading=line-neutral+loop&again=yes", `data-keypad`},
		{"at=CP1&reading=voltage+neutral+to+earth", `data-keypad`},
		{"at=supply&reading=phase+sequence", `value="L1 L3 L2"`},
	} {
		if resp, body := get(t, h, "/jobs/"+id+"/reading?"+tt.query); resp.StatusCode != http.StatusOK || !strings.Contains(body, tt.form) {
			t.Errorf("%s answers %s without its form", tt.query, resp.Status)
		}
	}
	for query, says := range map[string]string{"at=supply&reading=Zz": "no reading is called", "at=CP9&reading=Zs": "nothing is called", "at=supply&reading=R1%2BR2": "is not read at"} {
		if resp, body := get(t, h, "/jobs/"+id+"/reading?"+query); resp.StatusCode != http.StatusNotFound || !strings.Contains(strings.ToLower(body), says) {
			t.Errorf("%s answers %s, and not that %s", query, resp.Status, says)
		}
	}
	resp, body := post(t, h, "/jobs/"+id+"/reading", map[string][]string{"act": {"n1"}, "at": {"CP1"}, "reading": {"R1+R2"}, "value": {"0.16"}, "unit": {"Ω"}, "nulled": {"yes"}, "temperature": {"12"}})
	if resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("a reading answers %s: %s", resp.Status, problemOf(body))
	}
	if got := factNow(t, s, id, "readings/"+doneIn(resp)+"/leads nulled") + " " + factNow(t, s, id, "readings/"+doneIn(resp)+"/temperature"); got != "yes 12 °C" {
		t.Errorf("entered with %q", got)
	}
	if resp, body := post(t, h, "/jobs/"+id+"/reading", map[string][]string{"act": {"n2"}, "at": {"CP1"}, "reading": {"R1+R2"}, "value": {"0.16"}, "unit": {"Ω"}, "temperature": {"warm"}}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `value="warm"`) {
		t.Errorf("a temperature of warm answers %s, and what was typed is gone", resp.Status)
	}
}
