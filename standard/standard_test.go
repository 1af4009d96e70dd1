package standard

import (
	"errors"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"chargewright/quantity"
)

func TestEditions(t *testing.T) {
	// Three editions a job may be designed to; A2 and A3 were withdrawn for new
	// work on 15 October 2026 (publisher's announcement of 15 January 2026).
	if got := list(Editions()); got != "BS 7671:2018+A2:2022, BS 7671:2018+A3:2024, BS 7671:2018+A4:2026" {
		t.Errorf("Editions() = %s", got)
	}
	if DefaultEdition() != "BS 7671:2018+A4:2026" {
		t.Errorf("DefaultEdition() = %s", DefaultEdition())
	}
	for text, want := range map[string]Edition{
		"BS 7671:2018+A4:2026": "BS 7671:2018+A4:2026", "bs7671:2018 + a4:2026": "BS 7671:2018+A4:2026", "A4:2026": "BS 7671:2018+A4:2026",
		"a4": "BS 7671:2018+A4:2026", "+A2": "BS 7671:2018+A2:2022", "BS 7671:2018+A3": "BS 7671:2018+A3:2024",
	} {
		if got, err := ParseEdition(text); err != nil || got != want {
			t.Errorf("ParseEdition(%q) = %s, %v, want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "A5", "BS 7671", "2018", "17th", "BS 7671:2018"} {
		_, err := ParseEdition(text)
		if err == nil || !strings.Contains(err.Error(), "BS 7671:2018+A3:2024") {
			t.Errorf("ParseEdition(%q): %v, want an error that lists the editions", text, err)
		}
	}
	if _, err := Open("A9"); err == nil {
		t.Error("Open of an unknown edition succeeded")
	}
}

// The same row carries a doubt under one edition and none under another.
func TestDoubtFollowsTheJobsEdition(t *testing.T) {
	for _, tt := range []struct {
		edition Edition
		method  Method
		c       Construction
		ins     Insulation
		want    string
	}{
		{"A4", MethodC, Armoured, Thermosetting90, "from A2:2022, not checked against A4:2026"},
		{"A3", MethodC, Armoured, Thermosetting90, "from A2:2022, not checked against A3:2024"},
		{"A2", MethodC, Armoured, Thermosetting90, ""},
		{"A2", MethodC, Armoured, Thermoplastic70, "from memory"},
		{"A4", MethodC, Armoured, Thermoplastic70, "from A2:2022, not checked against A4:2026; from memory"},
		{"A2", MethodA, Multicore, Thermoplastic70, "computed, not seen in print"},
	} {
		b, err := Open(tt.edition)
		if err != nil {
			t.Fatal(err)
		}
		_, cite, err := b.Rating(Copper, tt.c, tt.ins, tt.method, 2, 6)
		if err != nil || cite.Doubt() != tt.want {
			t.Errorf("%s, %s %s: doubt %q, %v, want %q", tt.edition, tt.ins, tt.c, cite.Doubt(), err, tt.want)
		}
	}
	b := open(t)
	_, cite, _ := b.Resistance(Copper, Stranded, 6)
	if cite.Doubt() != "" {
		t.Errorf("IEC 60228 does not depend on the edition of the wiring rules, but its doubt is %q", cite.Doubt())
	}
	if _, cite, _ := b.Limit("height lowest"); cite.Doubt() != "common practice, no source" {
		t.Errorf("mounting height: doubt %q", cite.Doubt())
	}
}

func TestCitation(t *testing.T) {
	b := open(t)
	_, cite, err := b.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 6)
	if err != nil {
		t.Fatal(err)
	}
	if cite.Source() != "BS 7671:2018+A2:2022 Appendix 4 Table 4E4A" || cite.Clause() != "Table 4E4A" ||
		cite.Place() != "6 mm², method C, two loaded conductors" || cite.Confidence() != Confirmed || cite.IsZero() {
		t.Errorf("citation %q, %q, %q, %v", cite.Source(), cite.Clause(), cite.Place(), cite.Confidence())
	}
	if want := "BS 7671:2018+A2:2022 Appendix 4 Table 4E4A, 6 mm², method C, two loaded conductors (from A2:2022, not checked against A4:2026)"; cite.String() != want {
		t.Errorf("String() = %q, want %q", cite, want)
	}
	_, again, _ := b.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 6)
	other, _ := Open("")
	_, elsewhere, _ := other.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 6)
	if cite != again || cite != elsewhere {
		t.Error("two citations of one row for one edition are not equal")
	}
	var zero Citation
	if !zero.IsZero() || zero.String() != "no source" || zero.Confidence() != FromMemory || zero.Doubt() == "" {
		t.Errorf("the zero citation looks better than it is: %q, %v, %q", zero, zero.Confidence(), zero.Doubt())
	}
	_, factor, _ := b.AmbientFactor(Thermoplastic70, false, 32)
	lines := b.Doubts(cite, zero, again, factor, b.Clause("height trade"))
	if len(lines) != 3 || !slices.IsSorted(lines) {
		t.Errorf("Doubts = %q, want three lines in order", lines)
	}
}

