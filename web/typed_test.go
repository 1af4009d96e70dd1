package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/store"
)

const rating = "supply/cut-out/rating"

// ratingForm is the form of the cut-out's rating as it is drawn now.
func ratingForm(t *testing.T, s *Server, job, token, value string) url.Values {
	t.Helper()
	acts, err := s.Store.Acts(t.Context(), job, 0)
	if err != nil {
		t.Fatal(err)
	}
	return url.Values{"act": {token}, "path": {rating}, "value": {value}, "unit": {"A"}, "follows": {store.Record(acts).Shown(rating)}}
}

func enters(t *testing.T, h http.Handler, job string, form url.Values) {
	t.Helper()
	if resp, body := post(t, h, "/jobs/"+job+"/fact", form); resp.StatusCode != http.StatusSeeOther || doneIn(resp) == "" {
		t.Fatalf("%v answers %s: %s", form, resp.Status, wordsOf(body))
	}
}

// TestTwoFormsOfOnePageAreTwoActs: a page draws one mark into all its forms.
func TestTwoFormsOfOnePageAreTwoActs(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, job := s.Handler(), jobOf(t, s)
	enters(t, h, job, ratingForm(t, s, job, "one page", "60"))
	enters(t, h, job, url.Values{"act": {"one page"}, "path": {"supply/looped"}, "value": {"no"}})
	if a, b := factNow(t, s, job, rating), factNow(t, s, job, "supply/looped"); a != "60 A" || b != "no" {
		t.Errorf("the record says %q and %q", a, b)
	}
}

// TestBackAndAnotherValue: a person goes back to a form they sent, as a browser
// shows it from its page cache, and sends it with another value. It is entered,
// and they do not differ with themselves.
func TestBackAndAnotherValue(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, job := s.Handler(), jobOf(t, s)
	form := ratingForm(t, s, job, "a form", "60")
	enters(t, h, job, form)
	form.Set("value", "100")
	enters(t, h, job, form)
	acts, _ := s.Store.Acts(t.Context(), job, 0)
	r := store.Record(acts)
	if now := r.Now(rating).Value; now != "100 A" || r.Differ(rating) != nil || len(acts) != 3 {
		t.Errorf("%q counts after %d acts, differing %v", now, len(acts), r.Differ(rating))
	}
}

// TestBackToWhatWasFollowed: a form is sent, somebody else enters another value,
// and the form is sent once more as it was. It is not entered, and the page says
// so, shows what was typed, and enters it when it is sent from there.
func TestBackToWhatWasFollowed(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, job := s.Handler(), jobOf(t, s)
	form := ratingForm(t, s, job, "a form", "60")
	enters(t, h, job, form)
	enters(t, h, job, ratingForm(t, s, job, "another", "100"))
	resp, body := post(t, h, "/jobs/"+job+"/fact", form)
	if resp.StatusCode != http.StatusConflict || !strings.Contains(body, "Not entered") || !strings.Contains(body, "<dd>60</dd>") || !strings.Contains(body, "100 A") {
		t.Fatalf("it answers %s: %s", resp.Status, wordsOf(body))
	}
	if now := factNow(t, s, job, rating); now != "100 A" {
		t.Errorf("%q counts", now)
	}
	again := url.Values{}
	for _, field := range strings.Split(body, `<input type="hidden" name="`)[1:] {
		name, rest, _ := strings.Cut(field, `" value="`)
		value, _, _ := strings.Cut(rest, `"`)
		again.Add(name, value)
	}
	enters(t, h, job, again)
	acts, _ := s.Store.Acts(t.Context(), job, 0)
	if r := store.Record(acts); r.Now(rating).Value != "60 A" || r.Differ(rating) != nil {
		t.Errorf("sent again from there %q counts, differing %v", r.Now(rating).Value, r.Differ(rating))
	}
}

