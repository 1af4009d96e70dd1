package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"chargewright/store"
)

// FuzzSync: whatever a device sends is taken or refused in words; what is taken
// is said by who is signed in, can be read back, and makes a job that can be read.
func FuzzSync(f *testing.F) {
	for _, body := range []string{
		`{"acts":[]}`, `{"acts":[{"id":"a","job":"j","what":"entered","who":"Sue","when":"2026-11-25T09:00:00Z","entries":[{"id":"e","path":"supply/Ze","value":"0.2 Ω","who":"Sue"}]}]}`,
		`{"acts":[{"id":"p","job":"j","when":"2026-11-25T09:00:00Z","photo":{"element":"cut-out","type":"image/png","content":"AA=="}}]}`,
		`{"acts":[{"id":"u","job":"j","when":"x","undoes":"a","entries":[{"id":"e","path":"circuits/c1/legs/wall/length","value":"","follows":"e f"}]}]}`,
		`{"acts":[{"id":"s","job":"j","when":"2026-11-25T09:00:00Z","key":"00","sign":"00","arrived":"2030-01-01T00:00:00Z","entries":[{"id":"e","path":"job","value":"Barn"}]}]}`,
		`{"acts":null}`, `[]`, `{`, ``,
	} {
		f.Add(body)
	}
	f.Fuzz(func(t *testing.T, body string) {
		s := served(t)
		s.SignerOf = nil
		s.NamedByAccount()
		r := SignedIn(httptest.NewRequest("POST", "/api/v1/acts", strings.NewReader(body)), &Person{Name: "Ann", Role: Electrician})
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
		if w.Code == http.StatusInternalServerError {
			t.Fatalf("%q breaks it", body)
		}
		jobs, err := s.Store.Jobs(t.Context())
		if err != nil || w.Code != http.StatusOK && len(jobs) > 0 {
			t.Fatalf("%q is refused and kept: %v", body, err)
		}
		for _, j := range jobs {
			acts, err := s.Store.Acts(t.Context(), j.ID, 0)
			if err != nil {
				t.Fatal(err)
			}
			for _, a := range acts {
				if a.Who != "Ann" || a.Arrived == "" {
					t.Fatalf("%q: said by %q, arrived %q", body, a.Who, a.Arrived)
				}
				for _, e := range a.Entries {
					if e.Who != "Ann" && !strings.HasPrefix(e.Who, "Ann (naming ") {
						t.Fatalf("%q: an entry is said by %q", body, e.Who)
					}
				}
			}
			record := store.Record(acts)
			record.Job("")
			record.Conflicts()
		}
	})
}
