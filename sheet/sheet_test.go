package sheet

import (
	"strings"
	"testing"
)

// TestNumbers: decimal numbers as people and programs write them.
func TestNumbers(t *testing.T) {
	for _, tt := range []struct {
		text   string
		places int
		want   int64
		cut    int
		ok     bool
	}{
		{"12.5", 2, 1250, 0, true}, {"12,5", 2, 1250, 0, true}, {"1,234.5", 1, 12345, 0, true}, {"1.234,5", 1, 12345, 0, true}, {"1,234,567", 0, 1234567, 0, true},
		{"0.136666667", 6, 136667, 3, true}, {"-3.2", 1, -32, 0, true}, {"7", 3, 7000, 0, true}, {"0", 0, 0, 0, true}, {"5.", 1, 50, 0, true},
		{"", 2, 0, 0, false}, {".", 2, 0, 0, false}, {"1.2.3,4.5", 2, 0, 0, false}, {"12 5", 2, 0, 0, false}, {"1e5", 2, 0, 0, false}, {"NaN", 2, 0, 0, false}, {"1,23,456", 0, 0, 0, false}, {"99999999999999999999", 2, 0, 0, false}, {"--1", 0, 0, 0, false},
	} {
		got, cut, ok := Number([]byte(tt.text), tt.places)
		if got != tt.want || cut != tt.cut || ok != tt.ok {
			t.Errorf("Number(%q, %d) = %d, %d, %v; want %d, %d, %v", tt.text, tt.places, got, cut, ok, tt.want, tt.cut, tt.ok)
		}
	}
}

// TestCellsAreGuarded: a text that a spreadsheet would run is set behind an
// apostrophe; numbers are left alone.
func TestCellsAreGuarded(t *testing.T) {
	var out strings.Builder
	if err := Write(&out, [][]string{{"=1+1", "+44 20", "-12.5", "@x", "van", "", " =1+1", "＝1+1", "- 5", "-1+cmd", "-5 A", "\n=1"}}); err != nil {
		t.Fatal(err)
	}
	if got := out.String(); got != "'=1+1,'+44 20,-12.5,'@x,van,,' =1+1,'＝1+1,'- 5,'-1+cmd,-5 A,\"'\n=1\"\n" {
		t.Errorf("Write = %s", got)
	}
}
