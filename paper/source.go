package paper

import (
	"fmt"
	"strings"
)

// sources numbers the places that values stand in, each once, as papers cite
// them.
type sources struct {
	list   []string
	number map[string]int
}

// cite returns the numbers of the sources in a finding's source text.
func (s *sources) cite(text string) string {
	if s.number == nil {
		s.number = map[string]int{}
	}
	var numbers []string
	for _, one := range apart(text) {
		n, known := s.number[one]
		if !known {
			s.list = append(s.list, one)
			n = len(s.list)
			s.number[one] = n
		}
		numbers = append(numbers, fmt.Sprint(n))
	}
	return strings.Join(numbers, ", ")
}

// apart splits a source text at its semicolons, those in brackets left alone.
// What goes on in small letters belongs to the source before it, unless it
// names one of the few that are written so.
func apart(text string) []string {
	var out []string
	depth, from := 0, 0
	take := func(to int) {
		one := strings.TrimSpace(text[from:to])
		switch {
		case one == "":
		case len(out) > 0 && one[0] >= 'a' && one[0] <= 'z' && !strings.HasPrefix(one, "common practice") &&
			!strings.HasPrefix(one, "engineering") && !strings.HasPrefix(one, "network operators"):
			out[len(out)-1] += "; " + one
		default:
			out = append(out, one)
		}
	}
	for i, r := range text {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		case ';':
			if depth == 0 {
				take(i)
				from = i + 1
			}
		}
	}
	take(len(text))
	return out
}

// doubts are the words by which a source text says that a row is not settled.
var doubts = []string{"not checked against", "from memory", "no source", "no published source", "secondary source", "not seen in print"}

// doubtOf splits a source into where it stands and the doubt about it, which
// is the last bracket if that holds words of doubt.
func doubtOf(source string) (place, doubt string) {
	i := strings.LastIndex(source, " (")
	if i < 0 || !strings.HasSuffix(source, ")") {
		return source, ""
	}
	inside := source[i+2 : len(source)-1]
	for _, d := range doubts {
		if strings.Contains(inside, d) {
			return source[:i], inside
		}
	}
	return source, ""
}
