package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/works"
)

// opens opens the only job of a server.
func opens(t *testing.T, s *Server) *opened {
	t.Helper()
	id := jobOf(t, s)
	acts, err := s.Store.Acts(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	o, err := fold(id, acts)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func stationsOf(o *opened) (all []*station) {
	for _, r := range o.line() {
		all = append(all, r.Stations...)
	}
	return all
}

// TestLineSharesEveryFindingAndReading: what is found of a part of the job
// stands at one station, what is found of the whole job at none; every reading
// is taken at one.
func TestLineSharesEveryFindingAndReading(t *testing.T) {
	for _, example := range []string{"terrace/job.yaml", "terrace/faulty.yaml", "bakery/complete.yaml", "pool/job.yaml", "pool/faulty.yaml"} {
		o := opens(t, served(t, example))
		whole, found, reads := 0, 0, 0
		for _, f := range o.Found {
			if f.Path == "" || works.Within(f.Path, "site") || works.Within(f.Path, "loads") {
				whole++
			}
		}
		for _, s := range stationsOf(o) {
			for _, f := range s.found {
				if f.Key != "" && !strings.HasPrefix(f.Key, "reading ") {
					found++
				}
			}
			reads += s.Reads
		}
		if found < len(o.Found)-whole {
			t.Errorf("%s: %d of %d findings about parts have a station", example, found, len(o.Found)-whole)
		}
		if reads != len(o.Expected) {
			t.Errorf("%s: %d of %d readings have a station", example, reads, len(o.Expected))
		}
	}
}

// TestAHouseIsNineStations: as many as stand on a phone of 360 × 740 at 48 px
// each, with what to do now above them; like points are one.
func TestAHouseIsNineStations(t *testing.T) {
	if n := len(stationsOf(opens(t, served(t, "terrace/job.yaml")))); n > 9 {
		t.Errorf("a house has %d stations", n)
	}
	points, alike := 0, 0
	for _, s := range stationsOf(opens(t, served(t, "pool/job.yaml"))) {
		if s.Symbol == "point" {
			points++
			alike += s.Count
		}
	}
	if points != 2 || alike != 12 { // the near ones in one size of cable, the far ones in another
		t.Errorf("twelve points are %d stations of %d", points, alike)
	}
}

// TestTheLineStopsWhereItFails: the first station that fails has the bar, what
// is beyond it hangs on nothing, and the state names it.
func TestTheLineStopsWhereItFails(t *testing.T) {
	s := served(t, "terrace/faulty.yaml")
	all := stationsOf(opens(t, s))
	first := slices.IndexFunc(all, (*station).Fails)
	if first < 0 || first == len(all)-1 {
		t.Fatalf("the first that fails is %d of %d", first, len(all))
	}
	for i, st := range all {
		if st.Beyond != (i > first) {
			t.Errorf("%s is beyond: %v", st.Title, st.Beyond)
		}
	}
	resp, body := get(t, s.Handler(), "/jobs/"+jobOf(t, s))
	if resp.StatusCode != http.StatusOK || !strings.Contains(body, "<h1>Fails at "+all[first].Noun()+"</h1>") {
		t.Errorf("the main screen answers %s and does not name %s", resp.Status, all[first].Noun())
	}
}

// TestAStationAsksWhatItsJobWants: at most six at once, none that is known,
// none of another station, and an electrode only where there is one.
func TestAStationAsksWhatItsJobWants(t *testing.T) {
	s := served(t, "terrace/open.yaml")
	o := opens(t, s)
	now := s.Now()
	asked := map[string]bool{}
	for _, st := range stationsOf(o) {
		for _, b := range o.questions(st, now) {
			if b.Now != "" {
				t.Errorf("%s asks for %s, which is known", st.Title, b.Path)
			}
			if asked[b.Path] {
				t.Errorf("%s asks for %s, as another does", st.Title, b.Path)
			}
			asked[b.Path] = true
			if strings.HasPrefix(b.Path, "electrodes/") {
				t.Errorf("%s asks for an electrode that is not there", st.Title)
			}
		}
		_, body := get(t, s.Handler(), sheetURL(o.ID, st.Of))
		if n := strings.Count(body, `<div class="blank">`); n > mostQuestions {
			t.Errorf("%s asks %d questions at once", st.Title, n)
		}
	}
	for _, f := range o.Found {
		if f.Verdict != finding.NotKnown {
			continue
		}
		for _, l := range f.Lacks {
			if field := job.FieldAt(l.Path); field != nil && field.Single() && o.Record.Now(l.Path).Value == "" && !asked[l.Path] && holdsPart(o.Record, l.Path) {
				t.Errorf("nobody asks for %s, which %q lacks", l.Path, f.What)
			}
		}
	}
}

// TestAReadingTakenAgainCountsAlone: the first is struck, stays in the journal,
// and is no evidence.
func TestAReadingTakenAgainCountsAlone(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	at := "/jobs/" + id + "/reading"
	enter := func(act, value, instead string) *http.Response {
		resp, body := post(t, h, at, map[string][]string{"act": {act}, "at": {"CP1"}, "reading": {"R1+R2"}, "value": {value}, "unit": {"Ω"}, "instead": {instead}})
		if resp.StatusCode != http.StatusSeeOther {
			t.Fatalf("a reading answers %s: %s", resp.Status, problemOf(body))
		}
		return resp
	}
	resp := enter("a1", "0.45", "")
	if to := resp.Header.Get("Location"); !strings.Contains(to, "reading=R1%2BR2") {
		t.Errorf("a reading far too high leads on to %s", to)
	}
	first := "readings/" + doneIn(resp)
	_, body := get(t, h, at+"?at=CP1&reading=R1%2BR2")
	if !strings.Contains(body, "Far too high") || !strings.Contains(body, "Read again") || !strings.Contains(body, "Keep, because") {
		t.Error("it is not said of it that it is far too high")
	}
	resp = enter("a2", "0.067", first)
	if to := resp.Header.Get("Location"); strings.Contains(to, "reading=R1%2BR2") {
		t.Errorf("a reading that fits leads on to itself: %s", to)
	}
	o := opens(t, s)
	if n := len(o.Job.Readings); n != 1 || o.Job.Readings[0].Value != "0.067 Ω" {
		t.Errorf("%d readings count: %+v", n, o.Job.Readings)
	}
	if _, body := get(t, h, at+"?at=CP1&reading=R1%2BR2"); !strings.Contains(body, "<s>0.45 Ω</s>") {
		t.Error("the first reading is not struck through")
	}
	if resp, _ := post(t, h, at, map[string][]string{"act": {"a3"}, "at": {"CP1"}, "reading": {"R1+R2"}, "value": {"0.05"}, "instead": {first}}); resp.StatusCode != http.StatusConflict {
		t.Errorf("a reading in the place of one that counts no more answers %s", resp.Status)
	}
}

// TestWhatIsAssumedIsSeenAtItsStation: dotted until somebody looked; all of a
// station in one touch, and not what changed in between.
func TestWhatIsAssumedIsSeenAtItsStation(t *testing.T) {
	s := served(t, "terrace/open.yaml")
	h, id := s.Handler(), jobOf(t, s)
	assumed := "7.4 kW (assumed)"
	if resp, body := post(t, h, "/jobs/"+id+"/fact", map[string][]string{"act": {"f1"}, "path": {"points/CP1/power"}, "value": {assumed}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("an assumption answers %s: %s", resp.Status, problemOf(body))
	}
	if st := opens(t, s).stationOf("points/CP1"); !st.Dotted {
		t.Error("the figure that nobody has seen is not dotted")
	}
	if _, body := get(t, h, "/jobs/"+id); !strings.Contains(body, "<h1>1 not yet seen</h1>") {
		t.Error("the main screen does not say what is not yet seen")
	}
	form := map[string][]string{"act": {"s1"}, "all": {"yes"}, "assumed": {"points/CP1/power"}, "saw points/CP1/power": {"11 kW (assumed)"}}
	if resp, _ := post(t, h, "/jobs/"+id+"/fill", form); resp.StatusCode != http.StatusConflict {
		t.Errorf("what was shown otherwise answers %s", resp.Status)
	}
	form["saw points/CP1/power"] = []string{assumed}
	if resp, body := post(t, h, "/jobs/"+id+"/fill", form); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("seen answers %s: %s", resp.Status, problemOf(body))
	}
	if got := factNow(t, s, id, "points/CP1/power"); got != "7.4 kW" {
		t.Errorf("what was seen stands as %q", got)
	}
}
