package finding

import "strings"

// Source is where a figure or a rule stands, and what is doubtful about it.
type Source struct{ Place, Doubt string }

func (s Source) String() string {
	if s.Doubt == "" {
		return s.Place
	}
	return s.Place + " (" + s.Doubt + ")"
}

// Sources are put together only when somebody reads them, as Text is.
type Sources func() []Source

// From returns the one source that figures rest on.
func From(place, doubt string) Sources {
	return func() []Source { return []Source{{place, doubt}} }
}

// MarshalText writes the sources as String has them.
func (s Sources) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// List returns the sources, none for none.
func (s Sources) List() []Source {
	if s == nil {
		return nil
	}
	return s()
}

// String puts the sources into one line.
func (s Sources) String() string {
	var out []string
	for _, one := range s.List() {
		out = append(out, one.String())
	}
	return strings.Join(out, "; ")
}
