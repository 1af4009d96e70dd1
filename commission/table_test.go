package commission

import (
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/meter"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestTheBuiltInRun: every step's time can be worked out, every deed is used,
// and a source stands beside each.
func TestTheBuiltInRun(t *testing.T) {
	book, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for _, s := range Steps() {
		used[s.Does] = true
		if _, _, err := s.within(book); err != nil {
			t.Error(err)
		}
		if s.Confidence == "" || s.Why == "" {
			t.Errorf("%s: why and how far it was checked are wanted", s.Key)
		}
	}
	for does := range deeds {
		if !used[does] {
			t.Errorf("no step does %q", does)
		}
	}
}

func TestFaultsOfARunAreToldAtOnce(t *testing.T) {
	head := "key,step,does,amount,within,tolerance,only,person,why,source,confidence\n"
	_, err := ReadSteps("own.csv", []byte(head+"a,one,dance,,1,,,,w,s,c\na,two,stop,,1,,,,w,s,c\nb,,stop,,1,,,,w,,c\n"))
	if err == nil {
		t.Fatal("a run with three faults was taken")
	}
	for _, want := range []string{`own.csv:2: does is "dance"`, "own.csv:3: a is there twice", "own.csv:4: a step needs a key and a name"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v: want %q in it", err, want)
		}
	}
}

// TestProveClamp: situations D19 and D20 of the trade: a step of 13 A.
func TestProveClamp(t *testing.T) {
	k := quantity.Known[quantity.Amperes]
	reading := func(l1, l2, l3 quantity.Amperes) meter.Reading {
		return meter.Reading{Current: [3]quantity.Maybe[quantity.Amperes]{k(l1), k(l2), k(l3)}}
	}
	single := func(i quantity.Amperes, p quantity.Watts) meter.Reading {
		return meter.Reading{Current: [3]quantity.Maybe[quantity.Amperes]{k(i)}, Power: [3]quantity.Maybe[quantity.Watts]{quantity.Known(p)}}
	}
	for _, tt := range []struct {
		source string
		before meter.Reading
		after  meter.Reading
		want   finding.Verdict
		reason string
	}{
		{"D19: right: the step is +13.0 A", reading(40, 1, 1), reading(53, 1, 1), finding.Meets, "follows the load"},
		{"D19: -40 A becomes -53 A: the wrong way round", reading(-40, 1, 1), reading(-53, 1, 1), finding.Fails, "the wrong way"},
		{"D20: half and falling: voltage of another line", reading(0, 1, 1), reading(-6.5, 1, 1), finding.Fails, "voltage of another"},
		{"clamp on L2 instead of L1 (smart limits, failure table)", reading(2, 2, 2), reading(2, 15, 2), finding.Fails, "shows on channel L2"},
		{"ratio 2 set for 1 (smart limits, failure table)", reading(2, 2, 2), reading(28, 2, 2), finding.Fails, "wrong ratio"},
		{"clamp not on a live conductor (smart limits, failure table)", reading(2, 2, 2), reading(2.1, 2, 2), finding.Fails, "no channel follows"},
		{"one phase, right: 40 A drawn, then 53 A", single(40, 9200), single(53, 12190), finding.Meets, "follows the load"},
		{"one phase, D19: the sign is that of the power", single(40, -9200), single(53, -12190), finding.Fails, "the wrong way"},
		{"no reading", meter.Reading{}, meter.Reading{}, finding.NotKnown, "no current"},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f := ProveClamp(tt.before, tt.after, 13, 0)
			if f.Verdict != tt.want || !strings.Contains(f.Why.String(), tt.reason) {
				t.Errorf("%v: %s; want %v: …%s…", f.Verdict, f.Why, tt.want, tt.reason)
			}
		})
	}
}
