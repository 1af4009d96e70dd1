package main

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"chargewright/seal"
	"chargewright/web"
)

// sent returns what the pages answer to a form.
func sent(t *testing.T, h http.Handler, address string, form url.Values) *http.Response {
	t.Helper()
	r := httptest.NewRequest("POST", address, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

// shown returns a page as text.
func shown(t *testing.T, h http.Handler, address string) string {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", address, nil))
	if w.Code != http.StatusOK {
		t.Fatalf("%s answers %d: %s", address, w.Code, w.Body)
	}
	return w.Body.String()
}

// brought brings a job file in through the page and returns its address.
func brought(t *testing.T, h http.Handler, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", filepath.Base(file))
	if err != nil {
		t.Fatal(err)
	}
	part.Write(text)
	form.Close()
	r := httptest.NewRequest("POST", "/jobs/bring", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("%s brought in answers %d: %s", file, w.Code, w.Body)
	}
	return w.Header().Get("Location")
}

// served returns the pages as they are served on a computer of its own, with a
// folder for the firm's key.
func served(t *testing.T, c serveCmd) (http.Handler, keyFolder) {
	t.Helper()
	dir := t.TempDir()
	if c.Points == "" {
		c.Points = "127.0.0.1:0"
	}
	c.Data, c.Listen, c.Keys = filepath.Join(dir, "jobs.sqlite"), "127.0.0.1:0", filepath.Join(dir, "keys")
	pages, done, err := c.handler(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := done(); err != nil {
			t.Error(err)
		}
	})
	return web.Secure(pages), c.keyFolder
}

// TestACertificateIsIssuedFromThePages takes a complete job in by the page,
// issues its certificate by the page with a key made here, and verifies what
// is handed out.
func TestACertificateIsIssuedFromThePages(t *testing.T) {
	const passphrase = "four plain words here"
	h, keys := served(t, serveCmd{})
	complete := brought(t, h, "../../examples/bakery/complete.yaml")
	form := url.Values{"act": {"i1"}, "passphrase": {passphrase}}
	if resp := sent(t, h, complete+"/issue", form); resp.StatusCode != http.StatusForbidden {
		t.Errorf("without a key the issue answers %s", resp.Status)
	}

	key := keyed(t, keys, passphrase)
	if page := shown(t, h, complete+"/certificate"); !strings.Contains(page, `name="passphrase"`) {
		t.Fatalf("a complete job has no form to issue its certificate: %s", page)
	}
	if resp := sent(t, h, complete+"/issue", url.Values{"act": {"i2"}, "passphrase": {"four other words here"}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("a wrong passphrase answers %s", resp.Status)
	}
	begun := brought(t, h, "../../examples/bakery/job.yaml")
	if resp := sent(t, h, begun+"/issue", form); resp.StatusCode != http.StatusConflict {
		t.Errorf("a job that is not complete answers %s", resp.Status)
	}

	if page := shown(t, h, complete+"/papers"); !strings.Contains(page, "None of this job.") {
		t.Error("what was never issued is listed as issued")
	}
	var first []byte
	for issue := 1; issue <= 2; issue++ {
		form.Set("act", fmt.Sprint("issue ", issue))
		file := issued(t, h, complete, form)
		checked := seal.Check(file)
		says, ours := checked.Statement.Signer(key)
		if !ours || !checked.Signature || !checked.Unchanged || checked.Statement.Issue != issue {
			t.Errorf("issue %d reads back as issue %d: %s; %s", issue, checked.Statement.Issue, checked.Why, says)
		}
		if issue == 1 {
			first = file
		}
	}
	_, register, err := keys.register()
	if err != nil || len(register) != 2 {
		t.Fatalf("the register holds %d lines, %v", len(register), err)
	}

	// The list has both, the newest first, in the words of verify.
	page := shown(t, h, complete+"/papers")
	kept := filepath.Join(keys.Keys, copies, register[0].FileName())
	code, words := typed(t, "verify", kept, "--keys", keys.Keys)
	if code != exitFails {
		t.Errorf("verify of a superseded copy exits %d: %s", code, words)
	}
	for _, line := range strings.Split(html.UnescapeString(regexp.MustCompile("<[^>]*>").ReplaceAllString(between(page, `data-issue="1"`, `</details>`), "\n")), "\n") {
		if line = strings.TrimSpace(line); len(line) > 20 && !strings.Contains(line, "UTC") && !strings.Contains(line, "superseded by issue 2") && !strings.Contains(line, "What verifying") &&
			!strings.Contains(strings.Join(strings.Fields(words), " "), line) {
			t.Errorf("the page says %q, and verify does not:\n%s", line, words)
		}
	}
	if i, j := strings.Index(page, "issue 2</b>: the latest issue"), strings.Index(page, "issue 1</b>: superseded by issue 2"); i < 0 || j < i {
		t.Errorf("the list is not newest first with what supersedes what: %s", page)
	}
	if file := shown(t, h, complete+"/issued/"+register[0].FileName()); file != string(first) {
		t.Error("the file handed out again is another")
	}
	other := brought(t, h, "../../examples/terrace/job.yaml")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", other+"/issued/"+register[0].FileName(), nil))
	if w.Code != http.StatusNotFound {
		t.Errorf("a certificate of another job answers %d", w.Code)
	}

	// Sent to the page of verify, with another of the same job and a changed one.
	latest, err := os.ReadFile(filepath.Join(keys.Keys, copies, register[1].FileName()))
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Clone(latest)
	changed[len(changed)/4] ^= 1
	found := verifiedOnPage(t, h, [][]byte{first, latest, changed})
	for i, want := range []string{"Superseded", "by the firm's key", "Changed since it was signed"} {
		if !strings.Contains(html.UnescapeString(found[i]), want) {
			t.Errorf("file %d is not found to be %q: %s", i+1, want, found[i])
		}
	}

	// A changed copy is said to be one, a lost one too.
	if err := os.WriteFile(kept, append(first, ' '), 0o600); err != nil {
		t.Fatal(err)
	}
	if page := shown(t, h, complete+"/papers"); !strings.Contains(page, "The copy that is kept is not what was issued") {
		t.Error("a copy that was changed is not said to be")
	}
	if err := os.Remove(kept); err != nil {
		t.Fatal(err)
	}
	if page := shown(t, h, complete+"/papers"); !strings.Contains(page, "no copy is kept") {
		t.Error("a copy that is gone is not said to be")
	}
}

// verifiedOnPage sends files to the page of verify and returns what it finds of
// each.
func verifiedOnPage(t *testing.T, h http.Handler, files [][]byte) []string {
	t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	for i, file := range files {
		part, err := form.CreateFormFile("file", fmt.Sprintf("%d.pdf", i))
		if err != nil {
			t.Fatal(err)
		}
		part.Write(file)
	}
	form.Close()
	r := httptest.NewRequest("POST", "/verify", &b)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	found := strings.Split(w.Body.String(), "<section")[1:]
	if w.Code != http.StatusOK || len(found) != len(files) {
		t.Fatalf("verify answers %d and %d files: %s", w.Code, len(found), w.Body)
	}
	return found
}

func between(s, from, to string) string {
	_, s, _ = strings.Cut(s, from)
	s, _, _ = strings.Cut(s, to)
	return s
}

// issued sends the form of an issue and returns the file that the page it leads
// to hands out.
func issued(t *testing.T, h http.Handler, job string, form url.Values) []byte {
	t.Helper()
	resp := sent(t, h, job+"/issue", form)
	to, err := resp.Location()
	if resp.StatusCode != http.StatusSeeOther || err != nil {
		t.Fatalf("the issue answers %s, %v", resp.Status, err)
	}
	return []byte(shown(t, h, job+"/issued/"+to.Query().Get("issued")))
}

// TestAnIssueSentTwiceIsOne sends the form of an issue four times at once, as
// a double tap without script does, and again after a restart: one issue, and
// the same file each time. Another form is another issue.
func TestAnIssueSentTwiceIsOne(t *testing.T) {
	const passphrase = "four plain words here"
	h, keys := served(t, serveCmd{})
	keyed(t, keys, passphrase)
	job := brought(t, h, "../../examples/bakery/complete.yaml")
	form := url.Values{"act": {"one-form"}, "passphrase": {passphrase}}
	files := make([][]byte, 4)
	var all sync.WaitGroup
	for i := range files {
		all.Go(func() { files[i] = issued(t, h, job, form) })
	}
	all.Wait()
	again, err := (&desk{keys: keys}).keys.issue(seal.Order{Record: strings.TrimPrefix(job, "/jobs/"), ID: "one-form"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	files = append(files, again.File)
	for i, file := range files {
		if !bytes.Equal(file, files[0]) {
			t.Errorf("sent again, time %d, the form hands out another file", i+1)
		}
	}
	if _, register, err := keys.register(); err != nil || len(register) != 1 {
		t.Errorf("one form sent four times is %d issues, %v", len(register), err)
	}
	if resp := sent(t, h, job+"/issue", url.Values{"act": {"one-form"}, "passphrase": {"four other words here"}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("sent again with a wrong passphrase it answers %s", resp.Status)
	}
	form.Set("act", "another-form")
	issued(t, h, job, form)
	if _, register, _ := keys.register(); len(register) != 2 {
		t.Errorf("two forms are %d issues", len(register))
	}
	// Renamed, the job keeps its number.
	sent(t, h, job+"/fact", url.Values{"act": {"renamed"}, "path": {"job"}, "value": {"Bakery, renamed"}})
	form.Set("act", "third-form")
	issued(t, h, job, form)
	if _, register, _ := keys.register(); len(register) != 3 || register[2].Number != register[0].Number || register[2].Issue != 3 || register[2].Job != "Bakery, renamed" {
		t.Errorf("under another name the register reads %+v", register[len(register)-1])
	}
}

// keyed makes the firm's key.
func keyed(t *testing.T, keys keyFolder, passphrase string) *seal.Key {
	t.Helper()
	key, err := seal.NewKey("Sparks and Daughter (invented)", time.Now(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	locked, err := key.Lock([]byte(passphrase), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if err := writeOnce(filepath.Join(keys.Keys, keyName), locked); err != nil {
		t.Fatal(err)
	}
	return key
}

// TestAPointIsCommissionedFromThePages runs the demo with its pretended point
// from the sheet to the entries in the journal.
func TestAPointIsCommissionedFromThePages(t *testing.T) {
	t.Parallel()
	c := serveCmd{Demo: true}
	h, _ := served(t, c)
	job := brought(t, h, "../../examples/bakery/job.yaml")
	page := job + "/commissioning?point=CP1"
	if !strings.Contains(shown(t, h, job+"/sheet?of=points/CP1"), page) {
		t.Error("the sheet of the point does not lead to its commissioning")
	}
	form := url.Values{"act": {"run-1"}, "point": {"CP1"}, "identity": {"CP1"}, "card": {"KNOWN-CARD"}, "pretended": {"yes"}}
	for range 2 { // the form is sent twice, and is one run
		if resp := sent(t, h, job+"/commissioning", form); resp.StatusCode != http.StatusSeeOther {
			t.Fatalf("the run answers %s", resp.Status)
		}
	}
	if now := shown(t, h, page); !strings.Contains(now, "ws://127.0.0.1:") || !strings.Contains(now, "http-equiv=\"refresh\"") || !strings.Contains(now, "<svg") {
		t.Error("a run under way does not show its address, as text and code, or is not shown anew")
	}
	over := ""
	for deadline := time.Now().Add(3 * time.Minute); time.Now().Before(deadline); time.Sleep(200 * time.Millisecond) {
		if over = shown(t, h, page); strings.Contains(over, "The run has ended") {
			break
		}
	}
	if !strings.Contains(over, "Entered in the record") || !strings.Contains(over, " 0 failed") || strings.Contains(over, "not-to-be-told") {
		t.Errorf("the run ends otherwise than it should: %s", over)
	}
	sent(t, h, job+"/commissioning", form) // sent late again: it is not run again
	file := shown(t, h, job+"/file")
	if n := strings.Count(file, "step: identity"); n != 1 {
		t.Errorf("the first step is entered %d times", n)
	}
	if !strings.Contains(file, "pretended: yes") || strings.Contains(file, "not-to-be-told") {
		t.Error("the entries do not say that the point was pretended, or hold its secret")
	}
}

// TestAStoppedRunEntersNothingThatWasNotSeen stops a run that no point joined.
func TestAStoppedRunEntersNothingThatWasNotSeen(t *testing.T) {
	h, _ := served(t, serveCmd{})
	job := brought(t, h, "../../examples/bakery/job.yaml")
	form := url.Values{"act": {"run-1"}, "point": {"CP1"}}
	if resp := sent(t, h, job+"/commissioning", url.Values{"act": {"run-0"}, "point": {"CP1"}, "pretended": {"yes"}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("a pretended point on a true job answers %s", resp.Status)
	}
	sent(t, h, job+"/commissioning", form)
	sent(t, h, job+"/commissioning/end", form)
	for deadline := time.Now().Add(10 * time.Second); !strings.Contains(shown(t, h, job+"/commissioning?point=CP1"), "was stopped before"); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the run goes on")
		}
	}
	if strings.Contains(shown(t, h, job+"/file"), "step: ") {
		t.Error("a step is entered that was not seen")
	}
}

// TestAnAddressNoPointCouldBeGiven refuses to listen where no point could be
// told to go.
func TestAnAddressNoPointCouldBeGiven(t *testing.T) {
	for _, listen := range []string{"0.0.0.0:9000", ":9000", "[::]:9000", "9000"} {
		if _, err := newCommissioner(pointGate{Points: listen}, false, nil); err == nil {
			t.Errorf("%s is listened at", listen)
		}
	}
}

// TestADemoNumbersNothingInTheFirmsRegister serves the invented jobs beside a
// key that is there already, and offers no issue.
func TestADemoNumbersNothingInTheFirmsRegister(t *testing.T) {
	settings := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", settings)
	keyed(t, keyFolder{filepath.Join(settings, "chargewright")}, "four plain words here")
	c := serveCmd{Demo: true, Listen: "127.0.0.1:0", pointGate: pointGate{Points: "127.0.0.1:0"}}
	h, done, err := c.handler(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer done()
	job := brought(t, h, "../../examples/bakery/complete.yaml")
	if page := shown(t, h, job+"/papers"); !strings.Contains(page, "Nothing is issued here") {
		t.Error("the papers of a demo do not say that nothing is issued")
	}
	if resp := sent(t, h, job+"/issue", url.Values{"act": {"i1"}, "passphrase": {"four plain words here"}}); resp.StatusCode != http.StatusForbidden {
		t.Errorf("an issue in a demo answers %s", resp.Status)
	}
	if _, err := os.Stat(filepath.Join(settings, "chargewright", registerName)); !os.IsNotExist(err) {
		t.Errorf("a demo leaves a register: %v", err)
	}
}
