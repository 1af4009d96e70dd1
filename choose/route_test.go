package choose

import (
	"math"
	"strings"
	"testing"

	"chargewright/model"
)

// TestRoutes reads the routes of the examples.
func TestRoutes(t *testing.T) {
	j, rules, _ := openJob(t, "terrace/job.yaml")
	r := Routes(model.New(j, rules))[0]
	// Clips of a flat cable 15 to 20 mm wide: 350 mm along, 450 mm upright, from a
	// published table of a 16th-edition electrician's guide; 6 m take 19, 5 m take 16.
	if r.Legs[0].Clips != 19 || r.Legs[1].Clips != 16 || r.Legs[0].Every != 0.35 || r.Legs[0].Upright != 0.45 {
		t.Errorf("clips of %s: %+v, want 19 and 16, every 350 mm", r.Cable, r.Legs)
	}
	if math.Abs(r.Cut-12.4) > 1e-9 { // 11 m, 3 % and 0.5 m an end
		t.Errorf("cut %v m, want 12.4 m", r.Cut)
	}
	j, rules, _ = openJob(t, "bakery/job.yaml")
	m := model.New(j, rules)
	r = Routes(m)[0]
	// Conduit terms of 10 mm² are 105 each (IET On-Site Guide table E, as the facts
	// have it): three make 315, more than a 20 mm conduit of 6 m takes.
	if !strings.Contains(r.Legs[0].Holds, "conduit of 25 mm") || !strings.Contains(r.Legs[0].Holds, "terms 315") {
		t.Errorf("store trunking: %q, want a 25 mm conduit at 315 terms", r.Legs[0].Holds)
	}
	if math.Abs(r.Cut-14.4) > 1e-9 || math.Abs(r.Legs[0].Cut-7.2) > 1e-9 { // 13 m of armoured cable, 6 m of singles
		t.Errorf("cut %v m and %v m, want 14.4 m and 7.2 m", r.Cut, r.Legs[0].Cut)
	}
	if len(r.Lacks) == 0 || r.Gland != "" {
		t.Errorf("a 3-core cable's gland is not tabulated, and the route says %q, gaps %v", r.Gland, r.Lacks)
	}
	if leads := Leads(m); len(leads) != 1 || !strings.Contains(leads[0].Says, "26 m to spare") {
		t.Errorf("leads = %+v, want 26 m to spare", leads)
	}
}
