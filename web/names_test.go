package web

import (
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/works"
)

// TestAwkwardNames gives the parts of a job names as people write them, and
// worse, and follows every link and opens every form of what comes of it.
func TestAwkwardNames(t *testing.T) {
	for _, name := range []string{`Bay 3/4 "east"`, `<b>R&D</b> 100 %`, "Zählerschrank №1 ⚡", "a?b#c=d&e;f", strings.Repeat("long ", 30) + "name", "it's ~1 ~0 \\", "..", "ﷺ مرآب"} {
		t.Run(name[:min(len(name), 12)], func(t *testing.T) {
			s := served(t)
			h := Secure(s.Handler())
			resp, _ := post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {name}})
			at := resp.Header.Get("Location")
			for i, list := range []string{"points", "boards", "circuits", "loads", "people", "instruments", "limiters", "electrodes", "supply/main bonding"} {
				name := name + strings.Repeat("+", i) // no two parts of a job may have one name
				form := url.Values{"act": {"add-" + whole(i)}, "list": {list}, "name " + list: {name}}
				if resp, body := post(t, h, at+"/add", form); resp.StatusCode != http.StatusSeeOther {
					t.Errorf("%s is refused: %s", list, problemOf(body))
					continue
				} else if resp, body := get(t, h, resp.Header.Get("Location")); resp.StatusCode != http.StatusOK || !strings.Contains(html.UnescapeString(body), name) {
					t.Errorf("the sheet of the new item of %s answers %s", list, resp.Status)
				}
			}
			seen := map[string]bool{}
			queue := []string{at, at + "/parts", at + "/readings", at + "/next", at + "/certificate", at + "/history", "/"}
			for len(queue) > 0 && len(seen) < 250 {
				address := queue[0]
				queue = queue[1:]
				resp, body := get(t, h, address)
				if resp.StatusCode != http.StatusOK {
					t.Errorf("%s answers %s", address, resp.Status)
				}
				if !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
					continue
				}
				for _, m := range links.FindAllStringSubmatch(body, -1) {
					to, _, _ := strings.Cut(html.UnescapeString(m[1]), "#")
					if !seen[to] && strings.HasPrefix(to, at) && !strings.Contains(to, "/papers/") {
						seen[to] = true
						queue = append(queue, to)
					}
				}
			}
			if resp, body := post(t, h, at+"/reading", url.Values{"act": {"r1"}, "at": {name}, "reading": {"RCD time at IΔn"}, "value": {"27 ms"}}); resp.StatusCode != http.StatusSeeOther {
				t.Errorf("a reading there is refused: %s", problemOf(body))
			}
			if resp, body := post(t, h, at+"/item/rename", url.Values{"act": {"n1"}, "item": {works.Under("points", name)}, "name": {"CP9"}}); resp.StatusCode != http.StatusSeeOther {
				t.Errorf("another name is refused: %s", problemOf(body))
			}
			resp, text := get(t, h, at+"/file")
			if resp.StatusCode != http.StatusOK {
				t.Fatalf("the job file answers %s", resp.Status)
			}
			if err := s.Bring(t.Context(), []byte(text)); err != nil {
				t.Errorf("the job file is not read back: %v", err)
			}
		})
	}
}

// TestANameThatIsTaken: no two parts of a job go by one name, and none by a
// word of the job file.
func TestANameThatIsTaken(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	id := jobOf(t, s)
	for _, tt := range []struct{ list, name string }{{"points", "yard board"}, {"loads", "CP1"}, {"points", "supply"}, {"boards", "yard board"}} {
		if resp, _ := post(t, h, "/jobs/"+id+"/add", url.Values{"list": {tt.list}, "name " + tt.list: {tt.name}}); resp.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("one of %s called %s answers %s", tt.list, tt.name, resp.Status)
		}
	}
	if resp, _ := post(t, h, "/jobs/"+id+"/item/rename", url.Values{"item": {"points/CP1"}, "name": {"yard board"}}); resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a point renamed as a board answers %s", resp.Status)
	}
	if acts, _ := s.Store.Acts(t.Context(), id, 0); len(acts) != 1 {
		t.Errorf("%d acts, want none but the file", len(acts))
	}
}

func problemOf(body string) string {
	_, body, _ = strings.Cut(body, `role="alert">`)
	body, _, _ = strings.Cut(body, "</div>")
	return body
}
