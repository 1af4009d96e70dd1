package paper

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"chargewright/finding"
)

// sources numbers the places that values stand in, each once, as papers cite
// them.
type sources struct {
	list  []finding.Source
	short bool // a clause of a standard by its number alone: what it asks stands beside it
}

// clauseNumber is a place in a standard up to the number of a clause, and the
// words about it that follow.
var clauseNumber = regexp.MustCompile(`^(.*\d+\.\d+(?:\.\d+)*), .*`)

// cite returns the numbers of the sources of a finding.
func (s *sources) cite(of finding.Sources) string {
	var numbers []string
	for _, one := range of.List() {
		if s.short {
			one.Place = clauseNumber.ReplaceAllString(one.Place, "$1")
			if practice, _, is := strings.Cut(one.Place, ","); is && practice == "common practice" {
				one.Place = practice
			}
		}
		n := slices.Index(s.list, one)
		if n < 0 {
			n = len(s.list)
			s.list = append(s.list, one)
		}
		numbers = append(numbers, fmt.Sprint(n+1))
	}
	return strings.Join(slices.Compact(numbers), ", ")
}
