package job

// The entries of a record read together, in one place for every reader: what
// counts at each path, what was there before it, and what waits for a person.
//
// Cause beats clock. An entry follows those it names: whoever made it saw them.
// What another entry follows never counts again, whatever the clocks say, and
// what nobody saw is never passed over: it counts, or it is a difference. Clocks
// only put in order what is otherwise unordered, and so say which of several
// values stands there until a person settles them.

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"chargewright/trade"
	"chargewright/works"
)

// fold is a record read together.
type fold struct {
	root   *branch
	paths  []string // that have entries, in order
	differ map[string][]Entry
	broken []string // facts of which parts were entered on their own
}

// fold reads the record together when it is first asked for.
func (r *Record) fold() *fold {
	r.once.Do(func() {
		f := &fold{root: newBranch(), differ: map[string][]Entry{}}
		all := r.Entries()
		for len(all) > 0 {
			path := all[0].Path
			n := slices.IndexFunc(all, func(e Entry) bool { return e.Path != path })
			if n < 0 {
				n = len(all)
			}
			b := f.root.at(path, true)
			b.made = inOrder(all[:n])
			b.heads = heads(b.made)
			f.paths = append(f.paths, path)
			if differ(path, b.heads) {
				f.differ[path] = b.heads
			}
			all = all[n:]
		}
		f.unseen(f.root, jobShape, "", nil)
		r.read = f
	})
	return r.read
}

// inOrder puts the entries of one path after those they follow, and by their
// clocks where they follow none of each other.
func inOrder(entries []Entry) []Entry {
	if len(entries) == 1 {
		return entries
	}
	byID := map[string][]int{}
	for i, e := range entries {
		byID[e.ID] = append(byID[e.ID], i)
	}
	out := make([]Entry, 0, len(entries))
	put := make([]bool, len(entries))
	var add func(i int)
	add = func(i int) {
		if put[i] {
			return
		}
		put[i] = true
		for id := range strings.FieldsSeq(entries[i].Follows) {
			for _, before := range byID[id] {
				add(before)
			}
		}
		out = append(out, entries[i])
	}
	for i := range entries {
		add(i)
	}
	return out
}

// heads returns the entries of one path that no other follows. Where some
// follow each other in a ring, a person must look: those count as not followed.
func heads(entries []Entry) []Entry {
	if len(entries) == 1 {
		return entries
	}
	byID := map[string][]int{}
	for i, e := range entries {
		byID[e.ID] = append(byID[e.ID], i)
	}
	followed := make([]bool, len(entries))
	for i, e := range entries {
		for id := range strings.FieldsSeq(e.Follows) {
			for _, before := range byID[id] {
				followed[before] = followed[before] || entries[before].ID != entries[i].ID
			}
		}
	}
	seen := make([]bool, len(entries)) // from a head, through what it follows
	var see func(i int)
	see = func(i int) {
		for id := range strings.FieldsSeq(entries[i].Follows) {
			for _, before := range byID[id] {
				if !seen[before] && followed[before] {
					seen[before] = true
					see(before)
				}
			}
		}
	}
	for i := range entries {
		if !followed[i] {
			see(i)
		}
	}
	var out []Entry
	for i, e := range entries {
		if !seen[i] {
			out = append(out, e)
		}
	}
	return out
}

// differ reports that entries of a path do not all say the same.
func differ(path string, entries []Entry) bool {
	if len(entries) < 2 {
		return false
	}
	f := FieldAt(path)
	first := meaning(f, entries[0].Value)
	return slices.ContainsFunc(entries[1:], func(e Entry) bool { return meaning(f, e.Value) != first })
}

// unseen notes the facts under an item that whoever took it out did not see.
// out is the entry that took out the item the branch lies in.
func (f *fold) unseen(b *branch, s *Part, path string, out *Entry) {
	if s == nil {
		return
	}
	for name, under := range b.under {
		field := s.Named(name)
		if field == nil {
			continue
		}
		at := works.Under(path, name)
		switch {
		case field.Single():
			if e := under.now(); out != nil && e.Value != "" && f.differ[at] == nil {
				f.differ[at] = append(slices.Clone(under.heads), *out)
			}
			if field.Stated() && len(under.under) > 0 {
				f.broken = append(f.broken, at)
			}
		case field.form == listForm:
			for name, item := range under.under {
				item.out(f, field.Of, works.Under(at, name), out)
			}
		case field.Of != nil:
			f.unseen(under, field.Of, at, out)
		}
	}
}

// out looks under one item of a list. Taking an item out empties every fact
// seen under it; an older record only says that the item is out, and what stands
// under it was seen unless it was entered later.
func (b *branch) out(f *fold, s *Part, path string, out *Entry) {
	e := b.now()
	if len(b.heads) == 0 || e.Value != "" || out != nil {
		f.unseen(b, s, path, out)
		return
	}
	if b.emptiedWith(e) {
		f.unseen(b, s, path, &e)
		return
	}
	later := newBranch()
	b.after(e, later)
	f.unseen(later, s, path, &e)
}

