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

// TestClampProof: situations D19 and D20 of the trade: a step of 13 A.
func TestClampProof(t *testing.T) {
	reading := func(l1, l2, l3 quantity.Amperes) meter.Reading {
		k := quantity.Known[quantity.Amperes]
		return meter.Reading{Current: [3]quantity.Maybe[quantity.Amperes]{k(l1), k(l2), k(l3)}}
	}
	for _, tt := range []struct {
		source string
		before meter.Reading
		after  meter.Reading
		want   finding.Verdict
		reason string
	}{
		{"D19: right: the step is +13.0 A", reading(40, 1, 1), reading(53, 1, 1), finding.Meets, "that of the load"},
		{"D19: -40 A becomes -53 A: the wrong way round", reading(-40, 1, 1), reading(-53, 1, 1), finding.Fails, "wrong way round"},
		{"D20: half and falling: voltage of another line", reading(0, 1, 1), reading(-6.5, 1, 1), finding.Fails, "voltage of another"},
		{"clamp on L2 instead of L1 (smart limits, failure table)", reading(2, 2, 2), reading(2, 15, 2), finding.Fails, "shows on L2"},
		{"ratio 2 set for 1 (smart limits, failure table)", reading(2, 2, 2), reading(28, 2, 2), finding.Fails, "half or twice"},
		{"clamp not on a live conductor (smart limits, failure table)", reading(2, 2, 2), reading(2.1, 2, 2), finding.Fails, "nothing moved"},
		{"no reading", meter.Reading{}, meter.Reading{}, finding.NotKnown, "no current"},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f := ClampProof(tt.before, tt.after, 13, 0)
			if f.Verdict != tt.want || !strings.Contains(f.Why.String(), tt.reason) {
				t.Errorf("%v: %s; want %v: …%s…", f.Verdict, f.Why, tt.want, tt.reason)
			}
		})
	}
}
