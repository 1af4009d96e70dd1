package paper

import (
	"cmp"
	_ "embed"
	"maps"
	"slices"
	"strings"
	"sync"

	"chargewright/sheet"
)

//go:embed form-fields.csv
var formText string

// formField is one row of the table of what the papers must carry.
type formField struct {
	what      string // as printed; {} is the name of the part of the job it is about
	path      string // of its fact in the record; a * is that part of the job
	get       string // how to get it
	waived    string // always, or the case in which it is; empty where it must be there
	otherwise string // what stands there where nothing is recorded
	source    string
}

// always marks a row that is never missing: it is left out where it says nothing.
const always = "always"

// formFields is the table, by field: a key of the standard's model forms, with
// more words behind a colon where one key is asked for in several ways.
var formFields = sync.OnceValue(func() map[string]formField {
	t, err := sheet.Own("form-fields.csv", formText, "field", "what", "path", "how to get it", "waived", "otherwise", "source")
	if err = cmp.Or(err, t.Faults.Err()); err != nil {
		panic(err) // it is our own table
	}
	out := map[string]formField{}
	for _, row := range t.Rows {
		out[row.Get("field")] = formField{row.Get("what"), row.Get("path"), row.Get("how to get it"), row.Get("waived"), row.Get("otherwise"), row.Get("source")}
	}
	return out
})

// field is a row of the table with what the record says of it.
func field(named, value string) item {
	row, ok := formFields()[named]
	if !ok {
		panic("no row of form-fields.csv is " + named + ": " + strings.Join(slices.Sorted(maps.Keys(formFields())), ", "))
	}
	key, _, _ := strings.Cut(named, ":")
	return item{key: key, what: row.what, value: orElse(value, row.otherwise), of: row.path, get: row.get, waive: row.waived == always}
}

// named puts the name of a part of the job into the words.
func (i item) named(name string) item {
	i.what, i.get = strings.ReplaceAll(i.what, "{}", name), strings.ReplaceAll(i.get, "{}", name)
	return i
}

// under says in which part of the job the fact stands.
func (i item) under(part string) item {
	_, rest, _ := strings.Cut(i.of, "*")
	i.of = part + rest
	return i
}

func (i item) noted(note string) item {
	i.note = note
	return i
}

// waived says whether the case is one in which the row is left out.
func (i item) waived(so bool) item {
	i.waive = so
	return i
}

// taken says that the item is a reading, and where.
func (i item) taken(at, reading string) item {
	i.at, i.reading = at, reading
	return i
}
