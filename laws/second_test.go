package laws

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/works"
)

// figures is what we say of a job, under the path and the quantity that the
// second checker says it under.
type figures map[string]figureOf

type figureOf struct {
	number  float64
	measure finding.Measure
}

func (f figures) put(path, what string, a figureOf) { f[path+"\t"+what] = a }

func amountOf[Q quantity.Quantity](q Q) figureOf { return figureOf{float64(q), q.Measure()} }

// said gathers the figures of a job from the rooms that say them.
func said(m *model.Model) figures {
	f := figures{}
	for _, c := range m.Circuits {
		at := works.Under("circuits", c.Record.Name)
		if ib := c.DesignCurrents(); ib.Known() {
			f.put(at, "Ib", amountOf(ib.Greatest()))
		}
		for _, l := range c.Legs {
			leg := works.Under(at+"/legs", l.Record.Name)
			if r := design.RateLeg(m, c, l); len(r.Lacks) == 0 {
				f.put(leg, "Iz", amountOf(r.Capacity))
			}
			if l.Line.Known() && l.Line.K > 0 {
				f.put(leg, "k of the line", figureOf{l.Line.K, quantity.Percent(0).Measure()})
			}
		}
		if d := design.PathDrop(m, c); len(d.Lacks) == 0 {
			f.put(at, "volt drop", amountOf(d.Volts))
		}
		if z := c.OperatingLoop(); z.Known() {
			f.put(at, "Zs", amountOf(z.Magnitude()))
		}
		if z := c.GreatestZs(); z.Known() {
			f.put(at, "greatest Zs", amountOf(z.Value))
		}
	}
	for _, e := range prove.Expect(m) {
		if c, ok := m.Job.FedBy(e.At); ok && e.Known() && (e.Reading == "R1+R2" || e.Reading == "R2") {
			f.put(works.Under("circuits", c.Name), e.Reading, amountOf(quantity.Ohms(e.Mid.Number)))
		}
	}
	for i := range m.Job.Electrodes {
		e := &m.Job.Electrodes[i]
		if r := m.ElectrodeResistance(e); r.Known() {
			f.put(works.Under("electrodes", e.Name), "RA", amountOf(r.Value))
		}
	}
	d := m.SupplyDemand()
	if d.Points.Known() {
		f.put("points", "demand in full", amountOf(d.Points.Greatest()))
		f.put("points", "neutral", amountOf(d.Points.Neutral()))
	}
	if u0 := m.U0(); u0.Known() && d.Points.Known() && d.Existing.Known() {
		all := d.Existing
		for line := range all.Phase {
			all.Phase[line] += d.Points.Phase[line]
		}
		f.put("supply", "lost PEN", amountOf(model.LostPENVoltage(u0.Value, 1.1, all, quantity.Ohms(math.Inf(1)))))
	}
	return f
}

// TestSecondChecker: a plain script, written from the standards with tables of
// its own, comes to the same figures to the last digit printed, or one of us is
// wrong.
func TestSecondChecker(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is not there")
	}
	n := 1500
	if testing.Short() {
		n = 300
	}
	var jobs bytes.Buffer
	models := make([]*model.Model, n)
	for i := range n {
		r := invent.Rand(uint64(5000 + i))
		entries := invent.Job(r, []invent.Options{{}, {Boards: 2, Points: 4}, {Missing: 0.1}, {Wild: 0.1}}[i%4])
		if i%4 < 2 { // an electrode nobody has measured yet is reckoned by its shape
			for _, path := range every(entries, "electrodes/*/resistance") {
				entries = with(entries, path, "")
			}
		}
		models[i] = laid(t, entries)
		var line bytes.Buffer
		if err := json.Compact(&line, job.JSON(models[i].Job)); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(&jobs, line.String())
	}
	script := exec.Command(python, "testdata/secondchecker/check.py")
	script.Stdin = &jobs
	var complaint bytes.Buffer
	script.Stderr = &complaint
	out, err := script.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, complaint.String())
	}
	compared, silent, apart := map[string]int{}, map[string]int{}, map[string]int{}
	ours, of := figures{}, -1
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		cells := strings.Split(lines.Text(), "\t")
		number, _ := strconv.Atoi(cells[0])
		if number != of {
			ours, of = said(models[number]), number
		}
		what := cells[2]
		theirs, err := strconv.ParseFloat(cells[3], 64)
		if err != nil {
			t.Fatalf("the second checker says %q", lines.Text())
		}
		a, ok := ours[cells[1]+"\t"+what]
		switch {
		case !ok:
			silent[what]++
		case !asPrinted(a, theirs):
			if apart[what]++; apart[what] <= 5 {
				t.Errorf("job %d, %s: %s is %v, and %v by the second checker (%g, %g)", number, cells[1], what,
					a.measure.Show(a.number), a.measure.Show(theirs), a.number, theirs)
			}
		default:
			compared[what]++
		}
	}
	for _, what := range []string{"Ib", "Iz", "volt drop", "Zs", "greatest Zs", "R1+R2", "R2", "RA", "k of the line", "demand in full", "neutral", "lost PEN"} {
		if compared[what] < n/20 {
			t.Errorf("%s was compared %d times in %d jobs: too few to say anything", what, compared[what], n)
		}
	}
	t.Logf("same in %v; not said by us %v; apart %v", compared, silent, apart)
}

// asPrinted reports that a figure is the same to the last digit printed; where
// it lies on the edge between two digits, either is right.
func asPrinted(a figureOf, theirs float64) bool {
	return a.measure.Show(a.number) == a.measure.Show(theirs) || math.Abs(a.number-theirs) <= 1e-9*max(1, math.Abs(theirs))
}
