package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
)

// many is a job file of as many circuits, each with its leg, point and reading.
func many(circuits int) string {
	var b strings.Builder
	b.WriteString("job: A long street (invented)\ninvented: yes\nsupply:\n  earthing: TN-S\n  phases: 3\n  Ze: 0.2 Ω (measured)\n  cut-out: {rating: 100 A, type: BS 88-3}\n" +
		"boards:\n  - name: main\n    fed from: supply\n    ways: 500\ncircuits:\n")
	for i := range circuits {
		fmt.Fprintf(&b, "  - name: c%d\n    from: main\n    to: p%d\n    phases: L%d\n    cable: {csa: 6 mm², cpc csa: 6 mm², material: copper, insulation: 70 °C thermoplastic}\n    legs:\n      - name: wall\n        length: 12 m\n        method: C\n", i, i, i%3+1)
	}
	b.WriteString("points:\n")
	for i := range circuits {
		fmt.Fprintf(&b, "  - name: p%d\n    power: 7.4 kW\n", i)
	}
	return b.String()
}

// BenchmarkLargeJobs says what the check and the page of a job cost as it grows.
func BenchmarkLargeJobs(b *testing.B) {
	for _, n := range []int{250, 1000, 4000} {
		s := served(b)
		if err := s.Bring(b.Context(), []byte(many(n))); err != nil {
			b.Fatal(err)
		}
		h, id := s.Handler(), jobOf(b, s)
		for name, page := range map[string]string{"check": "/api/v1/jobs/" + id + "/check", "page": "/jobs/" + id} {
			b.Run(fmt.Sprintf("%s of %d circuits", name, n), func(b *testing.B) {
				for b.Loop() {
					if resp, body := get(b, h, page); resp.StatusCode != http.StatusOK {
						b.Fatalf("%s %.300s", resp.Status, body)
					}
				}
			})
		}
	}
}

// TestASheetShowsLeastElse: what the short way upwards finds is what all sheets
// together would: of those that show a path, the one that shows least else.
func TestASheetShowsLeastElse(t *testing.T) {
	for _, file := range []string{"pool/job.yaml", "bakery/complete.yaml", "terrace/open.yaml"} {
		s := served(t, file)
		acts, err := s.Store.Acts(t.Context(), jobOf(t, s), 0)
		if err != nil {
			t.Fatal(err)
		}
		o, err := fold("j", acts)
		if err != nil {
			t.Fatal(err)
		}
		paths := append(o.Record.Paths(), "", "supply", "site", "nothing", "supply/none", "circuits/none/legs/none")
		for _, f := range o.Found {
			paths = append(paths, f.Path)
		}
		for _, path := range paths {
			want := ""
			for _, e := range o.elements() {
				if holds(e.Of, path) && len(e.Of) > len(want) {
					want = e.Of
				}
			}
			if got := o.sheetOf(path); got != want {
				t.Errorf("%s: %q is shown on %q, want %q", file, path, got, want)
			}
		}
	}
}
