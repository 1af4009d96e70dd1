package job

import "testing"

func TestLookUps(t *testing.T) {
	j := mustRead(t, string(sample(t)))
	l, ok := j.Limiter("main limit")
	if !ok || l != &j.Limiters[0] {
		t.Errorf("Limiter(main limit) = %v, %v, want the one in the job itself", l, ok)
	}
	if c, ok := j.FedBy("garage board"); !ok || c.Name != "garage" {
		t.Errorf("FedBy(garage board) = %v, %v, want garage", c, ok)
	}
	for _, name := range []string{"main board", ""} {
		if c, ok := j.FedBy(name); ok {
			t.Errorf("FedBy(%q) = %v, want none", name, c)
		}
	}
}

func BenchmarkSet(b *testing.B) {
	text := sample(b)
	for b.Loop() {
		f, err := ReadRecord("yard.yaml", text)
		if err == nil {
			err = f.Set("supply/Ze", "0.2 Ω")
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
