package job

import "testing"

func TestLookUps(t *testing.T) {
	j := mustRead(t, string(sample(t)))
	for what, ok := range map[string]bool{
		"board":      found(j.Board("garage board")),
		"circuit":    found(j.Circuit("van point")),
		"point":      found(j.Point("CP2")),
		"load":       found(j.Load("lathe")),
		"electrode":  found(j.Electrode("yard rod")),
		"limiter":    found(j.Limiter("main limit")),
		"instrument": found(j.Instrument("tester one")),
		"RCD":        found(j.Boards[0].RCD("left RCD")),
		"leg":        found(j.Circuits[1].Leg("loft")),
		"feeder":     found(j.FedBy("garage board")),
		"no feeder":  !found(j.FedBy("main board")),
		"no name":    !found(j.FedBy("")),
		"no board":   !found(j.Board("shed")),
	} {
		if !ok {
			t.Errorf("the look-up of %s is wrong", what)
		}
	}
	if from := j.From("main board"); len(from) != 2 || from[0].Name != "garage" || from[1].Name != "van point" {
		t.Errorf("From(main board) = %v, want garage and van point", from)
	}
	if o := j.Origin(); len(o) != 1 || o[0].Name != "main board" {
		t.Errorf("Origin() = %v, want the main board", o)
	}
	if j.Boards[0].Name = "x"; !found(j.Board("x")) {
		t.Error("a look-up does not point into the job itself")
	}
}

func found[T any](at *T, ok bool) bool { return ok && at != nil }

// A job with a ring in it, which Read has refused but still returned.
func TestUpstreamEnds(t *testing.T) {
	j, err := Read("x.yaml", []byte("boards: [{name: a}, {name: b}]\ncircuits: [{name: c, from: a, to: b}, {name: d, from: b, to: a}]\n"))
	if err == nil || j == nil {
		t.Fatalf("Read = %v, %v, want a job and its ring", j, err)
	}
	if up := j.Upstream("a"); len(up) > 3 {
		t.Errorf("Upstream(a) = %d circuits of 2", len(up))
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
