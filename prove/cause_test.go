package prove

import (
	"strings"
	"testing"
)

// TestWhatIsNotEnergisedSaysSo holds the causes under which a live test waits
// against what the table tells the reader of them.
func TestWhatIsNotEnergisedSaysSo(t *testing.T) {
	for _, c := range UsualPriors().causes {
		if says := strings.Contains(c.danger, "not energise"); says != c.grave {
			t.Errorf("%s: live tests wait is %v, and its danger is %q", c.key, c.grave, c.danger)
		}
	}
}