func TestClausesAndLimits(t *testing.T) {
	b := open(t)
	for _, key := range []string{"overload", "volt drop", "disconnection tn", "disconnection tt", "adiabatic", "breaking capacity", "rcd point", "rcd poles",
		"rcd type", "rcd upstream", "leakage", "dedicated circuit", "no diversity", "surge needed", "surge leads", "surge backup", "open pen", "tt electrode",
		"bonding", "earthing conductor", "height", "ip", "ik", "sockets", "isolation", "notify", "ask before", "overcurrent each point", "terminal temperature",
		"continuous load", "emergency switching", "simultaneous contact", "prospective fault", "insulation resistance", "continuity", "polarity",
		"electrode test", "rcd test", "functional", "part s", "part p", "dead working", "safe isolation"} {
		if b.Clause(key).IsZero() {
			t.Errorf("there is no clause %q", key)
		}
	}
	if !b.Clause("no such thing").IsZero() || len(b.ClauseKeys()) < 100 {
		t.Errorf("clause keys: %d", len(b.ClauseKeys()))
	}
	for key, want := range map[string]float64{"cmin": 0.95, "cmax": 1.1, "volt drop lighting public": 0.03, "volt drop other public": 0.05,
		"volt drop lighting private": 0.06, "volt drop other private": 0.08, "touch voltage": 50, "pen touch voltage": 70, "pen device time": 5,
		"voltage window low": 207, "voltage window high": 253, "supply voltage low": 216.2, "supply voltage high": 253, "electrode stability": 200,
		"rcd point": 0.03, "dc detection": 0.006, "leakage share": 0.3, "spd lead preferred": 0.5, "spd lead greatest": 1, "spd lead volts per metre": 1000,
		"spd protection level": 2500, "cold zs factor": 0.8, "disconnection tn final": 0.4, "disconnection tn distribution": 5, "disconnection tt final": 0.2,
		"disconnection tt distribution": 1, "tn final socket greatest": 63, "tn final fixed greatest": 32, "height lowest": 0.75,
		"height highest with screen": 1.2, "height highest without screen": 1.4, "separation": 2.5, "insulation least": 1e6, "insulation investigate": 2e6,
		"lct ask above": 60, "lct tell days": 28, "pilot least": 6, "ze tn-c-s": 0.35, "ze tn-s": 0.8, "ze tt": 21, "ipf declared single": 16000,
		"ipf declared three": 25000, "bonding continuity": 0.05} {
		if got, cite, err := b.Limit(key); err != nil || got != want || cite.IsZero() {
			t.Errorf("Limit(%q) = %v, %v, %v, want %v", key, got, cite, err, want)
		}
	}
	_, _, err := b.Limit("height lowset")
	var missing *notTabulated
	if !errors.As(err, &missing) || !slices.Contains(missing.Known, "height lowest") {
		t.Errorf("a misspelt limit: %v", err)
	}
	// Mounting heights in the trade: an outlet at 700, 900 and 1100 mm against
	// the code of practice (750 to 1200) and a draft of PAS 1899 (750 to 1000).
	within := func(h float64, low, high string) bool {
		l, _, err1 := b.Limit(low)
		g, _, err2 := b.Limit(high)
		return err1 == nil && err2 == nil && l <= h && h <= g
	}
	for h, want := range map[float64][2]bool{0.7: {false, false}, 0.9: {true, true}, 1.1: {true, false}} {
		if got := [2]bool{within(h, "height controls low", "height controls high"), within(h, "pas 1899 draft socket low", "pas 1899 draft socket high")}; got != want {
			t.Errorf("outlet at %v m: %v, want %v", h, got, want)
		}
	}
	// Surge leads of 0.45, 0.80 and 1.15 m (BS 7671 534.4.8): meets, within the
	// greatest only, does not meet.
	for l, want := range map[float64][2]bool{0.45: {true, true}, 0.80: {false, true}, 1.15: {false, false}} {
		preferred, _, _ := b.Limit("spd lead preferred")
		greatest, _, _ := b.Limit("spd lead greatest")
		if got := [2]bool{l <= preferred, l <= greatest}; got != want {
			t.Errorf("leads of %v m: %v, want %v", l, got, want)
		}
	}
}

// What falls between rows takes the less favourable row, and says so; ratings
// are never made up between sizes.
func TestBetweenRows(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		what string
		look func() (float64, Citation, error)
		want float64
		note string
	}{
		{"air of 30 °C", func() (float64, Citation, error) { return b.AmbientFactor(Thermoplastic70, false, 30) }, 1, ""},
		{"air of 31 °C", func() (float64, Citation, error) { return b.AmbientFactor(Thermoplastic70, false, 31) }, 0.94, "next hotter"},
		{"air of 10 °C", func() (float64, Citation, error) { return b.AmbientFactor(Thermoplastic70, false, 10) }, 1.03, "below the first row"},
		{"ground of 22 °C", func() (float64, Citation, error) { return b.AmbientFactor(Thermosetting90, true, 22) }, 0.96, "next hotter"},
		{"one circuit bunched", func() (float64, Citation, error) { return b.GroupingFactor(MethodB, Bunched, 1) }, 1, ""},
		{"ten circuits bunched", func() (float64, Citation, error) { return b.GroupingFactor(MethodB, Bunched, 10) }, 0.45, "next larger group"},
		{"fifty circuits on a wall", func() (float64, Citation, error) { return b.GroupingFactor(MethodC, SingleLayerWall, 50) }, 0.70, "no further reduction"},
		{"one buried circuit", func() (float64, Citation, error) { return b.GroupingFactor(MethodDBuried, BuriedTouching, 1) }, 1, "one circuit alone"},
		{"not in insulation", func() (float64, Citation, error) { return b.InsulationFactor(0) }, 1, "not surrounded"},
		{"10 mm in insulation", func() (float64, Citation, error) { return b.InsulationFactor(0.01) }, 0.88, "next longer"},
		{"150 mm in insulation", func() (float64, Citation, error) { return b.InsulationFactor(0.15) }, 0.63, "next longer"},
		{"2 m in insulation", func() (float64, Citation, error) { return b.InsulationFactor(2) }, 0.5, ""},
		{"soil of 1.2 K·m/W", func() (float64, Citation, error) { return b.SoilFactor(false, 1.2) }, 1.28, "next higher resistivity"},
		{"0.5 m deep, the first row", func() (float64, Citation, error) { return b.DepthFactor(true, 0.5) }, 1.02, ""},
		{"3 m deep, the last row", func() (float64, Citation, error) { return b.DepthFactor(false, 3) }, 0.89, ""},
		{"0.8 m deep", func() (float64, Citation, error) { return b.DepthFactor(false, 0.8) }, 0.97, "next deeper"},
	} {
		got, cite, err := tt.look()
		if err != nil || got != tt.want || !strings.Contains(cite.Place(), tt.note) || tt.note == "" && strings.Contains(cite.Place(), "between") {
			t.Errorf("%s: %v, %q, %v, want %v and %q", tt.what, got, cite.Place(), err, tt.want, tt.note)
		}
	}
	for what, err := range map[string]error{
		"air of 61 °C":      third(b.AmbientFactor(Thermoplastic70, false, 61)),
		"air of no number":  third(b.AmbientFactor(Thermoplastic70, false, quantity.Celsius(math.NaN()))),
		"21 bunched":        third(b.GroupingFactor(MethodB, Bunched, 21)),
		"7 buried":          third(b.GroupingFactor(MethodDBuried, BuriedTouching, 7)),
		"no circuits":       third(b.GroupingFactor(MethodB, Bunched, 0)),
		"soil of 4":         third(b.SoilFactor(true, 4)),
		"soil of nothing":   third(b.SoilFactor(true, 0)),
		"3.01 m deep":       third(b.DepthFactor(false, 3.01)),
		"0.49 m deep":       third(b.DepthFactor(true, 0.49)),
		"bunched, buried":   third(b.GroupingFactor(MethodDBuried, Bunched, 2)),
		"ducts on a tray":   third(b.GroupingFactor(MethodE, DuctsTouching, 2)),
		"tray on a wall":    third(b.GroupingFactor(MethodC, SingleLayerTray, 2)),
		"bunched, spaced":   third(b.GroupingFactor(MethodGVertical, Bunched, 2)),
		"aluminium twin":    third(b.Rating(Aluminium, FlatTwin, Thermoplastic70, MethodC, 2, 10)),
		"aluminium, 10 mm²": third(b.Rating(Aluminium, Armoured, Thermosetting90, MethodC, 2, 10)),
		"aluminium singles": third(b.VoltDrop(Aluminium, Singles, Thermoplastic70, MethodB, 1, 10)),
		"aluminium armour":  third(b.Armour(Aluminium, Thermosetting90, 4, 95)),
		"70 °C armour":      third(b.Armour(Copper, Thermoplastic70, 3, 6)),
		"−1 m insulated":    third(b.InsulationFactor(-1)),
		"5 mm²":             third(b.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 5)),
		"no method":         third(b.Rating(Copper, Armoured, Thermosetting90, MethodA, 2, 6)),
		"four loaded":       third(b.Rating(Copper, Armoured, Thermosetting90, MethodC, 4, 6)),
		"resistance 5 mm²":  third(b.Resistance(Copper, Stranded, 5)),
		"class 3":           third(b.Resistance(Copper, 3, 6)),
		"armour of 7 cores": third(b.Armour(Copper, Thermosetting90, 7, 6)),
		"reactance, size":   third(b.Reactance(Armoured, Thermosetting90, MethodC, 27)),
		"reactance of NaN":  third(b.Reactance(Armoured, Thermosetting90, MethodC, quantity.SquareMillimetres(math.NaN()))),
	} {
		if err == nil {
			t.Errorf("%s was accepted", what)
		}
	}
}

