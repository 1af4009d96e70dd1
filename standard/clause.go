package standard

import (
	"fmt"
	"strings"
)

func (t *tables) readClauses(l *loader) {
	t.clauses, t.limits = map[string]*row{}, map[string]cell[float64]{}
	l.each("clauses.csv", "key", func(r *record) {
		key := r.text("key")
		if t.clauses[key] != nil {
			l.fault("clauses.csv:%d: the key %q is there twice", r.line, key)
		}
		t.clauses[key] = r.row
	})
	l.each("limits.csv", "key,value,unit", func(r *record) {
		key := r.text("key")
		if _, twice := t.limits[key]; twice {
			l.fault("limits.csv:%d: the key %q is there twice", r.line, key)
		}
		t.limits[key] = cell[float64]{value: r.filled("value"), row: r.row}
	})
}

// Clause returns the citation of a requirement by its key, a few trade words
// such as "volt drop" or "breaking capacity"; an unknown key gives the zero
// Citation.
func (b *Rulebook) Clause(key string) Citation {
	if r := b.clauses[key]; r != nil {
		return b.cite(r)
	}
	return Citation{}
}

// ClauseKeys returns the keys that Clause knows, in order.
func (b *Rulebook) ClauseKeys() []string { return sorted(b.clauses) }

// Limit returns a single figure of the rules by its key, such as "touch
// voltage" or "volt drop other public", in A, V, Ω, Ω·m, s, m, mm², °C or a
// plain ratio.
func (b *Rulebook) Limit(key string) (float64, Citation, error) {
	if c, ok := b.limits[key]; ok {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("the limit %q", key), Known: b.near(key)}
}

// LimitKeys returns the keys that Limit knows, in order.
func (b *Rulebook) LimitKeys() []string { return sorted(b.limits) }

// near returns the limit keys that share a word with key, or all of them.
func (b *Rulebook) near(key string) []string {
	var out []string
	for _, k := range b.LimitKeys() {
		for _, w := range strings.Fields(key) {
			if strings.Contains(k, w) {
				out = append(out, k)
				break
			}
		}
	}
	if out == nil {
		return b.LimitKeys()
	}
	return out
}
