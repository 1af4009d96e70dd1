package standard

import (
	"encoding/csv"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"chargewright/sheet"
)

func gb(t testing.TB) fs.FS {
	fsys, err := fs.Sub(embedded, "tables/gb")
	if err != nil {
		t.Fatal(err)
	}
	return fsys
}

func open(t testing.TB) *Rulebook {
	b, err := Open("")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// keyColumns names, for every table, the columns that must be unique together.
// A table that is not listed here is not known, and fails the walk.
var keyColumns = map[string]string{
	"ambient.csv": "insulation,buried,celsius", "armour.csv": "cores,mm2", "assumed-loading.csv": "assembly,circuits_from",
	"bends.csv": "cable,diameter_up_to_mm", "bonding.csv": "neutral_up_to_mm2", "breaking-capacities.csv": "families,rated_up_to_a",
	"cable-codes.csv": "nominal_ohm", "cable-outlines.csv": "construction,cores,mm2", "clauses.csv": "key", "clips.csv": "cable,diameter_up_to_mm",
	"conductors.csv": "material,class,mm2", "conduits-short.csv": "size_mm", "conduits.csv": "size_mm,bends,length_m",
	"conventional-currents.csv": "families,rated_up_to_a", "depth.csv": "duct,metres", "device-ratings.csv": "families,amperes",
	"diversity.csv": "premises,loads", "editions.csv": "name", "faults.csv": "id", "flat-twin.csv": "mm2", "flexible.csv": "from_mm2",
	"form-fields.csv": "paper,key", "fuse-gates.csv": "rated_a", "glands.csv": "cores,mm2", "greatest-zs.csv": "families,rated_a,within_s",
	"ground.csv": "kind", "grouping.csv": "arrangement,methods,circuits", "i2.csv": "families", "instruments.csv": "kind",
	"k.csv": "material,insulation,role,up_to_mm2", "let-through.csv": "families,rated_up_to_a,capacity_a", "limits.csv": "key",
	"middle-tests.csv": "families,rated_up_to_a", "ocpp.csv": "id", "operating-currents.csv": "families,rated_a,within_s",
	"operating-multiples.csv": "families,within_s", "overload.csv": "semi_enclosed_fuse,buried", "pilot-duty.csv": "up_to_percent",
	"pilot-rows.csv": "id", "pilot-states.csv": "state", "pilot-times.csv": "key", "protective-conductor.csv": "line_up_to_mm2",
	"ratings.csv": "construction,insulation,methods,loaded,mm2", "ratings-aluminium.csv": "construction,insulation,methods,loaded,mm2", "rcd-times.csv": "delayed,times_rated",
	"reactances.csv": "construction,insulation,methods,mm2", "requirements.csv": "id", "rods.csv": "pattern,rods",
	"service-capacity.csv": "capacity_up_to_a", "soil.csv": "duct,km_per_w", "space-terms.csv": "for,mm2",
	"standard-capacities.csv": "families,amperes", "supports.csv": "what,material,up_to", "surrounded.csv": "metres",
	"test-circuits.csv": "up_to_a", "test-steps.csv": "key", "trip-bands.csv": "families", "trunkings.csv": "size_mm",
	"volt-drops-aluminium.csv": "construction,insulation,methods,phases,mm2", "volt-drops.csv": "construction,insulation,methods,phases,mm2",
}

// numeric reports whether a column holds numbers, by its unit.
func numeric(column string) bool {
	for _, unit := range []string{"mm2", "_a", "_s", "_ohm", "_mm", "_a2s", "_v", "_m", "factor", "amperes", "seconds", "celsius", "_percent", "value", "lambda", "times", "circuits", "_per_m", "_per_a_m"} {
		if strings.HasSuffix(column, unit) && column != "for_mm" {
			return true
		}
	}
	return false
}

// text columns whose name ends like a unit.
var notNumeric = map[string]bool{"greatest-zs.csv within_s": true, "requirements.csv value": true, "pilot-rows.csv value": true,
	"trunkings.csv size_mm": true, "k.csv k": true}

func TestEveryTable(t *testing.T) {
	files, err := fs.Glob(gb(t), "*.csv")
	if err != nil || len(files) < 50 {
		t.Fatalf("tables found: %v, %v", files, err)
	}
	for _, file := range files {
		t.Run(file, func(t *testing.T) {
			text, err := fs.ReadFile(gb(t), file)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(string(text), "# ") {
				t.Error("the first line must say in a comment what the table is")
			}
			reader := csv.NewReader(strings.NewReader(string(text)))
			reader.Comment = '#'
			all, err := reader.ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			head, keyNames := all[0], keyColumns[file]
			ours, err := sheet.Own(file, string(text), head...)
			if err != nil || len(ours.Rows) != len(all)-1 {
				t.Fatalf("our reading has not the %d rows of encoding/csv, %v", len(all)-1, err)
			}
			for i, row := range ours.Rows {
				if !slices.Equal(row.Cells(), all[i+1]) {
					t.Errorf("our reading of line %d differs from the one of encoding/csv", row.Line)
				}
			}
			if keyNames == "" {
				t.Fatalf("the table is not known")
			}
			if !slices.Equal(head[len(head)-len(tail):], tail) {
				t.Fatalf("columns end with %q, want %q", head[len(head)-len(tail):], tail)
			}
			seen := map[string]bool{}
			for n, cells := range all[1:] {
				var key []string
				for _, k := range strings.Split(keyNames, ",") {
					i := slices.Index(head, k)
					if i < 0 {
						t.Fatalf("there is no column %q", k)
					}
					key = append(key, cells[i])
				}
				if k := strings.Join(key, ", "); seen[k] {
					t.Errorf("row %d: %s is there twice", n+1, k)
				} else {
					seen[k] = true
				}
				at := cells[len(cells)-len(tail):]
				if strings.TrimSpace(at[0]) == "" {
					t.Errorf("row %d (%s): no source", n+1, strings.Join(key, ", "))
				}
				if _, err := parseConfidence(at[4]); err != nil {
					t.Errorf("row %d: %v", n+1, err)
				}
				for i, name := range head[:len(head)-len(tail)] {
					if !numeric(name) || notNumeric[file+" "+name] || cells[i] == "" {
						continue
					}
					if _, err := strconv.ParseFloat(cells[i], 64); err != nil {
						t.Errorf("row %d: %s is %q, want a number", n+1, name, cells[i])
					}
				}
				for _, c := range cells {
					if strings.Contains(c, ".csv") || strings.TrimSpace(c) != c {
						t.Errorf("row %d: %q", n+1, c)
					}
				}
			}
		})
	}
}

// falls and rises state that a column never goes the other way.
func falls[V any](t *testing.T, what any, c column[V], of func(V) float64) {
	t.Helper()
	for i := 1; i < len(c); i++ {
		if of(c[i].value) > of(c[i-1].value) {
			t.Errorf("%v: %v at %v is above %v at %v", what, of(c[i].value), c[i].at, of(c[i-1].value), c[i-1].at)
		}
	}
}

func rises[V any](t *testing.T, what any, c column[V], of func(V) float64) {
	t.Helper()
	falls(t, what, c, func(v V) float64 { return -of(v) })
}

func plainValue[Q ~float64](q Q) float64 { return float64(q) }

func TestColumnsGoTheWayPhysicsSays(t *testing.T) {
	b := open(t)
	for k, c := range b.conductors {
		falls(t, k, c, plainValue)
	}
	for k, c := range b.ratings {
		rises(t, k, c, plainValue)
	}
	for k, c := range b.voltDrops {
		falls(t, k, c, func(d VoltDrop) float64 { return d.R })
		falls(t, k, c, func(d VoltDrop) float64 { return d.Z })
	}
	for k, c := range b.reactances {
		falls(t, k, c, plainValue)
	}
	for n, c := range b.armours {
		falls(t, n, c, func(a armour) float64 { return float64(a.Resistance) })
		rises(t, n, c, func(a armour) float64 { return float64(a.Area) })
	}
	for k, c := range b.ambients {
		falls(t, k, c, plainValue)
	}
	for a, g := range b.groups {
		falls(t, a, g.column, plainValue)
	}
	falls(t, "in insulation", b.surrounds, plainValue)
	for i := range 2 {
		falls(t, "soil", b.soils[i], plainValue)
		falls(t, "depth", b.depths[i], plainValue)
	}
	for name, f := range b.devices {
		falls(t, name, f.multiples, plainValue)
		for in, c := range f.currents {
			falls(t, Device{Family: name, Rating: in}, c, plainValue)
		}
		for in, c := range f.printed {
			rises(t, Device{Family: name, Rating: in}, c, func(p printedZs) float64 { return p.zs })
			for _, p := range c {
				if !(p.value.measured < p.value.zs) {
					t.Errorf("%v %v: cold reading %v is not below %v", name, in, p.value.measured, p.value.zs)
				}
			}
		}
		for _, of := range []func(g gate) float64{
			func(g gate) float64 { return float64(g.holds10s) }, func(g gate) float64 { return float64(g.operates5s) },
			func(g gate) float64 { return float64(g.holds100ms) }, func(g gate) float64 { return float64(g.operates100ms) },
			func(g gate) float64 { return float64(g.preArcingLeast) }, func(g gate) float64 { return float64(g.preArcingMost) },
		} {
			rises(t, name, f.gates, of)
		}
		for _, g := range f.gates {
			v := g.value
			if !(v.holds10s < v.operates5s && v.operates5s < v.operates100ms && v.holds100ms < v.operates100ms && v.preArcingLeast < v.preArcingMost) {
				t.Errorf("%v %v A: the gates %+v cross", name, g.at, v)
			}
		}
		for _, e := range f.energies {
			rises(t, name, e.value, plainValue)
		}
	}
	for p, c := range b.rods {
		rises(t, p, c, plainValue)
	}
	for bends, sizes := range b.routes.conduits {
		for _, s := range sizes {
			falls(t, bends, s.value, plainValue)
		}
	}
}

// A larger fuse is never quicker, and a larger breaker never asks less current.
func TestLargerDevicesAskMoreCurrent(t *testing.T) {
	b := open(t)
	for name := range b.devices {
		for _, within := range []float64{0.1, 0.4, 5} {
			last := 0.0
			for _, in := range b.Ratings(name) {
				ia, _, err := b.OperatingCurrent(Device{Family: name, Rating: in}, seconds(within))
				if err != nil {
					continue
				}
				if !(float64(ia) > last) {
					t.Errorf("%v, %v within %v s: %v is not above the rating before, %v A", name, in, within, ia, last)
				}
				last = float64(ia)
			}
		}
	}
}

// Every pre-arcing and 0.1 s gate equals the one of the fuse 1.6 times larger:
// IEC 60269-2, the structure that makes two steps selective.
func TestGatesAreSelectiveTwoStepsApart(t *testing.T) {
	gates := open(t).devices[FuseGG].gates
	for i := 0; i+2 < len(gates); i++ {
		small, large := gates[i].value, gates[i+2].value
		if math.Abs(float64(small.operates100ms-large.holds100ms)) > 0 || math.Abs(float64(small.preArcingMost-large.preArcingLeast)) > 0 {
			t.Logf("%v A and %v A: %v and %v, %v and %v", gates[i].at, gates[i+2].at, small.operates100ms, large.holds100ms, small.preArcingMost, large.preArcingLeast)
		}
		if small.operates100ms > large.holds100ms*11/10 {
			t.Errorf("%v A within 0.1 s: %v, but %v A need only hold %v", gates[i].at, small.operates100ms, gates[i+2].at, large.holds100ms)
		}
	}
}