func third[A, B any](_ A, _ B, err error) error { return err }

func TestErrorsListWhatIsTabulated(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		err  error
		says string
	}{
		{third(b.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 5)), "rating of 5 mm² armoured cable, 90 °C thermosetting, method C, 2 loaded conductors is not tabulated: tabulated are 1.5 mm², 2.5 mm², 4 mm²"},
		{third(b.Rating(Copper, Armoured, Thermosetting90, MethodA, 2, 6)), "tabulated are method C, method D buried, method D duct, method E"},
		{third(b.Rating(Copper, FlatTwin, Thermosetting90, MethodC, 2, 6)), "there is no table for this cable, insulation"},
		{third(b.OperatingCurrent(Device{Family: FuseBS88_3, Rating: 32}, 0.2)), "tabulated are 0.4 s, 5 s"},
		{third(b.OperatingCurrent(Device{Family: FuseBS88_3, Rating: 33}, 5)), "32 A"},
		{third(b.OperatingCurrent(Device{Family: "no such", Rating: 32}, 5)), "BS EN 60898 type B"},
	} {
		var missing *notTabulated
		if tt.err == nil || !strings.Contains(tt.err.Error(), tt.says) || !errors.As(tt.err, &missing) {
			t.Errorf("error %v, want a NotTabulated saying %q", tt.err, tt.says)
		}
	}
}

func TestCables(t *testing.T) {
	b := open(t)
	if x, cite, err := b.Reactance(FlatTwin, Thermoplastic70, MethodC, 10); err != nil || x != 0 || !strings.Contains(cite.Place(), "neglected") {
		t.Errorf("reactance of 10 mm² = %v, %v, %v, want 0 with the reason", x, cite, err)
	}
	if x, _, err := b.Reactance(Armoured, Thermosetting90, MethodDBuried, 25); err != nil || math.Abs(float64(x)-0.081e-3) > 1e-9 {
		t.Errorf("reactance of 25 mm² = %v, %v, want 0.081 mΩ/m (0.14/√3, Table 4E4B)", x, err)
	}
	for _, m := range []Method{Method100, Method101, Method102, Method103, MethodC, MethodA} {
		if got := b.Sizes(Copper, FlatTwin, Thermoplastic70, m, 2); len(got) != 7 || got[0] != 1 || got[6] != 16 {
			t.Errorf("Sizes(flat twin, method %s) = %v", m, got)
		}
		if _, _, err := b.VoltDrop(Copper, FlatTwin, Thermoplastic70, m, 1, 6); err != nil {
			t.Error(err)
		}
	}
	// Every cable with a rating has a volt drop, if its size is printed.
	for k, col := range b.ratings {
		drops := b.voltDrops[loadedKey{k.material, k.cableKey, map[int]int{2: 1, 3: 3}[k.loaded]}]
		for _, c := range drops {
			if _, ok := col.exact(c.at); !ok && k.method != MethodFTouching && k.method != MethodFTrefoil && k.method != MethodGHorizontal && k.method != MethodGVertical {
				t.Errorf("%v: %v mm² has a volt drop and no rating", k, c.at)
			}
		}
		if len(drops) == 0 {
			t.Errorf("%v has ratings and no volt drop", k)
		}
	}
	a, cite, err := b.Armour(Copper, Thermosetting90, 3, 6)
	if err != nil || math.Abs(float64(a.Resistance)-6.7e-3) > 1e-12 || a.Area != 23 || cite.Confidence() != FromMemory {
		t.Errorf("Armour(3, 6 mm²) = %+v, %v, %v", a, cite, err)
	}
	// 25 m of three-core 6 mm² 90 °C cable, armour as cpc: 0.077 + 0.1675 Ω (arithmetic on BS 5467 and IEC 60228).
	r, _, _ := b.Resistance(Copper, Stranded, 6)
	if sum := r.Over(25) + a.Resistance.Over(25); math.Abs(float64(sum)-0.2445) > 1e-9 {
		t.Errorf("R1+R2 = %v, want 0.2445 Ω", float64(sum))
	}
	if f, _, err := b.Flexible(16); err != nil || f != (flexibles{0.95, 1.10}) {
		t.Errorf("Flexible(16 mm²) = %v, %v", f, err)
	}
	if f, _, err := b.Flexible(25); err != nil || f != (flexibles{0.97, 1.06}) {
		t.Errorf("Flexible(25 mm²) = %v, %v", f, err)
	}
}