// TestARenameInBetween: a form is filled in while somebody gives its circuit
// another name.
func TestARenameInBetween(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h, job := s.Handler(), jobOf(t, s)
	if resp, _ := post(t, h, "/jobs/"+job+"/item/rename", url.Values{"act": {"n"}, "item": {"circuits/van point"}, "name": {"yard point"}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatal(resp.Status)
	}
	for page, form := range map[string]url.Values{
		"/fact":    {"act": {"f"}, "path": {"circuits/van point/cable/csa"}, "value": {"16"}, "unit": {"mm²"}},
		"/fill":    {"act": {"g"}, "of": {"circuits/van point/cable/csa"}, "value circuits/van point/cable/csa": {"16 mm²"}},
		"/reading": {"act": {"r"}, "at": {"van point"}, "reading": {"R1+R2"}, "value": {"16"}},
	} {
		resp, body := post(t, h, "/jobs/"+job+page, form)
		if resp.StatusCode < 400 || !strings.Contains(body, "This was not entered") || !strings.Contains(body, "<dd>16") {
			t.Errorf("%s answers %s: %s", page, resp.Status, wordsOf(body))
		}
	}
}

// full is a journal without room.
type full struct {
	store.Store
	err error
}

func (f full) Keep(context.Context, ...store.Act) (int, error) { return 0, f.err }

// TestNoRoomIsSaid: what cannot be kept is said, and stays on the page to be
// sent again; a secret does not.
func TestNoRoomIsSaid(t *testing.T) {
	for _, err := range []error{store.ErrNoRoom, store.ErrOnlyRead, store.ErrDamaged} {
		s := served(t, "terrace/job.yaml")
		job := jobOf(t, s)
		form := ratingForm(t, s, job, "a form", "60")
		form.Set("passphrase", "four plain words here")
		s.Store = full{s.Store, err}
		h := s.Handler()
		resp, body := post(t, h, "/jobs/"+job+"/fact", form)
		if resp.StatusCode != http.StatusInsufficientStorage || !strings.Contains(body, "<dd>60</dd>") || !strings.Contains(body, "not kept") || strings.Contains(body, "four plain") {
			t.Errorf("%v is answered %s: %s", err, resp.Status, wordsOf(body))
		}
		if resp, _ := get(t, h, "/jobs/"+job); resp.StatusCode != http.StatusOK {
			t.Errorf("%v, and reading answers %s", err, resp.Status)
		}
	}
}

// TestAKeyIsOfOneAccountAndOneJob: a form's key names what it sent, and not what
// another account or another job sends under the same.
func TestAKeyIsOfOneAccountAndOneJob(t *testing.T) {
	s := served(t, "terrace/job.yaml", "bakery/job.yaml")
	who := "Ann"
	s.Who = func(*http.Request) string { return who }
	h := s.Handler()
	jobs, err := s.Store.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i, step := range []struct {
		who, job, value string
		kept            int
	}{
		{"Ann", jobs[0].ID, "1 Mill Lane", 1}, {"Ann", jobs[0].ID, "1 Mill Lane", 0}, {"Ann", jobs[1].ID, "2 Mill Lane", 1}, {"Bert", jobs[0].ID, "2 Mill Lane", 1}, {"Bert", jobs[0].ID, "2 Mill Lane", 0},
	} {
		before, _ := s.Store.Acts(t.Context(), step.job, 0)
		who = step.who
		resp, body := post(t, h, "/jobs/"+step.job+"/fact", url.Values{"act": {"k"}, "path": {"site/address"}, "value": {step.value}})
		after, err := s.Store.Acts(t.Context(), step.job, 0)
		if err != nil || resp.StatusCode != http.StatusSeeOther || len(after)-len(before) != step.kept {
			t.Errorf("step %d, %s: %s, %d acts kept, want %d: %s", i+1, step.who, resp.Status, len(after)-len(before), step.kept, wordsOf(body))
		}
	}
}
