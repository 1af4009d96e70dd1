package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/quantity"
	"chargewright/works"
)

// pairs is facts two to a row, set close: for what is read off, not read through.
func pairs(facts document.Facts) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Share: 38}, {Share: 52}, {Share: 34}, {Share: 56}}}
	half := (len(facts) + 1) / 2
	for i := range half {
		row := document.Row{Cells: make([]document.Cell, 4)}
		for k := i; k < len(facts); k += half {
			at := 2 * (k / half)
			row.Cells[at].Text, row.Cells[at+1].Text = facts[k].What, withNote(facts[k].Value, facts[k].Note)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

const notKnown = "not known"

// say prints a quantity, or that it is not known.
func say[Q any](m quantity.Maybe[Q]) string { return m.String() }

// known prints a fact that is so or not; nothing where nobody said.
func known(m quantity.Maybe[bool]) string {
	b, ok := m.Get()
	switch {
	case !ok:
		return ""
	case b:
		return "yes"
	}
	return "no"
}

// yesNo prints a fact that is so or not, or that it is not known.
func yesNo(m quantity.Maybe[bool]) string { return orNotKnown(known(m)) }

// written prints a text that may be empty.
func written(s string) string {
	if s = strings.Join(strings.Fields(s), " "); s == "" {
		return notKnown
	}
	return s
}

// statedFact prints a quantity and how it is known.
func statedFact[Q any](what string, q works.Stated[Q]) document.Fact {
	f := document.Fact{What: what, Value: say(q.Value)}
	if !q.Value.IsKnown() {
		return f
	}
	how := "how it is known is not said"
	if h, ok := q.KnownBy.Get(); ok {
		how = string(h)
	}
	f.Note = join(how, saidBy(q))
	return f
}

// saidBy is who found a quantity out, when, with what and why.
func saidBy[Q any](q works.Stated[Q]) string {
	return join(before("by ", q.Who), asWritten(q.When), before("with ", q.Instrument), before("because ", q.Reason))
}

// asWritten is a day, or a day with its hour, as people write it. What is no day
// stays as it stands.
func asWritten(date string) string {
	day, hour, _ := strings.Cut(date, " ")
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return date
	}
	return strings.TrimSpace(t.Format("2 January 2006") + " " + hour)
}

func before(word, text string) string {
	if text == "" {
		return ""
	}
	return word + text
}

// join joins what is not empty with commas.
func join(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, ", ")
}

// ifKnown prints a quantity in a format, or nothing.
func ifKnown[Q any](format string, m quantity.Maybe[Q]) string {
	q, ok := m.Get()
	if !ok {
		return ""
	}
	return fmt.Sprintf(format, q)
}

// orNotKnown prints a text, or that it is not known.
func orNotKnown(s string) string {
	if s == "" {
		return notKnown
	}
	return s
}

// deviceText is an overcurrent device in words.
func deviceText(d *works.Device) string {
	return orNotKnown(join(ifKnown("%s", d.Type), ifKnown("%v", d.Rating), ifKnown("breaks %v", d.BreakingCapacity), ifKnown("opens %s", d.Poles),
		ifKnown("Ir %v", d.LongSetting), ifKnown("Im %v", d.ShortSetting)))
}

// rcdText is an RCD in words, empty where nothing is said of one.
func rcdText(r *works.RCD) string {
	delayed := ""
	if d, ok := r.Delayed.Get(); ok && d {
		delayed = "time delayed"
	}
	return join(ifKnown("Type %s", r.Type), ifKnown("IΔn %v", r.Residual), ifKnown("rated %v", r.Rating), ifKnown("opens %s", r.Poles), delayed)
}

// cableText is a cable in words.
func cableText(c *works.Cable) string {
	cpc := join(ifKnown("%s", c.CPC), ifKnown("%v", c.CPCCSA))
	return orNotKnown(join(ifKnown("%v", c.CSA), ifKnown("%s", c.Construction), ifKnown("%d cores", c.Cores), ifKnown("%s", c.Insulation),
		ifKnown("%s", c.Material), ifKnown("neutral %v", c.NeutralCSA), before("cpc: ", cpc)))
}