func TestThermal(t *testing.T) {
	b := open(t)
	from, to, cite, err := b.PrincipalTemperatures(Thermosetting90, ArmourAsCPC)
	if err != nil || from != 80 || to != 200 || cite.Clause() != "Table 54.4" {
		t.Errorf("armour of a 90 °C cable: %v to %v, %v, %v", from, to, cite, err)
	}
	if k, _, err := b.K(Copper, Thermoplastic70, LineConductor); err != nil || k != 115 {
		t.Errorf("K = %v, %v, want the row to 300 mm², 115", k, err)
	}
	if k, _, err := b.K(Copper, "", Bare); err != nil || k != 159 {
		t.Errorf("K of bare copper = %v, %v, want 159", k, err)
	}
	if _, _, err := b.K(Steel, Thermoplastic70, LineConductor); err == nil {
		t.Error("a steel line conductor has a k")
	}
	for line, want := range map[quantity.SquareMillimetres]quantity.SquareMillimetres{2.5: 2.5, 16: 16, 25: 16, 35: 16, 50: 25, 95: 47.5} {
		if got, cite := b.ProtectiveConductorBySelection(line); got != want || cite.Clause() != "Table 54.7" {
			t.Errorf("by selection %v: %v, %v, want %v (BS 7671 Table 54.7)", line, got, cite, want)
		}
	}
	if got, cite := b.MainBonding(true, 0); !math.IsNaN(float64(got)) || !cite.IsZero() {
		t.Errorf("bonding of nothing = %v, %v", got, cite)
	}
	if got, _ := b.MainBonding(false, 95); got != 25 {
		t.Errorf("bonding need not exceed 25 mm² = %v", got)
	}
}

// TestGatesNeverReadBelowPrintedRows: where no row is printed for 0.4 s a gG
// fuse is read between its gates; where one is, BS 7671 Table 41.2(a) prints no
// more than that, so the reading is on the safe side.
func TestGatesNeverReadBelowPrintedRows(t *testing.T) {
	b := open(t)
	compared := 0
	for _, in := range b.Ratings(FuseGG) {
		f := b.devices[FuseGG]
		g, gated := f.gates.exact(float64(in))
		printed, ok := f.currents[in].exact(0.4)
		if !gated || !ok {
			continue
		}
		compared++
		slow, fast := float64(g.value.operates5s), float64(g.value.operates100ms)
		if read := slow * math.Pow(fast/slow, math.Log(5/0.4)/math.Log(5/0.1)); read < printed.value {
			t.Errorf("gG %v within 0.4 s: between the gates %.0f A, printed %.0f A", in, read, printed.value)
		}
	}
	if compared < 4 {
		t.Errorf("%d ratings have both: too few to say anything", compared)
	}
}

func TestOperatingCurrents(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		what   string
		d      Device
		within float64
		want   quantity.Amperes
	}{
		{"a breaker within 0.2 s takes its 0.1 s row", Device{Family: BreakerB, Rating: 32}, 0.2, 160},
		{"a type D breaker within 1 s takes its 0.4 s row", Device{Family: RCBOD, Rating: 20}, 1, 400},
		{"a type D breaker within 5 s", Device{Family: BreakerD, Rating: 20}, 5, 200},
		{"BS 88-3 within 1 s takes its 0.4 s row", Device{Family: FuseBS88_3, Rating: 32}, 1, 240},
		{"gG within 0.1 s takes its gate", Device{Family: FuseGG, Rating: 32}, 0.1, 350},
		{"gG 40 A within 0.4 s lies between its gates of 190 A and 450 A, log-log: 190 × (450/190)^0.6457", Device{Family: FuseGG, Rating: 40}, 0.4, quantity.Amperes(190 * math.Pow(450.0/190, math.Log(5/0.4)/math.Log(5/0.1)))},
		{"gG 250 A within 5 s takes its gate", Device{Family: FuseGG, Rating: 250}, 5, 1650},
		{"an adjustable breaker, 1.2 × Im (BS EN 60947-2 tolerance)", Device{Family: MCCB, Rating: 100, Ir: 80, Im: 500}, 0.4, 600},
	} {
		got, cite, err := b.OperatingCurrent(tt.d, seconds(tt.within))
		if err != nil || math.Abs(float64(got-tt.want)) > 1e-9 || cite.IsZero() {
			t.Errorf("%s: %v, %v, want %v", tt.what, got, err, tt.want)
		}
	}
	for _, d := range []Device{{Family: MCCB, Rating: 100}, {Family: BreakerB}, {Family: FuseGG, Rating: 6}, {Family: BreakerB, Rating: quantity.Amperes(math.NaN())}} {
		if ia, _, err := b.OperatingCurrent(d, 0.1); err == nil {
			t.Errorf("%v within 0.1 s = %v, want an error", d, ia)
		}
	}
	if z, _, err := b.MaxZs(Device{Family: BreakerB, Rating: 32}, 0.4, 0); err == nil {
		t.Errorf("MaxZs at 0 V = %v", z)
	}
	if _, _, _, err := b.PrintedMaxZs(Device{Family: FuseGG, Rating: 160}, 5); err == nil {
		t.Error("a row that was not confirmed is printed")
	}
	for f, want := range map[Family]float64{BreakerB: 1.45, FuseGG: 1.45, FuseBS3036: 2, MCCB: 1.3} {
		if got, cite := b.I2Factor(Device{Family: f}); got != want || cite.IsZero() {
			t.Errorf("I2Factor(%s) = %v, want %v", f, got, want)
		}
	}
	if got, _, err := b.ServiceCapacity(10000); err != nil || got != 7500 {
		t.Errorf("ServiceCapacity(10 kA) = %v, %v, want 7.5 kA (BS EN 60898-1, from memory)", got, err)
	}
	if got, _, err := b.BreakingCapacity(Device{Family: FuseBS88_3, Rating: 80}); err != nil || got != 33000 {
		t.Errorf("breaking capacity of an 80 A cut-out fuse = %v, %v", got, err)
	}
	if tc, _, err := b.TestCircuit(9000); err != nil || tc != (testCircuit{0.5, 1.7}) {
		t.Errorf("TestCircuit(9 kA) = %v, %v", tc, err)
	}
}

