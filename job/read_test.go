package job

import (
	"os"
	"testing"
)

func sample(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile("testdata/yard.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestReadSample(t *testing.T) {
	j, err := Read("yard.yaml", sample(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Circuits) != 3 || len(j.Points) != 2 || len(j.Readings) != 2 {
		t.Errorf("%d circuits, %d points, %d readings, want 3, 2, 2", len(j.Circuits), len(j.Points), len(j.Readings))
	}
	if got := j.Supply.Ze.Value.String(); got != "0.18 Ω" {
		t.Errorf("Ze = %s, want 0.18 Ω", got)
	}
	if got := j.Supply.Ipf.KnownBy.String(); got != "measured" {
		t.Errorf("Ipf known by %s, want measured", got)
	}
	if got := j.Readings[1].Value; got != "> 200 MΩ" {
		t.Errorf("insulation = %q, want > 200 MΩ", got)
	}
	if got, ok := j.FedBy("CP1"); !ok || got.Name != "van point" {
		t.Errorf("FedBy(CP1) = %v, %v, want van point", got, ok)
	}
}

func BenchmarkRead(b *testing.B) {
	text := sample(b)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := Read("yard.yaml", text); err != nil {
			b.Fatal(err)
		}
	}
}
