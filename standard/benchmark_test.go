package standard

import (
	"testing"

	"chargewright/quantity"
)

// BenchmarkRead is the first Open of a command: every table read and indexed.
func BenchmarkRead(b *testing.B) {
	fsys := gb(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := read(fsys); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Open("BS 7671:2018+A4:2026"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLookUps(b *testing.B) {
	r := open(b)
	for name, look := range map[string]func() error{
		"Rating":        func() error { return third(r.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 25)) },
		"VoltDrop":      func() error { return third(r.VoltDrop(Copper, Armoured, Thermosetting90, MethodC, 1, 25)) },
		"Resistance":    func() error { return third(r.Resistance(Copper, Stranded, 25)) },
		"AmbientFactor": func() error { return third(r.AmbientFactor(Thermosetting90, false, 37)) },
		"Grouping":      func() error { return third(r.GroupingFactor(MethodB, Bunched, 5)) },
		"K":             func() error { return third(r.K(Copper, Thermosetting90, CPCInCable)) },
		"MaxZs":         func() error { return third(r.MaxZs(Device{Family: BreakerB, Rating: 32}, 0.4, 230)) },
		"Limit":         func() error { return third(r.Limit("touch voltage")) },
		"OperatingTime": func() error {
			_, _, _, err := r.OperatingTime(Device{Family: BreakerB, Rating: 32}, 100)
			return err
		},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := look(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A look-up gives no work to the garbage collector.
func TestLookUpsDoNotAllocate(t *testing.T) {
	r := open(t)
	var sink Citation
	if n := testing.AllocsPerRun(100, func() {
		_, sink, _ = r.Rating(Copper, Armoured, Thermosetting90, MethodC, 2, 25)
		_, sink, _ = r.AmbientFactor(Thermosetting90, false, 37)
		_, sink, _ = r.MaxZs(Device{Family: FuseGG, Rating: 63}, 5, quantity.Volts(230))
		sink = r.Clause("overload")
	}); n != 0 {
		t.Errorf("look-ups allocate %v times (%v)", n, sink)
	}
}