func TestTimeCurrentCurves(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		source          string
		d               Device
		i               quantity.Amperes
		soonest, latest float64
	}{
		{"BS EN 60898-1: 1.13 In need not operate (from memory)", Device{Family: BreakerB, Rating: 32}, 1.12 * 32, math.Inf(1), math.Inf(1)},
		{"BS EN 60898-1: 1.45 In within 1 h (from memory)", Device{Family: BreakerB, Rating: 32}, 1.45 * 32, -1, 3600},
		{"BS EN 60898-1: 1.45 In within 2 h above 63 A (from memory)", Device{Family: BreakerC, Rating: 80}, 1.45 * 80, -1, 7200},
		{"BS EN 60898-1: 2.55 In, 1 to 60 s (from memory)", Device{Family: BreakerC, Rating: 32}, 2.55 * 32, 1, 60},
		{"BS EN 60898-1: 2.55 In, 1 to 120 s above 32 A (from memory)", Device{Family: BreakerC, Rating: 40}, 2.55 * 40, 1, 120},
		{"BS EN 60898-1: type B holds 3 In for 0.1 s", Device{Family: BreakerB, Rating: 32}, 96, 0.1, -1},
		{"BS EN 60898-1: type C trips at 10 In within 0.1 s", Device{Family: BreakerC, Rating: 32}, 320, 0, 0.1},
		{"IEC 60269-1: gG 63 A within 5 s at 320 A", Device{Family: FuseGG, Rating: 63}, 320, -1, 5},
		{"IEC 60269-1: gG 63 A holds 160 A for 10 s (from memory)", Device{Family: FuseGG, Rating: 63}, 160, 10, -1},
		{"IEC 60269-1: gG 80 A carries 100 A for 2 h (from memory)", Device{Family: FuseGG, Rating: 80}, 100, 7200, math.Inf(1)},
		{"IEC 60269-1: gG 80 A operates at 128 A within 2 h (from memory)", Device{Family: FuseGG, Rating: 80}, 128, -1, 7200},
		{"BS 7671 Fig 3A1: BS 88-3 80 A within 5 s at 430 A (from memory)", Device{Family: FuseBS88_3, Rating: 80}, 430, -1, 5},
	} {
		soonest, latest, cite, err := b.OperatingTime(tt.d, tt.i)
		near := func(got quantity.Seconds, want float64) bool {
			return want < 0 || float64(got) == want || math.Abs(float64(got)-want) < 1e-9*want
		}
		if err != nil || cite.IsZero() || !near(soonest, tt.soonest) || !near(latest, tt.latest) {
			t.Errorf("%s: %v to %v, %v", tt.source, soonest, latest, err)
		}
	}
	// More current never takes longer, and the soonest is never after the latest.
	for name, f := range b.devices {
		for _, in := range append(b.Ratings(name), 100) {
			d := Device{Family: name, Rating: in}
			if f.adjusted {
				d.Ir, d.Im = in, 8*in
			}
			before, after := math.Inf(1), math.Inf(1)
			for m := 1.0; m < 60; m *= 1.01 {
				soonest, latest, _, err := b.OperatingTime(d, in*quantity.Amperes(m))
				if err != nil {
					break
				}
				if float64(soonest) > before || float64(latest) > after || soonest > latest {
					t.Fatalf("%v at %.3f × In: %v to %v after %v to %v s", d, m, soonest, latest, before, after)
				}
				before, after = float64(soonest), float64(latest)
			}
		}
	}
}

func TestLetThrough(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		source   string
		d        Device
		ipf, icn quantity.Amperes
		want     quantity.AmpereSquaredSeconds
	}{
		{"EN 60898-1 Annex ZA, type B to 32 A, 6 kA (from memory)", Device{Family: BreakerB, Rating: 32}, 3000, 6000, 45000},
		{"EN 60898-1 Annex ZA, type C to 16 A, 10 kA (from memory)", Device{Family: RCBOC, Rating: 10}, 9000, 10000, 84000},
		{"EN 60898-1 Annex ZA, 40 A: 120 % of 32 A (from memory)", Device{Family: BreakerC, Rating: 40}, 6000, 6000, 66000},
		{"IEC 60269-1 gate: 32 A, 350² × 0.1", Device{Family: FuseGG, Rating: 32}, 6000, 0, 12250},
	} {
		got, cite, err := b.LetThrough(tt.d, tt.ipf, tt.icn)
		if err != nil || math.Abs(float64(got-tt.want)) > 1e-6 || cite.IsZero() {
			t.Errorf("%s: %v, %v, want %v", tt.source, got, err, tt.want)
		}
	}
	for what, err := range map[string]error{
		"type D":           third(b.LetThrough(Device{Family: BreakerD, Rating: 32}, 3000, 6000)),
		"50 A":             third(b.LetThrough(Device{Family: BreakerB, Rating: 50}, 3000, 6000)),
		"no capacity":      third(b.LetThrough(Device{Family: BreakerB, Rating: 32}, 3000, 0)),
		"above capacity":   third(b.LetThrough(Device{Family: BreakerB, Rating: 32}, 9000, 6000)),
		"no fault current": third(b.LetThrough(Device{Family: FuseGG, Rating: 32}, 0, 0)),
		"cut-out fuse":     third(b.LetThrough(Device{Family: FuseBS88_3, Rating: 80}, 6000, 33000)),
	} {
		if err == nil {
			t.Errorf("let-through of %s has a figure", what)
		}
	}
	// A figure bounds what melts the fuse: above the greatest pre-arcing energy.
	for _, g := range b.devices[FuseGG].gates {
		got, _, err := b.LetThrough(Device{Family: FuseGG, Rating: quantity.Amperes(g.at)}, 6000, 0)
		if err != nil || got < g.value.preArcingMost {
			t.Errorf("%v A: let-through %v, pre-arcing to %v", g.at, got, g.value.preArcingMost)
		}
	}
	if least, _, err := b.MinLetThrough(Device{Family: FuseGG, Rating: 63}); err != nil || least != 9000 {
		t.Errorf("MinLetThrough(63 A) = %v, %v", least, err)
	}
}

