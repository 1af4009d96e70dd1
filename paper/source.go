package paper

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
)

// sources numbers the places that values stand in, each once, as papers cite
// them.
type sources struct{ list []finding.Source }

// cite returns the numbers of the sources of a finding.
func (s *sources) cite(of finding.Sources) string {
	var numbers []string
	for _, one := range of.List() {
		n := slices.Index(s.list, one)
		if n < 0 {
			n = len(s.list)
			s.list = append(s.list, one)
		}
		numbers = append(numbers, fmt.Sprint(n+1))
	}
	return strings.Join(numbers, ", ")
}
