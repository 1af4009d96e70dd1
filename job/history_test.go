package job

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// device is one device's copy of a job, with a clock of its own.
type device struct {
	record *Record
	wrong  time.Duration // how far its clock is ahead
}

// said is an entry with what whoever made it had in sight at its path, however
// it came there.
type said struct {
	Entry
	saw map[string]bool
}

// TestCauseBeatsClock tries, over histories drawn at random, two to four devices
// that are out of each other's reach now and then, with clocks off by days
// either way, with people of one name, several or none. Whatever the clocks
// say: what somebody saw and passed over never counts again; what nobody saw is
// not passed over without a difference; a difference that was settled stays
// settled; and the job, the facts and the differences are one reading.
//
// The law is held to what each device had in sight, noted beside the record by
// this test and not read from it.
func TestCauseBeatsClock(t *testing.T) {
	histories := 20_000
	if testing.Short() {
		histories = 4_000
	}
	paths := []string{"job", "supply/Ze", "loads/lathe/current", "supply/cut-out/rating"}
	values := map[string][]string{"job": {"barn", "yard", "mill", ""}, "supply/Ze": {"0.18 Ω (measured)", "0.2 Ω", "200 mΩ", ""},
		"loads/lathe/current": {"9 A", "10 A", "11 A", ""}, "supply/cut-out/rating": {"60 A", "80 A", "100 A", ""}}
	r := rand.New(rand.NewPCG(17, 2))
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	settled, differed, unlike := 0, 0, 0
	for n := range histories {
		people := [][]string{{"Jo"}, {"Jo", "Sam"}, {""}, {"Jo", "", "Sam"}}[r.IntN(4)]
		all := map[string]said{}
		devices := make([]*device, 2+r.IntN(3))
		for i := range devices {
			devices[i] = &device{record: NewRecord(Entry{ID: "start", Path: "loads/lathe", Value: "1"}), wrong: time.Duration(r.IntN(10*24)-5*24) * time.Hour}
		}
		for step := range 3 + r.IntN(12) {
			d := devices[r.IntN(len(devices))]
			if r.IntN(3) == 0 { // within reach of another
				from := devices[r.IntN(len(devices))]
				d.record = Merge(d.record, from.record)
				continue
			}
			path := paths[r.IntN(len(paths))]
			e := Entry{ID: fmt.Sprint("e", step), Path: path, Value: values[path][r.IntN(4)], Who: people[r.IntN(len(people))],
				When: noon.Add(time.Duration(step)*time.Minute + d.wrong).Format(time.RFC3339)}
			s := said{saw: map[string]bool{}}
			if r.IntN(4) > 0 {
				e.Follows = d.record.Shown(path)
				for _, before := range d.record.Entries() {
					if before.Path == path {
						s.saw[before.ID] = true
					}
				}
				if differs := d.record.Differ(path); differs != nil {
					settled++
				}
			}
			s.Entry = e
			all[e.ID] = s
			d.record = Merge(d.record, NewRecord(e))
			if got := d.record.Now(path); s.Follows != "" && got.Value != e.Value {
				t.Fatalf("history %d: %v was entered in sight of all there is, and %v counts", n, e, got)
			}
			if e.Follows != "" && d.record.Differ(path) != nil {
				t.Fatalf("history %d: %v follows everything in sight, and %v differ", n, e, d.record.Differ(path))
			}
		}
		for _, d := range devices[1:] {
			devices[0].record = Merge(devices[0].record, d.record)
		}
		whole := devices[0].record
		for _, path := range paths {
			open := []said{} // what nobody saw who entered something else
			passed := map[string]bool{}
			for _, s := range all {
				if s.Path == path {
					for id := range s.saw {
						passed[id] = true
					}
				}
			}
			for id, s := range all {
				if s.Path == path && !passed[id] {
					open = append(open, s)
				}
			}
			now, differ := whole.Now(path), whole.Differ(path)
			if now.ID != "" && passed[now.ID] || slices.ContainsFunc(differ, func(e Entry) bool { return passed[e.ID] }) {
				t.Fatalf("history %d, %s: %v counts or differs (%v), and was seen and passed over", n, path, now, differ)
			}
			same := true
			for _, s := range open {
				same = same && meaning(FieldAt(path), s.Value) == meaning(FieldAt(path), open[0].Value)
			}
			if same != (differ == nil) || !same && len(differ) != len(open) {
				t.Fatalf("history %d, %s: nobody saw %v, and what differs is %v", n, path, open, differ)
			}
			for i, e := range differ { // clocks order what is otherwise unordered, and nothing else
				if i > 0 && compareWhen(differ[i-1].When, e.When) > 0 {
					t.Fatalf("history %d, %s: %v are not in the order of their clocks", n, path, differ)
				}
			}
			if differ != nil {
				differed++
			}
			made := whole.Made(path)
			for i, e := range made {
				for id := range strings.FieldsSeq(e.Follows) {
					if slices.ContainsFunc(made[i:], func(later Entry) bool { return later.ID == id }) {
						t.Fatalf("history %d, %s: %v stands before what it follows", n, path, e)
					}
				}
				if i > 0 && compareWhen(made[i-1].When, e.When) > 0 {
					unlike++
				}
			}
		}
		if n%20 != 0 {
			continue
		}
		j, _ := whole.Job("") // one reading: the job says what the facts say
		written := &File{root: recordNode(jobShape, reflect.ValueOf(j).Elem())}
		for _, path := range paths {
			text, _ := written.Get(path)
			text, _, _ = strings.Cut(text, " (")
			want, _, _ := strings.Cut(whole.Now(path).Value, " (")
			if f := FieldAt(path); meaning(f, text) != meaning(f, want) {
				t.Fatalf("history %d: the job says %s is %q, the facts %q", n, path, text, want)
			}
		}
	}
	if settled < histories/100 || differed < histories/10 || unlike < histories/20 {
		t.Errorf("%d differences settled, %d left, %d entries against the clock in %d histories: too few to prove anything", settled, differed, unlike, histories)
	}
}