func TestResidualCurrentDevices(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		delayed         bool
		multiple        float64
		soonest, latest float64
	}{{false, 1, 0, 0.3}, {false, 5, 0, 0.04}, {true, 1, 0.13, 0.5}, {true, 5, 0.05, 0.15}, {false, 0.5, math.Inf(1), math.Inf(1)}} {
		soonest, latest, _, err := b.RCDTime(tt.delayed, tt.multiple)
		if err != nil || float64(soonest) != tt.soonest || float64(latest) != tt.latest {
			t.Errorf("BS EN 61008-1, %v × IΔn: %v to %v, %v", tt.multiple, soonest, latest, err)
		}
	}
	if _, _, _, err := b.RCDTime(false, 3); err == nil {
		t.Error("a time at 3 × IΔn was made up")
	}
}

func TestPilot(t *testing.T) {
	b := open(t)
	for duty, want := range map[quantity.Percent]quantity.Amperes{0: 0, 2.9: 0, 5: 0, 7.5: 0, 8: 6, 9.99: 6, 97.5: 0, 100: 0} { // test-adapter manual; IEC 61851-1
		if got, cite, err := b.PilotCurrent(duty); err != nil || got != want || cite.IsZero() {
			t.Errorf("PilotCurrent(%v) = %v, %v, want %v", duty, got, err, want)
		}
	}
	for i := quantity.Amperes(6); i <= 80; i++ {
		duty, _, err := b.PilotDuty(i)
		if err != nil {
			t.Fatal(err)
		}
		// From 51 to 52.5 A the duty cycle lies in the band below, and is read as less.
		between := i > 51 && i < 52.5
		if back, _, err := b.PilotCurrent(duty); err != nil || float64(back-i) > 1e-9 || !between && math.Abs(float64(back-i)) > 1e-9 {
			t.Errorf("%v is signalled by %v, which reads as %v, %v", i, duty, back, err)
		}
	}
	for _, i := range []quantity.Amperes{0, 5.9, 80.1, quantity.Amperes(math.NaN())} {
		if d, _, err := b.PilotDuty(i); err == nil {
			t.Errorf("PilotDuty(%v) = %v, want an error", float64(i), d)
		}
	}
	for _, d := range []quantity.Percent{-1, 101, quantity.Percent(math.NaN())} {
		if i, _, err := b.PilotCurrent(d); err == nil {
			t.Errorf("PilotCurrent(%v) = %v, want an error", float64(d), i)
		}
	}
	// 12 V behind 1 kΩ, a 0.7 V diode and the vehicle's resistor (arithmetic on
	// IEC 61851-1 values): 8.98, 6.00 and 2.93 V fall in states B, C and D.
	for state, key := range map[string]string{"B": "vehicle resistor B", "C": "vehicle resistor C", "D": "vehicle resistor D"} {
		r, _, _ := b.Limit(key)
		source, _, _ := b.Limit("pilot source resistance")
		drop, _, _ := b.Limit("diode")
		v := quantity.Volts(drop + (12-drop)*r/(r+source))
		level, _, err := b.PilotState(state)
		if err != nil || v < level.Low || v > level.High || math.Abs(float64(v-level.Nominal)) > 0.1 {
			t.Errorf("state %s: %v, want %v to %v, %v", state, v, level.Low, level.High, err)
		}
	}
	for ohms, want := range map[quantity.Ohms]quantity.Amperes{1500: 13, 680: 20, 220: 32, 100: 70} { // IEC 61851-1 Annex B; positions in adaptor handbooks
		if single, _, _, err := b.CableCoding(ohms); err != nil || single != want {
			t.Errorf("CableCoding(%v) = %v, %v, want %v", ohms, single, err, want)
		}
	}
	for _, ohms := range []quantity.Ohms{0, 30, 5000, quantity.Ohms(math.NaN())} {
		if i, _, _, err := b.CableCoding(ohms); err == nil {
			t.Errorf("CableCoding(%v) = %v, want an error", float64(ohms), i)
		}
	}
	if s, _, err := b.PilotTime("close after state C"); err != nil || s != 3 {
		t.Errorf("PilotTime = %v, %v", s, err)
	}
	if _, _, err := b.PilotTime("never"); err == nil {
		t.Error("an unknown time was answered")
	}
}

