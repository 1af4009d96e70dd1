package ledger

import (
	"bytes"
	"io"
	"os"
	"strings"
	"testing"

	"chargewright/demand"
)

// recorded returns one column of an invented recording of the bakery.
func recorded(t *testing.T, name string, column int) Recording {
	t.Helper()
	text, err := os.ReadFile("../examples/bakery/clamp/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	for _, line := range strings.Split(string(text), "\n") {
		if cells := strings.Split(line, ","); len(cells) > column && line[0] != '#' {
			out.WriteString(cells[0] + "," + cells[column] + "\n")
		}
	}
	return Recording{Table: Table{Name: name + ".csv", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(out.Bytes())), nil }}}
}

// TestOneClampAlone: a recording of one clamp has no line to be taken for
// another one. Each invented recording carries the fault its name says, in the
// clamp on L2, where the point is.
func TestOneClampAlone(t *testing.T) {
	for name, want := range map[string]demand.ClampVerdict{"right": demand.ClampRight, "reversed": demand.ClampReversed, "not-seen": demand.ClampNotSeen, "wrong-ratio": demand.ClampWrongRatio, "paired": demand.ClampPaired} {
		r, err := Clamp{Site: recorded(t, name, 2), Point: recorded(t, "point", 1), Zone: "Europe/London", Line: 1}.Prove()
		if err != nil || r.Verdict != want {
			t.Errorf("the clamp alone in %s.csv is found %q, %v, want %q", name, r.Verdict, err, want)
		}
	}
}

// TestRecordingsThatSayTooLittle: what is refused, and in which words.
func TestRecordingsThatSayTooLittle(t *testing.T) {
	site := func(text string) Recording {
		return Recording{Table: Table{Name: "site.csv", Open: func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }}}
	}
	for want, r := range map[string]Recording{
		"the current of two lines": site("time,L1 A,L3 A\n2026-11-25 14:00:00,1,2\n"),
		"judged by currents":       site("time,kW\n2026-11-25 14:00:00,1\n"),
		"no column is headed time": site("when,A\n2026-11-25 14:00:00,1\n"),
	} {
		_, err := Clamp{Site: r, Point: recorded(t, "point", 1), Zone: "Europe/London", Line: 1}.Prove()
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "site.csv:1") {
			t.Errorf("%v, want it to name the line and %q", err, want)
		}
	}
	_, err := Clamp{Site: recorded(t, "right", 2), Point: recorded(t, "point", 1), Zone: "Local"}.Prove()
	if err == nil || !strings.Contains(err.Error(), `zone: "Local" is no time zone`) {
		t.Errorf("the machine's own zone: %v", err)
	}
}
