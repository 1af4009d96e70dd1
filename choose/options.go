package choose

// Options for the customer, side by side: the same site done another way, each
// with what it needs, costs and leaves open.

import (
	"fmt"
	"math"
	"slices"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Option is one way to do the job.
type Option struct {
	Name    string  `json:"name"`
	Known   bool    `json:"known"`   // whether a design was found
	Cost    float64 `json:"cost"`    // of everything that is chosen, and of the option's own price
	Against float64 `json:"against"` // cost less that of the job as it is drawn
	Needs   string  `json:"needs"`
	Leaves  string  `json:"leaves"` // what stays open, or is given up
}

// study is a site that is chosen again and again, changed a little each time.
type study struct {
	job       *job.Job
	rules     *standard.Rulebook
	catalogue *Catalogue
	aim       Aim
	base      *Outcome
	out       []Option
}

// Options returns the ways a site may be done: as drawn; with every earthing
// measure the rules allow; with a lower limit, or a larger supply and none;
// with a service of its own; with a board at another joint of its route.
func Options(j *job.Job, rules *standard.Rulebook, c *Catalogue, aim Aim) []Option {
	s := &study{job: j, rules: rules, catalogue: c, aim: aim, base: Choose(j, rules, c, aim)}
	drawn := "what the choice lists"
	if len(s.base.Settings) == 0 {
		drawn = "nothing more: no circuit is left open"
	}
	s.put("as drawn", s.base, 0, drawn, "")
	for _, tries := range []func(){s.measures, s.limits, s.supply, s.unloop, s.places, s.sharedRoutes} {
		if aim.left() {
			return nil // nobody waits for them
		}
		tries()
	}
	return s.out
}

// whole returns what an outcome costs, its boards, surge devices and limiter in.
func (s *study) whole(o *Outcome) float64 {
	sum := o.Cost
	for _, b := range o.Boards {
		sum += b.Cost
	}
	for _, x := range o.Surge {
		sum += x.Cost
	}
	return sum + float64(len(o.Job.Limiters))*s.catalogue.Cost(s.catalogue.Sundries["limiter"])
}

// put adds an option. Leaves is joined by what the design itself leaves open.
func (s *study) put(name string, o *Outcome, price float64, needs, leaves string) {
	x := Option{Name: name, Known: o.found(), Needs: needs, Leaves: leaves}
	if x.Known {
		x.Cost = s.whole(o) + price
		if len(s.out) > 0 && s.out[0].Known {
			x.Against = x.Cost - s.out[0].Cost
		}
	}
	if len(o.Lacks) > 0 {
		x.Leaves = join(x.Leaves, "not known: "+o.Lacks[0].String())
	}
	s.out = append(s.out, x)
}

func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// again chooses a changed copy of the job.
func (s *study) again(change func(*job.Job)) *Outcome {
	j := copyOf(s.job)
	change(j)
	return Choose(j, s.rules, s.catalogue, s.aim)
}

// measures forces each earthing measure on every point whose measure is open.
func (s *study) measures() {
	for _, m := range s.base.Earthing {
		if !m.Permitted || m.Chosen > 0 {
			continue
		}
		for _, row := range s.catalogue.Measures {
			name := string(row.Measure)
			if row.Device != "" {
				name += ", " + string(row.Device)
			}
			if name != m.Measure || row.Measure == trade.Separation {
				continue
			}
			only := *s.catalogue
			only.Measures = slices.DeleteFunc(slices.Clone(s.catalogue.Measures), func(r measureRow) bool { return r.Measure != row.Measure || r.Device != row.Device })
			o := Choose(s.job, s.rules, &only, s.aim)
			s.put("earthing: "+name, o, 0, m.Needs, "a reading of the electrode or proof of the device at commissioning")
			break
		}
	}
}

// limits tries lower settings of a limiter that stands at a board whose feeder
// is open: a lower limit makes the feeder smaller.
func (s *study) limits() {
	l := s.base.Limiter
	if l == nil || l.Limit == 0 {
		return
	}
	var at *model.Board
	for _, b := range s.base.Model.Boards {
		for _, x := range s.base.Job.Limiters {
			if x.Name == l.Name && x.At == b.Record.Name {
				at = b
			}
		}
	}
	if at == nil || at.Feed == nil || at.Feed.Record.Existing {
		return // nothing becomes smaller
	}
	var full [3]float64
	for _, p := range s.base.Model.Points {
		if p.Record.Limiter == l.Name {
			add(&full, s.base.Model.PointCurrents(p).Phase)
		}
	}
	most := max(full[0], full[1], full[2])
	for _, share := range []float64{0.8, 0.63, 0.5} { // the ratings of devices step like this
		lower := quantity.Amperes(math.Floor(l.Limit * share))
		o := s.again(func(j *job.Job) {
			for i := range j.Limiters {
				if j.Limiters[i].Name == l.Name {
					j.Limiters[i].Limit = quantity.Known(lower)
				}
			}
		})
		s.put(fmt.Sprintf("limit of %v", lower), o, 0, "the limiter set lower",
			fmt.Sprintf("with every point on, a 32 A point in the most loaded line gets %.1f A instead of %.1f A", 32*min(1, float64(lower)/most),
				32*min(1, l.Limit/most)))
	}
}

// supply tries a supply large enough for every point in full, without a limiter.
func (s *study) supply() {
	d := s.base.Model.SupplyDemand()
	if len(s.base.Job.Limiters) == 0 || !d.Existing.Known() || !d.Points.Known() {
		return
	}
	for _, size := range []struct {
		amperes quantity.Amperes
		sundry  string
	}{{200, "larger supply, to 200 A a phase"}, {400, "larger supply, to 400 A a phase"}, {630, "larger supply, to 630 A a phase"}} {
		price, ok := s.catalogue.Sundries[size.sundry]
		if !ok || d.Unlimited > size.amperes {
			continue
		}
		o := s.again(func(j *job.Job) {
			j.Limiters = nil
			for i := range j.Points {
				j.Points[i].Limiter = ""
			}
			j.Supply.CutOut.Rating, j.Supply.Capacity = quantity.Known(size.amperes), quantity.Known(size.amperes)
		})
		s.put(fmt.Sprintf("supply of %v a phase, no limiter", size.amperes), o, s.catalogue.Cost(price),
			fmt.Sprintf("the network operator's agreement and work, for %v in the most loaded line", d.Unlimited),
			"the operator's price and date; Ze and Ipf of the new supply, which are taken as they are now")
		return
	}
	s.out = append(s.out, Option{Name: "larger supply, no limiter", Needs: fmt.Sprintf("%v in the most loaded line", d.Unlimited),
		Leaves: "the catalogue has no price for one so large: ask the network operator"})
}

// unloop offers a service of the site's own where it is looped or may be.
func (s *study) unloop() {
	looped, known := s.job.Supply.Looped.Get()
	if known && !looped {
		return
	}
	name := "unlooping by the network operator"
	o := s.again(func(j *job.Job) { j.Supply.Looped = quantity.Known(false) })
	leaves := "the operator's date; until then the points wait, or are held to what it allows in writing"
	if !known {
		leaves = join("whether the service is looped at all: ask first", leaves)
	}
	s.put(name, o, s.catalogue.Cost(s.catalogue.Sundries[name]), "an application with the demand of the points; leave the cut-out alone", leaves)
}

// places tries every joint of an open feeder's route as the place of its board:
// nearer the origin the feeder is shorter and every circuit beyond it longer.
func (s *study) places() {
	for i := range s.job.Circuits {
		feeder := &s.job.Circuits[i]
		if feeder.Existing || feeder.Cable.CSA.IsKnown() || recordOf(s.job.Boards, func(b *works.Board) bool { return b.Name == feeder.To }) == nil {
			continue
		}
		for joint := range feeder.Legs {
			where := "at " + feeder.From + ": no board of its own"
			if joint > 0 {
				where = "at the end of " + feeder.Legs[joint-1].Name
			}
			moved := 0
			o := s.again(func(j *job.Job) { moved = moveBoard(j, feeder.Name, joint) })
			leaves := "where the route has room for the board"
			if moved > 1 {
				leaves = fmt.Sprintf("%d circuits together in every leg that the feeder gives up, taken as touching or bunched", moved)
			}
			s.put(fmt.Sprintf("board %s %s", feeder.To, where), o, 0, "the same routes, drawn anew", leaves)
		}
	}
}

// sharedRoutes tries a board at the end of a route that several new circuits of
// one board begin with: legs of one name and length are one route.
func (s *study) sharedRoutes() {
	type route struct{ from, leg string }
	seen := map[route]bool{}
	for i := range s.job.Circuits {
		c := &s.job.Circuits[i]
		if c.Existing || len(c.Legs) < 2 {
			continue
		}
		r := route{c.From, c.Legs[0].Name}
		if seen[r] || len(sharing(s.job, c)) < 2 {
			continue
		}
		seen[r] = true
		n := 0
		o := s.again(func(j *job.Job) {
			n = addBoard(j, recordOf(j.Circuits, func(x *works.Circuit) bool { return x.Name == c.Name }))
		})
		s.put("a board of its own at the end of "+r.leg, o, 0, fmt.Sprintf("a board and a feeder in place of %d circuits over %v", n, c.Legs[0].Length),
			"where the board stands, and its surge protection; the feeder is taken as alone in its leg")
	}
}

// sharing returns the new circuits that begin with the route of c.
func sharing(j *job.Job, c *works.Circuit) []*works.Circuit {
	var out []*works.Circuit
	for i := range j.Circuits {
		x := &j.Circuits[i]
		if x.From == c.From && !x.Existing && len(x.Legs) > 1 && x.Legs[0].Name == c.Legs[0].Name && x.Legs[0].Length == c.Legs[0].Length {
			out = append(out, x)
		}
	}
	return out
}

// addBoard puts a board at the end of the first leg of c and of those that
// share it, and returns how many circuits then start there.
func addBoard(j *job.Job, c *works.Circuit) int {
	leg, from := c.Legs[0], c.From
	moved := sharing(j, c)
	b := works.Board{Name: leg.Name + " board", Phases: j.Supply.Phases, AllLoads: quantity.Known(true)} // new, it feeds what is moved to it and no other
	for _, x := range moved {
		x.From, x.Legs = b.Name, x.Legs[1:len(x.Legs):len(x.Legs)]
	}
	leg.Together = quantity.Known(1)
	feeder := works.Circuit{Name: leg.Name + " feeder", From: from, To: b.Name, Terminals: c.Terminals, Legs: []works.Leg{leg}}
	j.Boards = append(j.Boards, b)
	j.Circuits = append(j.Circuits, feeder)
	return len(moved)
}

// moveBoard puts a feeder's board at the end of its first so many legs: the
// rest of the feeder's route becomes the beginning of every circuit of the
// board. It returns how many circuits then share that route.
func moveBoard(j *job.Job, feederName string, legs int) int {
	feeder := recordOf(j.Circuits, func(c *works.Circuit) bool { return c.Name == feederName })
	board, from := feeder.To, feeder.From
	var moved []*works.Circuit
	for i := range j.Circuits {
		if j.Circuits[i].From == board {
			moved = append(moved, &j.Circuits[i])
		}
	}
	given := slices.Clone(feeder.Legs[legs:])
	for i := range given {
		given[i].Together = quantity.Known(len(moved))
		given[i].Arrangement = quantity.Known(closest(given[i].Method.Or("")))
	}
	for _, c := range moved {
		c.Legs = append(slices.Clone(given), c.Legs...)
		if legs == 0 {
			c.From = from
		}
	}
	if legs > 0 {
		feeder.Legs = feeder.Legs[:legs:legs]
		return len(moved)
	}
	for i := range j.Limiters {
		if j.Limiters[i].At == board {
			j.Limiters[i].At = from
		}
	}
	name := feeder.Name
	j.Circuits = slices.DeleteFunc(slices.Clone(j.Circuits), func(c works.Circuit) bool { return c.Name == name })
	j.Boards = slices.DeleteFunc(slices.Clone(j.Boards), func(b works.Board) bool { return b.Name == board })
	return len(moved)
}

// closest is the least favourable way circuits may lie together by a method.
func closest(m standard.Method) standard.Arrangement {
	switch {
	case m == standard.MethodDDuct:
		return standard.DuctsTouching
	case m.Buried():
		return standard.BuriedTouching
	}
	return standard.Bunched
}