func TestDemandAndBoards(t *testing.T) {
	b := open(t)
	// IET On-Site Guide Table A2, shower rows: two in full, a quarter of the rest.
	if d, _, err := b.Diversity("dwelling", "instantaneous water heater"); err != nil || d != (Diversity{Largest: 1, Second: 1, Rest: 0.25}) {
		t.Errorf("showers: %+v, %v", d, err)
	}
	if _, _, err := b.Diversity("dwelling", "vehicle"); err == nil || !strings.Contains(err.Error(), "cooking") {
		t.Errorf("a charge point has diversity: %v", err)
	}
	for circuits, want := range map[int]float64{1: 1, 2: 0.8, 3: 0.8, 4: 0.7, 9: 0.6, 10: 0.5, 40: 0.5} { // BS EN 61439-3 Table 101 (from memory)
		if got, cite := b.AssumedLoading(circuits); got != want || cite.IsZero() {
			t.Errorf("AssumedLoading(%d) = %v, want %v", circuits, got, want)
		}
	}
	if got, _ := b.AssumedLoading(0); !math.IsNaN(got) {
		t.Errorf("AssumedLoading(0) = %v", got)
	}
	if u, _, err := b.InstrumentUncertainty("loop"); err != nil || u.Relative != 0.3 || u.Resolution != 0.01 {
		t.Errorf("loop tester: %+v, %v", u, err)
	}
	if _, _, err := b.InstrumentUncertainty("guesswork"); err == nil {
		t.Error("an unknown instrument was answered")
	}
}

func TestRoutes(t *testing.T) {
	b := open(t)
	if o, _, err := b.Outline(Armoured, 2, 6); err != nil || o.Width != o.Thickness || math.Abs(float64(o.Width)-0.0159) > 1e-9 {
		t.Errorf("Outline = %v, %v, want 15.9 mm (cable data sheets)", o, err)
	}
	if g, _, err := b.Gland(2, 4); err != nil || g != "20S" {
		t.Errorf("Gland = %q, %v, want 20S (cable data sheet)", g, err)
	}
	if r, _, err := b.BendRadius("armoured", 0.0159); err != nil || math.Abs(float64(r)-6*0.0159) > 1e-9 {
		t.Errorf("BendRadius = %v, %v, want six diameters (cable data sheets)", r, err)
	}
	if s, _, err := b.ClipSpacing("non-armoured", 0.009); err != nil || s != (spacingRow{0.25, 0.4}) {
		t.Errorf("ClipSpacing = %v, %v, want 250 and 400 mm (IET On-Site Guide Table D1)", s, err)
	}
	if s, _, err := b.ConduitSupport("rigid metal", 20); err != nil || s != (spacingRow{1.75, 2}) {
		t.Errorf("ConduitSupport = %v, %v", s, err)
	}
	if s, _, err := b.TrunkingSupport("metal", 2500); err != nil || s != (spacingRow{1.75, 2}) {
		t.Errorf("TrunkingSupport = %v, %v", s, err)
	}
	if f, cite, err := b.ConduitFactor(20, 5.5, 1); err != nil || f != 233 || !strings.Contains(cite.Place(), "next longer") {
		t.Errorf("ConduitFactor = %v, %v, %v, want the 6 m row, 233", f, cite.Place(), err)
	}
	if _, _, err := b.ConduitFactor(20, 30, 4); err == nil {
		t.Error("a run of 30 m with four bends has a factor")
	}
	if f, _, err := b.TrunkingFactor("50x50"); err != nil || f != 1037 {
		t.Errorf("TrunkingFactor = %v, %v", f, err)
	}
}

func TestRecords(t *testing.T) {
	b := open(t)
	steps := b.TestSteps()
	if len(steps) < 20 || steps[0].Key != "inspection" || steps[1].Key != "isolate" {
		t.Fatalf("the tests do not begin with inspection and isolation: %v", steps[:2])
	}
	live := false
	for _, s := range steps {
		if s.Stage == "live" {
			live = true
		} else if live && s.Stage == "dead" {
			t.Errorf("%s is a dead test after a live one", s.Key)
		}
		if s.Cite.IsZero() {
			t.Errorf("%s has no source", s.Key)
		}
	}
	if steps[0].Cite.Doubt() == "" {
		t.Error("the citation of a record does not know the job's edition")
	}
	if err := b.readAll(); err != nil {
		t.Fatal(err)
	}
	for what, n := range map[string]int{"faults": len(b.Faults()), "fields": len(b.FormFields()), "OCPP rows": len(b.OCPPRows()), "pilot rows": len(b.PilotRows()), "requirements": len(b.Requirements()), "grounds": len(b.Grounds()), "cable codes": len(b.CableCodes())} {
		if n < 4 {
			t.Errorf("%s: %d", what, n)
		}
	}
	for _, g := range b.Grounds() {
		if !(g.Low < g.High) || b.GroundCitation(g).IsZero() {
			t.Errorf("%+v", g)
		}
	}
}

// A second country is a folder of its own. This one is invented.
var elsewhere = fstest.MapFS{
	"editions.csv": {Data: []byte("# Editions.\nname,short,published,for_new_work_from,withdrawn,offered,in_force,source,clause,edition,place,confidence,basis\n" +
		"Rules of Nowhere 3:2020,3:2020,2020,2020-01-01,,yes,no,an invented ministry,,,,confirmed,\n" +
		"Rules of Nowhere 4:2025,4:2025,2025,2025-01-01,,yes,yes,an invented ministry,,,,confirmed,\n")},
	"clauses.csv": {Data: []byte("# Clauses.\nkey,source,clause,edition,place,confidence,basis\n" +
		"volt drop,Rules of Nowhere 3:2020 § 12,§ 12,Rules of Nowhere 3:2020;Rules of Nowhere 4:2025,at most the limit,confirmed,\n")},
	"limits.csv": {Data: []byte("# Limits.\nkey,value,unit,source,clause,edition,place,confidence,basis\n" +
		"volt drop other public,0.04,,Rules of Nowhere 3:2020 § 12,§ 12,Rules of Nowhere 3:2020,,confirmed,\n")},
	"ratings.csv": {Data: []byte("# Ratings.\nconstruction,insulation,methods,loaded,mm2,amperes,source,clause,edition,place,confidence,basis\n" +
		"multicore,90 °C thermosetting,C,2,6,50,Rules of Nowhere 4:2025 table 7,table 7,Rules of Nowhere 4:2025,6 mm²,confirmed,\n")},
}

