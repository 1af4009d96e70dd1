package finding

import (
	"encoding/json"
	"strings"
)

// Lack is a fact that an answer wants and the record does not hold, or holds
// with a value that no table goes by.
type Lack struct {
	Path string   // where it belongs in the job record: "circuits/van point/legs/buried/length"; empty where no entry would help
	Or   []string // paths of other facts that would do, or that go with it
	Of   string   // the thing it belongs to, in words: "circuit van point, leg 2 (buried)"
	What string   // the fact, in words: "length"
}

// String says what is lacking: "circuit van point, leg 2 (buried): length".
func (l Lack) String() string {
	if l.Of == "" {
		return l.What
	}
	return l.Of + ": " + l.What
}

// MarshalText writes a lack in words.
func (l Lack) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// Paths returns where what is lacking may be entered.
func (l Lack) Paths() []string {
	if l.Path == "" {
		return l.Or
	}
	return append([]string{l.Path}, l.Or...)
}

// Lacks is what keeps an answer from being known. None is known.
type Lacks []Lack

// MarshalJSON writes the lacks in words; none is an empty list.
func (ls Lacks) MarshalJSON() ([]byte, error) {
	return json.Marshal(append([]Lack{}, ls...))
}

// Cannot is a lack that no entry would mend, such as a fault of the rulebook.
func Cannot(why string) Lacks { return Lacks{{What: why}} }

// Gather puts lacks together, each once.
func Gather(all ...Lacks) Lacks {
	var out Lacks
	seen := map[[3]string]bool{}
	for _, some := range all {
		for _, l := range some {
			if key := [3]string{l.Of, l.What, l.Path}; !seen[key] {
				seen[key] = true
				out = append(out, l)
			}
		}
	}
	return out
}

// Words says each lack.
func (ls Lacks) Words() []string {
	var out []string
	for _, l := range ls {
		out = append(out, l.String())
	}
	return out
}

// String says all that is lacking.
func (ls Lacks) String() string { return strings.Join(ls.Words(), "; ") }

// Briefly says all that is lacking, what lacks of one thing in a row behind its
// name: "limiter A: limit, fail-safe current".
func (ls Lacks) Briefly() string {
	var out strings.Builder
	for i, l := range ls {
		switch {
		case i > 0 && l.Of != "" && l.Of == ls[i-1].Of:
			out.WriteString(", " + l.What)
			continue
		case i > 0:
			out.WriteString("; ")
		}
		out.WriteString(l.String())
	}
	return out.String()
}
