package job

import (
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/works"
)

// named is a job whose names hold each other.
const named = `job: names
supply: {earthing: TN-C-S}
boards:
  - {name: main, fed from: supply}
circuits:
  - name: van point
    from: main
    to: CP1
    legs:
      - {name: yard wall, length: 10 m}
      - {name: "a, b", length: 2 m}
  - {name: CP10, from: main, to: point CP1}
points:
  - {name: CP1}
  - {name: point CP1}
`

// TestWhatAJudgementIsAbout: a certificate was once signed with CP10 at IP20,
// because the departure spoke of CP1.
func TestWhatAJudgementIsAbout(t *testing.T) {
	const list = "departures:\n  - {clause: 1.1, what: w, reason: r, who: a, about: %}\n"
	for _, tt := range []struct{ about, path, fault string }{
		{about: "CP1", path: "points/CP1"},
		{about: "points/CP1", path: "points/CP1"},
		{about: "point CP1", fault: "it may be"},
		{about: "point point CP1", path: "points/point CP1"},
		{about: "circuit CP10", path: "circuits/CP10"},
		{about: "van point", path: "circuits/van point"},
		{about: "circuit van point, leg yard wall", path: "circuits/van point/legs/yard wall"},
		{about: "circuit van point, leg 1 (yard wall)", path: "circuits/van point/legs/yard wall"},
		{about: "circuit van point, leg a, b", path: "circuits/van point/legs/a, b"},
		{about: "circuit van point, device", path: "circuits/van point/device"},
		{about: "RCD of circuit van point", path: "circuits/van point/RCD"},
		{about: "cut-out", path: "supply/cut-out"},
		{about: "CP2", fault: "nearest is CP1"},
		{about: "circuit van pont", fault: "nearest is circuit van point"},
		{about: "xyzzy and plugh", fault: "no part of that name"},
	} {
		j, err := Read("n.yaml", []byte(named+strings.Replace(list, "%", `"`+tt.about+`"`, 1)))
		if tt.fault != "" {
			if err == nil || !strings.Contains(err.Error(), tt.fault) || !strings.Contains(err.Error(), "n.yaml:17") {
				t.Errorf("about %q: %v, want a fault at line 17 that says %q", tt.about, err, tt.fault)
			}
			continue
		}
		if err != nil {
			t.Errorf("about %q: %v", tt.about, err)
			continue
		}
		for _, path := range []string{"", "points/CP1", "points/point CP1", "points/CP10", "circuits/CP10", "circuits/van point", "circuits/van point/legs/yard wall",
			"circuits/van point/legs/a, b", "circuits/van point/device", "circuits/van point/RCD", "supply", "supply/cut-out"} {
			f := finding.Finding{Clause: finding.Clause{Name: "1.1"}, Path: path}
			if got, want := j.Departed(f), path == tt.path || tt.path != "" && strings.HasPrefix(path, tt.path+"/"); got != want {
				t.Errorf("about %q: a finding about %q is departed from: %v, want %v", tt.about, path, got, want)
			}
		}
	}
}

// TestEveryPartHasANameOfItsOwn: what a page writes for a part means that part.
func TestEveryPartHasANameOfItsOwn(t *testing.T) {
	j, err := Read("n.yaml", []byte(named))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range append(j.parts(), works.TheInstallation) {
		if got := j.PathsOf(j.Call(p.Path)); len(got) != 1 || got[0] != p.Path {
			t.Errorf("%q is written %q, which may be %q", p.Path, j.Call(p.Path), got)
		}
	}
}