// emptiedWith reports that a fact under the branch was emptied in one act with e.
func (b *branch) emptiedWith(e Entry) bool {
	for _, under := range b.under {
		if under.emptiedWith(e) || slices.ContainsFunc(under.made, func(u Entry) bool { return u.Value == "" && u.Who == e.Who && u.When == e.When }) {
			return true
		}
	}
	return false
}

// after copies what was entered under the branch after e.
func (b *branch) after(e Entry, to *branch) {
	for name, under := range b.under {
		next := newBranch()
		if len(under.heads) > 0 && compareWhen(under.now().When, e.When) > 0 {
			next.heads = under.heads
		}
		under.after(e, next)
		to.under[name] = next
	}
}

// Job reads the entries together. Where entries differ and none follows the
// other, the latest counts until a person settles it: see Conflicts. An error
// is Problems; file is what the record is called in them.
func (r *Record) Job(file string) (*Job, error) {
	f := &faults{file: file}
	for _, path := range slices.Sorted(slices.Values(r.fold().broken)) {
		f.add(Problem{Field: strings.Join(works.NamesOf(path), ", "),
			Want: "a fact and how it is known are one entry, like " + statedText(FieldAt(path).Like, string(trade.Measured), "")})
	}
	j := bindAndCheck(r.fold().root.mapping(jobShape, nil), f)
	return j, asError(f.problems())
}

// Conflicts returns the facts that wait for a person to settle, by path.
func (r *Record) Conflicts() []Conflict {
	var out []Conflict
	for path, entries := range r.fold().differ {
		out = append(out, Conflict{path, entries})
	}
	slices.SortFunc(out, func(a, b Conflict) int { return cmp.Compare(a.Path, b.Path) })
	return out
}

// Differ returns the entries at a path that wait for a person to settle them;
// nil where none do.
func (r *Record) Differ(path string) []Entry { return r.fold().differ[path] }

// Paths returns every path that something was ever entered at, in order.
func (r *Record) Paths() []string { return r.fold().paths }

// Now returns the entry that counts at a path. Who measured, when and with what
// is that of the value where it is not entered on its own. The zero Entry is
// none.
func (r *Record) Now(path string) Entry {
	b := r.fold().root.at(path, false)
	if b != nil && len(b.heads) > 0 {
		return b.now()
	}
	up, name := split(path)
	if s := PartAt(up); s == nil || !s.isAttributed() || s.isStated() {
		return Entry{}
	}
	item := r.fold().root.at(up, false)
	if item == nil {
		return Entry{}
	}
	by := item.maker()
	switch name {
	case whoField:
		by.Value = by.Who
	case whenField:
		by.Value = by.When
	case instrumentField:
		by.Value = by.Instrument
	default:
		return Entry{}
	}
	by.Path = path
	return by
}

// split returns the path above the last name of a path, and that name.
func split(path string) (up, name string) {
	i := strings.LastIndexByte(path, '/')
	return path[:max(i, 0)], works.NamesOf(path[i+1:])[0]
}

// Made returns every entry at a path, each after those it follows.
func (r *Record) Made(path string) []Entry {
	if b := r.fold().root.at(path, false); b != nil {
		return b.made
	}
	return nil
}

// Shown returns what an entry follows that is made by someone who sees the
// record now: the IDs of the entries at a path that no other follows. A form
// carries it from the time it was shown, so that what was entered elsewhere
// meanwhile is not overwritten unseen.
func (r *Record) Shown(path string) string {
	b := r.fold().root.at(path, false)
	if b == nil {
		return ""
	}
	ids := make([]string, len(b.heads))
	for i, e := range b.heads {
		ids[i] = e.ID
	}
	return strings.Join(ids, " ")
}

// Items returns the names of the items of a list that have not been taken out,
// in their order.
func (r *Record) Items(list string) []string {
	if b := r.fold().root.at(list, false); b != nil {
		return b.items()
	}
	return nil
}

// Has reports that a path leads to a field of the job, and that every item it
// lies in is in its list.
func (r *Record) Has(path string) bool {
	names := works.NamesOf(path)
	at := ""
	for s, i := jobShape, 0; s != nil && i < len(names); i++ {
		f := s.Named(names[i])
		if f == nil {
			return false
		}
		at = works.Under(at, names[i])
		if f.List() && i+1 < len(names) {
			i++
			if !slices.Contains(r.Items(at), names[i]) {
				return false
			}
			at = works.Under(at, names[i])
		}
		s = f.Of
	}
	return true
}

// TakenOut returns the entries that take an item out of its list: the item is
// out, and every fact seen under it is no longer known.
func (r *Record) TakenOut(item string) []Entry {
	out := []Entry{{Path: item, Follows: r.Shown(item)}}
	paths := r.fold().paths
	i, _ := slices.BinarySearch(paths, item+"/")
	for ; i < len(paths) && strings.HasPrefix(paths[i], item+"/"); i++ {
		if r.Now(paths[i]).Value != "" {
			out = append(out, Entry{Path: paths[i], Follows: r.Shown(paths[i])})
		}
	}
	return out
}