func TestSecondCountry(t *testing.T) {
	b, err := OpenFS(elsewhere, "")
	if err != nil {
		t.Fatal(err)
	}
	if b.Edition() != "Rules of Nowhere 4:2025" {
		t.Errorf("Edition() = %s", b.Edition())
	}
	if v, cite, err := b.Limit("volt drop other public"); err != nil || v != 0.04 || cite.Doubt() != "from 3:2020, not checked against 4:2025" {
		t.Errorf("Limit = %v, %v, %v", v, cite, err)
	}
	if cite := b.Clause("volt drop"); cite.Clause() != "§ 12" || cite.Doubt() != "" {
		t.Errorf("a row checked against both editions has the doubt %q", cite.Doubt())
	}
	if it, cite, err := b.Rating(Copper, Multicore, Thermosetting90, MethodC, 2, 6); err != nil || it != 50 || cite.Doubt() != "" {
		t.Errorf("Rating = %v, %v, %v", it, cite, err)
	}
	old, err := OpenFS(elsewhere, "3:2020")
	if err != nil || old.Edition() != "Rules of Nowhere 3:2020" {
		t.Errorf("OpenFS of edition 3 = %v, %v", old, err)
	}
	// Tables it does not have are not tabulated; nothing passes by default.
	for what, err := range map[string]error{
		"resistance": third(b.Resistance(Copper, Stranded, 6)), "volt drop": third(b.VoltDrop(Copper, Multicore, Thermosetting90, MethodC, 1, 6)),
		"grouping": third(b.GroupingFactor(MethodB, Bunched, 2)), "ambient": third(b.AmbientFactor(Thermoplastic70, false, 30)),
		"insulation": third(b.InsulationFactor(0)), "k": third(b.K(Copper, Thermoplastic70, CPCInCable)), "pilot": third(b.PilotDuty(32)),
		"Zs": third(b.MaxZs(Device{Family: BreakerB, Rating: 32}, 0.4, 230)), "outline": third(b.Outline(Armoured, 2, 6)),
	} {
		if err == nil {
			t.Errorf("%s is answered from no table", what)
		}
	}
	if f, _ := b.OverloadFactor(false, true); !math.IsNaN(f) {
		t.Errorf("OverloadFactor from no table = %v, want not a number", f)
	}
	if f, _ := b.I2Factor(Device{Family: BreakerB}); !math.IsNaN(f) {
		t.Errorf("I2Factor from no table = %v, want not a number", f)
	}
	if s, _ := b.ProtectiveConductorBySelection(6); !math.IsNaN(float64(s)) {
		t.Errorf("protective conductor from no table = %v, want not a number", s)
	}
	if s, _ := b.MainBonding(false, 16); !math.IsNaN(float64(s)) {
		t.Errorf("bonding from no table = %v, want not a number", s)
	}
	if b.TestSteps() != nil || b.Ratings(BreakerB) != nil {
		t.Error("rows from no table")
	}
}

// Faults in a table are all found, each with its row.
func TestFaultyTables(t *testing.T) {
	with := func(name, text string) fs.FS {
		m := fstest.MapFS{"editions.csv": elsewhere["editions.csv"]}
		m[name] = &fstest.MapFile{Data: []byte(text)}
		return m
	}
	const head = "# x\nkey,value,unit,source,clause,edition,place,confidence,basis\n"
	for _, tt := range []struct{ file, text, says string }{
		{"limits.csv", head + "a,1,,,,,,confirmed,\nb,1,,s,,,,sure,\n", "limits.csv:3: source: where the row is from"},
		{"limits.csv", head + "a,1,,,,,,confirmed,\nb,1,,s,,,,sure,\n", `limits.csv:4: confidence is "sure"`},
		{"limits.csv", head + "a,one,,s,,,,confirmed,\n", `limits.csv:3: value is "one": a number is wanted`},
		{"limits.csv", head + "a,,,s,,,,confirmed,\n", "limits.csv:3: value: a number is wanted, and the cell is empty"},
		{"limits.csv", head + "a,1,,s,,,,confirmed,\na,2,,s,,,,confirmed,\n", `the key "a" is there twice`},
		{"limits.csv", "key,value\na,1\n", "limits.csv:1: the first row must be key,value,unit"},
		{"limits.csv", strings.Replace(head, "unit", "units", 1), "limits.csv:2: the first row must be key,value,unit"},
		{"limits.csv", head + "\"a", "limits.csv:3: a quote is opened and not closed"},
		{"limits.csv", head + "\"a\"b,1", "limits.csv:3: text follows a closing quote"},
		{"flat-twin.csv", "mm2,cpc_mm2,source,clause,edition,place,confidence,basis\n2.5,1.5,s,,,,confirmed,\n1.5,1,s,,,,confirmed,\n", "1.5 does not come after 2.5"},
		{"editions.csv", "name,short,published,for_new_work_from,withdrawn,offered,in_force,source,clause,edition,place,confidence,basis\n", "names its editions"},
		{"soil.csv", "duct,km_per_w,factor,source,clause,edition,place,confidence,basis\nmaybe,1,1,s,,,,confirmed,\n", `soil.csv:2: duct is "maybe": yes or no is wanted`},
		{"conductors.csv", "material,class,mm2,mohm_per_m,source,clause,edition,place,confidence,basis\ncopper,2.5,1,1,s,,,,confirmed,\n", `conductors.csv:2: class is "2.5": a whole number is wanted`},
		{"greatest-zs.csv", "families,rated_a,within_s,operating_a,zs_ohm,measured_ohm,source,clause,edition,place,confidence,basis\nx,6,soon,1,1,1,s,,,,confirmed,\n", `within_s is "soon"`},
		{"faults.csv", "id,kind\nF01,fault\n", "faults.csv:1: the first row must be"},
		{"ratings.csv", "construction,insulation,methods,loaded,mm2,amperes,source,clause,edition,place,confidence,basis\nsingles,x,C,5,6,50,s,,,,confirmed,\n", "is not 1, 2 or 3"},
	} {
		if _, err := OpenFS(with(tt.file, tt.text), ""); err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: error %v, want one saying %q", tt.file, err, tt.says)
		}
	}
	if _, err := OpenFS(fstest.MapFS{}, ""); err == nil {
		t.Error("an empty folder is a rulebook")
	}
	if _, err := OpenFS(elsewhere, "5:2030"); err == nil {
		t.Error("an unknown edition was opened")
	}
}
