package meter

import "testing"

func FuzzRegisterMap(f *testing.F) {
	for _, name := range RegisterMaps() {
		text, _ := builtInRegisters.ReadFile("tables/registers/" + name + ".csv")
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		registers, err := ReadRegisterMap("map.csv", text)
		if err != nil {
			return
		}
		for _, r := range registers {
			if _, ok := r.decode(make([]uint16, types[r.Type])); !ok {
				t.Fatalf("%+v cannot read noughts", r)
			}
			var m Reading
			m.put(r, 1)
		}
	})
}
