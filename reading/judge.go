package reading

import (
	"fmt"
	"math"

	"chargewright/finding"
)

// The sides of a limit.
const (
	AtMost  = "at most"
	AtLeast = "at least"
)

// Bound is one side that a reading is held to.
type Bound struct {
	Limit finding.Amount
	Is    string // AtMost or AtLeast
	Judge string // why a person judges what lies beyond it; empty where it fails
	Next  string // what to do where it is not met; empty for what the test as a whole says
}

// Tolerance is what the product standard lets an instrument be out by.
type Tolerance struct {
	Share    float64
	Standard string
}

// margin is what is left on the right side of a bound.
func (b Bound) margin(n float64) float64 {
	if b.Is == AtLeast {
		return n - b.Limit.Number
	}
	return b.Limit.Number - n
}

// verdict holds a value to one side.
//
//	a number         meets where margin ≥ 0
//	more than n      fails at most L where n ≥ L, meets at least L where n ≥ L; otherwise not known
//	less than n      the other way about
//	open, no trip    more than any limit
func (b Bound) verdict(v Value) finding.Verdict {
	atMost := b.Is != AtLeast
	met := b.margin(v.Amount) >= -finding.Slack*math.Abs(b.Limit.Number)
	switch v.Is {
	case Number:
	case More:
		if v.Amount < b.Limit.Number {
			return finding.NotKnown
		}
		met = !atMost
	case Less:
		if v.Amount > b.Limit.Number {
			return finding.NotKnown
		}
		met = atMost
	case Open:
		met = !atMost
	case NoTrip:
		met = false
	default:
		return finding.NotKnown
	}
	switch {
	case met:
		return finding.Meets
	case b.Judge != "":
		return finding.JudgeOnSite
	}
	return finding.Fails
}

// rank orders verdicts, the one that tells most last.
var rank = [...]int{finding.Meets: 0, finding.JudgeOnSite: 1, finding.NotKnown: 2, finding.Fails: 3}

// Judged is a reading held against its limits: the finding, and which side of
// its limit is allowed.
type Judged struct {
	finding.Finding
	Side string
}

// Judge completes a finding about a reading: value, limit, margin, verdict, why
// and next. The bound that tells most is the one it names; where all are met,
// the first. What was written is quoted; failed is what to do where it fails.
func (k *Kind) Judge(f finding.Finding, v Value, written string, bounds []Bound, may Tolerance, failed string) Judged {
	tells := Bound{}
	f.What = "reading against its limit"
	switch {
	case v.Is == NotDone:
		f.What, f.Verdict = "reading", finding.NotKnown
		f.Why = finding.Say("entered as %s: it was not taken", written)
		f.Next = "take it, or enter a limitation with its reason"
		return Judged{f, tells.Is}
	case v.Is == Right:
		f.What, f.Verdict, f.Why = "seen to be right", finding.Meets, finding.Say("entered as %s", written)
		return Judged{f, tells.Is}
	case v.Is == Wrong:
		f.What, f.Verdict, f.Why = "seen to be right", finding.Fails, finding.Say("entered as %s", written)
		f.Next = "isolate, lock off and prove dead before anything is put right"
		return Judged{f, tells.Is}
	}
	if v.HasAmount() {
		f.Value = finding.Of(v.Amount, k.Measure)
	}
	f.Verdict = finding.Meets
	if k.real > 0 && len(bounds) > 0 {
		bounds = append(bounds[:len(bounds):len(bounds)], Bound{Limit: finding.Of(k.real, k.Measure), Is: AtLeast, Judge: k.unreal, Next: "read it again"})
	}
	for i, b := range bounds {
		if got := b.verdict(v); i == 0 || rank[got] > rank[f.Verdict] {
			f.Verdict, tells = got, b
		}
	}
	f.Limit = tells.Limit
	switch {
	case v.Is == NoTrip:
		f.Verdict, f.Next = finding.Fails, failed
		f.Why = finding.Say("entered as %s: it has to trip", written)
		return Judged{f, tells.Is}
	case k.Through && (v.Is == Open || v.Is == More && k.Class == "low ohm" && v.Amount >= endOfOhms):
		f.Verdict, f.Next = finding.Fails, failed
		f.Why = finding.Say("entered as %s: there is no way through", written)
		return Judged{f, tells.Is}
	case len(bounds) == 0:
		f.What, f.Verdict = "reading", finding.NotKnown
		f.Why = finding.Say("no single limit is set for it: it is compared with the prediction")
		f.Next = "compare it with the expected band"
		return Judged{f, tells.Is}
	case v.Is == Open:
		f.Why = finding.Say("%s: more than the instrument shows, %s %s", written, tells.Is, tells.Limit)
		return Judged{f, tells.Is}
	}
	margin := tells.margin(v.Amount)
	f.Margin = finding.Of(margin, k.Measure)
	out := may.Share * math.Abs(v.Amount)
	f.Why = finding.Say("%s, %s %s; %s lets an instrument be out by %s here", written, tells.Is, tells.Limit, may.Standard, k.Measure.Show(out))
	switch {
	case f.Verdict == finding.NotKnown:
		f.Next = "read it again on a range that reaches " + tells.Limit.String()
	case f.Verdict == finding.JudgeOnSite:
		f.Why, f.Next = f.Why.Then(finding.Say("%s", tells.Judge)), tells.Next
	case f.Verdict == finding.Fails:
		if f.Next = tells.Next; f.Next == "" {
			f.Next = failed
		}
	case margin < out:
		f.Next = fmt.Sprintf("the margin is less than the instrument may be out by (%s, %s): see its certificate, or read again with another",
			k.Measure.Show(out), may.Standard)
	}
	return Judged{f, tells.Is}
}

// endOfOhms is a range no sound way through comes near: "> 1999 Ω" on an
// ohmmeter is an open circuit (common practice, no source).
const endOfOhms = 1000
