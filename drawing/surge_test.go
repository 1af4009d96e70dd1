package drawing

import (
	"strings"
	"testing"
)

// TestSurgeLineAddsTheLeads: a device of 1.5 kV with 0.20 + 0.25 m of leads lets
// 1.95 kV through at 1 kV for each metre (practitioners' case D14: V = L di/dt,
// 1 µH/m at 1 kA/µs), and what stands further than 10 m is said so.
func TestSurgeLineAddsTheLeads(t *testing.T) {
	s := SurgeLine(load(t, "../examples/bakery/job.yaml"))
	for _, want := range []string{"= 1.95 kV; meets 2.5 kV by 550 V", "22 m of cable from the device ahead, above 10 m", "41 m of cable", "stands 4 kV by its maker"} {
		if !strings.Contains(s.Description, want) {
			t.Errorf("the sheet does not say %q: %s", want, s.Description)
		}
	}
	for _, text := range s.Texts() {
		if left, _, right, bottom := text.Box(); left < 0 || right > s.Width || bottom > s.Height {
			t.Errorf("%q leaves the sheet", text.Text)
		}
	}
}