// branch is a path's place in the tree of all paths.
type branch struct {
	made  []Entry // at the path, each after those it follows
	heads []Entry // those of them that no other follows, the one that counts last
	under map[string]*branch
}

func newBranch() *branch { return &branch{under: map[string]*branch{}} }

// at returns the branch of a path; where there is none, a new one or nil.
func (b *branch) at(path string, grow bool) *branch {
	for _, name := range works.NamesOf(path) {
		next := b.under[name]
		if next == nil {
			if !grow {
				return nil
			}
			next = newBranch()
			b.under[name] = next
		}
		b = next
	}
	return b
}

// now returns the branch's own entry that counts.
func (b *branch) now() Entry {
	if len(b.heads) == 0 {
		return Entry{}
	}
	return b.heads[len(b.heads)-1]
}

// mapping returns the branch as fields in the order of the shape. What names
// no field comes last, for the reader to refuse.
func (b *branch) mapping(s *Part, more []pair) *node {
	n := &node{kind: mapping, fields: more}
	for _, f := range s.Fields {
		if under := b.under[f.Name]; under != nil && f != s.Key {
			if value := under.field(f); value != nil {
				n.fields = append(n.fields, pair{key: f.Name, value: value})
			}
		}
	}
	var rest []string
	for name := range b.under {
		if f := s.byName[name]; f == nil || f.Name != name {
			rest = append(rest, name)
		}
	}
	slices.Sort(rest)
	for _, name := range rest {
		n.fields = append(n.fields, pair{key: name, value: &node{kind: scalar, text: b.under[name].now().Value}})
	}
	return n
}

// field returns the branch as the value of f.
func (b *branch) field(f *Field) *node {
	switch f.form {
	case scalarForm:
		return b.single()
	case recordForm:
		if !f.Of.isStated() {
			return b.mapping(f.Of, nil)
		}
		return b.stated(f.Of)
	case listForm:
		n := &node{kind: list}
		for _, name := range b.items() {
			item := b.under[name]
			var own []pair
			put := func(name, text string) {
				if text != "" && item.under[name] == nil {
					own = append(own, pair{key: name, value: &node{kind: scalar, text: text}})
				}
			}
			if f.Of.Key != nil {
				put(f.Of.Key.Name, name)
			}
			if f.Of.isAttributed() {
				by := item.maker()
				put(whoField, by.Who)
				put(whenField, by.When)
				put(instrumentField, by.Instrument)
			}
			n.items = append(n.items, item.mapping(f.Of, own))
		}
		return n
	case textsForm:
		n := &node{kind: list}
		for _, name := range b.items() {
			item := b.under[name].single()
			if item.kind == scalar {
				item.text = name
			}
			n.items = append(n.items, item)
		}
		return n
	}
	return nil
}

// single returns the branch as one value. Where a path leads on beyond the
// value, the reader will refuse what it finds.
func (b *branch) single() *node {
	if len(b.under) > 0 {
		return &node{kind: mapping}
	}
	return &node{kind: scalar, text: b.now().Value}
}

// stated returns the branch as a fact with how it is known.
func (b *branch) stated(s *Part) *node {
	if len(b.heads) == 0 {
		return nil
	}
	e := b.now()
	text, known, reason, split := splitStated(e.Value)
	if !split {
		text = e.Value
	}
	return statedNode(s, e, text, known, reason, place{})
}

// maker returns the entry that says who made an item, when and with what: that
// of its value, or the item's own.
func (b *branch) maker() Entry {
	if value := b.under["value"]; value != nil && len(value.heads) > 0 {
		return value.now()
	}
	return b.now()
}

// items returns the names of a list's items in order: by their place, then
// those without one by the time of their first entry. Items taken out are left
// out.
func (b *branch) items() []string {
	type item struct {
		name  string
		place int
		when  string
	}
	var items []item
	for name, b := range b.under {
		it := item{name: name, place: 1 << 30, when: b.first()}
		if e := b.now(); len(b.heads) > 0 {
			if strings.TrimSpace(e.Value) == "" {
				continue
			}
			if p, err := strconv.Atoi(e.Value); err == nil {
				it.place = p
			}
		}
		items = append(items, it)
	}
	slices.SortFunc(items, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.place, b.place), compareWhen(a.when, b.when), cmp.Compare(a.name, b.name))
	})
	names := make([]string, len(items))
	for i, it := range items {
		names[i] = it.name
	}
	return names
}

// first returns the time of the earliest entry of a branch.
func (b *branch) first() string {
	when := b.now().When
	for _, b := range b.under {
		if w := b.first(); when == "" || w != "" && compareWhen(w, when) < 0 {
			when = w
		}
	}
	return when
}
