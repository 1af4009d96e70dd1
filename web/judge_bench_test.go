package web

import (
	"net/http"
	"net/url"
	"testing"
)

// BenchmarkVerdictAfterAKey is what the server works after each key of a
// reading, in a place of one point and in one of twelve: 50 ms at the most.
func BenchmarkVerdictAfterAKey(b *testing.B) {
	for _, place := range []struct{ file, at string }{{"bakery/all-well.yaml", "CP1"}, {"pool/complete.yaml", "CP1"}} {
		b.Run(place.file, func(b *testing.B) {
			s := served(b, place.file)
			h := s.Handler()
			address := "/jobs/" + jobOf(b, s) + "/reading/judge?"
			keys := []string{"0", "0.3", "0.34", "2.9"}
			for i := 0; b.Loop(); i++ {
				ask := url.Values{"at": {place.at}, "reading": {"Zs"}, "value": {keys[i%len(keys)]}, "unit": {"Ω"}}
				if resp, body := get(b, h, address+ask.Encode()); resp.StatusCode != http.StatusOK {
					b.Fatal(resp.Status, body)
				}
			}
		})
	}
}
