package commission

import (
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/quantity"
	"chargewright/sheet"
	"chargewright/standard"
)

//go:embed tables/steps.csv
var builtInSteps []byte

// Step is one step of a commissioning run.
type Step struct {
	Key        string `col:"key,key"`
	Title      string `col:"step"`
	Does       string `col:"does"`
	Amount     string `col:"amount"`
	Within     string `col:"within"`
	Tolerance  string `col:"tolerance"`
	Only       string `col:"only"`
	Person     string `col:"person"` // what a person must do first
	Why        string `col:"why"`
	Source     string `col:"source"`
	Confidence string `col:"confidence"`
}

// smartOnly marks steps that the smart charge point regulations ask for.
const smartOnly = "smart regulations"

// Steps returns the built-in run.
func Steps() []Step {
	steps, err := ReadSteps("steps.csv", builtInSteps)
	if err != nil {
		panic("commission: " + err.Error()) // a test reads them
	}
	return steps
}

// ReadSteps reads a run from CSV, every fault at once. Lines that begin with #
// are remarks.
func ReadSteps(name string, text []byte) ([]Step, error) {
	return sheet.Rows(name, string(text), func(s *Step, row sheet.Row) {
		switch {
		case s.Key == "" || s.Title == "":
			row.Fault("", "", "a step needs a key and a name")
		case deeds[s.Does] == nil:
			row.Fault("does", s.Does, "there are "+strings.Join(slices.Sorted(maps.Keys(deeds)), ", "))
		case s.Only != "" && s.Only != smartOnly:
			row.Fault("only", s.Only, fmt.Sprintf("nothing or %q is wanted", smartOnly))
		}
	})
}

// within returns how long the step waits: the sum of its parts, each a number
// of seconds or the key of a time of the rules.
func (s Step) within(rules *standard.Rulebook) (time.Duration, []standard.Citation, error) {
	var sum float64
	var cites []standard.Citation
	for _, part := range strings.Split(s.Within, "+") {
		part = strings.TrimSpace(part)
		if n, err := strconv.ParseFloat(part, 64); err == nil {
			sum += n
			continue
		}
		if t, cite, err := rules.PilotTime(part); err == nil {
			sum += float64(t)
			cites = append(cites, cite)
			continue
		}
		t, cite, err := rules.Limit(part)
		if err != nil {
			return 0, nil, fmt.Errorf("step %s waits for %q, which is neither a number of seconds nor a time of the rules", s.Key, part)
		}
		sum += t
		cites = append(cites, cite)
	}
	const longest = 4 * 3600
	if !(sum >= 0 && sum <= longest) {
		return 0, nil, fmt.Errorf("step %s waits for %q: between 0 and %d s is wanted", s.Key, s.Within, longest)
	}
	return time.Duration(sum * float64(time.Second)), cites, nil
}

// CheckSkip refuses to leave out steps that the run does not have.
func CheckSkip(steps []Step, skip []string) error {
	var there []string
	for _, s := range steps {
		there = append(there, s.Key)
	}
	for _, key := range skip {
		if !slices.Contains(there, key) {
			return fmt.Errorf("the run has no step %q to leave out: there are %s", key, strings.Join(there, ", "))
		}
	}
	return nil
}

// amperes reads the step's amount or tolerance in amperes; 0 where it has none.
func amperes(text string) quantity.Amperes {
	i, err := quantity.ParseAmperes(text)
	if err != nil {
		return 0
	}
	return i
}