// TestTakenOutUnseen: an item is taken out on one device while a fact is
// entered under it on another. Neither is lost, whatever the clocks say.
func TestTakenOutUnseen(t *testing.T) {
	base := NewRecord(Entry{ID: "a", Path: "loads/lathe", Value: "1"}, Entry{ID: "b", Path: "loads/lathe/current", Value: "9 A"})
	act := func(r *Record, who, when string, entries ...Entry) *Record {
		for i := range entries {
			entries[i].Who, entries[i].When, entries[i].ID = who, when, fmt.Sprint(who, when, i)
		}
		return Merge(r, NewRecord(entries...))
	}
	for _, when := range []string{"2026-11-20", "2026-11-30"} { // the taker's clock
		out := act(base, "Jo", when, base.TakenOut("loads/lathe")...)
		if items := out.Items("loads"); len(items) != 0 || len(out.Conflicts()) != 0 {
			t.Errorf("taken out, and %v are there, %v to settle", items, out.Conflicts())
		}
		for path, value := range map[string]string{"loads/lathe/current": "10 A", "loads/lathe/power": "2 kW"} {
			both := Merge(out, act(base, "Sam", "2026-11-25", Entry{Path: path, Value: value, Follows: base.Shown(path)}))
			c := both.Conflicts()
			if len(c) != 1 || c[0].Path != path || !slices.ContainsFunc(c[0].Entries, func(e Entry) bool { return e.Value == value }) {
				t.Errorf("clock at %s: %s was entered under what was taken out unseen, and %v is to settle", when, path, c)
			}
		}
		// Back under the same name, it begins anew.
		back := act(out, "Jo", "2026-11-19", Entry{Path: "loads/lathe", Value: "1", Follows: out.Shown("loads/lathe")})
		j, _ := back.Job("")
		if len(back.Conflicts()) != 0 || len(j.Loads) != 1 || j.Loads[0].Current.String() == "9 A" {
			t.Errorf("back again it is %v, %v to settle, want it there with nothing known of it", j.Loads, back.Conflicts())
		}
	}
	// An older record took an item out without a word on what stood under it.
	older := act(base, "Jo", "2026-11-26", Entry{Path: "loads/lathe", Follows: "a"})
	if c := older.Conflicts(); len(c) != 0 {
		t.Errorf("%v is to settle, want nothing: it was all there before", c)
	}
	if c := act(older, "Sam", "2026-11-27", Entry{Path: "loads/lathe/current", Value: "10 A", Follows: "b"}).Conflicts(); len(c) != 1 {
		t.Errorf("conflicts are %v, want the current that was entered later", c)
	}
}
