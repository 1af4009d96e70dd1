package prove

import "math"

// The likelihood of readings that share unknowns. Every reading is a mean,
// plus its sensitivities times unknowns of standard deviation one, plus noise
// of its own: the readings together are a normal distribution.
//
//	covariance  S = J Jᵀ + diag(noise²)
//	likelihood  log p = −½ (y−m)ᵀ S⁻¹ (y−m) − ½ log det S − n/2 log 2π
//
// A fault mostly moves few of the readings. Those it leaves alone keep their
// factor, worked out once for each set; only the rest is solved anew.

// row is one reading predicted, in its scale of comparison.
type row struct {
	mean, noise float64
	unknown     []int32
	by          []float64
}

// deviation is one standard deviation of the reading before any is known.
func (r *row) deviation() float64 {
	sum := r.noise * r.noise
	for _, b := range r.by {
		sum += b * b
	}
	return math.Sqrt(sum)
}

// put adds to the sensitivity to an unknown.
func (r *row) put(unknown int, by float64) {
	if by == 0 {
		return
	}
	for i := range r.unknown {
		if r.unknown[i] == int32(unknown) {
			r.by[i] += by
			return
		}
	}
	r.unknown = append(r.unknown, int32(unknown))
	r.by = append(r.by, by)
}

// joint is the readings taken and what the sound job predicts of them.
type joint struct {
	y       []float64
	sound   []row
	dense   []float64 // room for one row's sensitivities, all zero between uses
	factors map[string]*factor
	key     []byte
	spare   fit // memory for likelihoods nobody looks further into
}

// factor is the Cholesky factor of the readings a fault leaves alone.
type factor struct {
	at   []int // the readings, in order
	rows []*row
	l    []float64
	z    []float64 // L⁻¹ (y − m)
}

func newJoint(y []float64, sound []row, unknowns int) *joint {
	return &joint{y: y, sound: sound, dense: make([]float64, unknowns), factors: map[string]*factor{}}
}

// covariance of row a with rows b, their own noise apart.
func (g *joint) against(a *row, rows []*row, out []float64) {
	for i, u := range a.unknown {
		for int(u) >= len(g.dense) {
			g.dense = append(g.dense, 0)
		}
		g.dense[u] = a.by[i]
	}
	for k, b := range rows {
		var sum float64
		for i, u := range b.unknown {
			if int(u) < len(g.dense) {
				sum += b.by[i] * g.dense[u]
			}
		}
		out[k] = sum
	}
	for _, u := range a.unknown {
		g.dense[u] = 0
	}
}

// fit is the readings under one state, solved.
type fit struct {
	logLikelihood float64
	order         []int // readings in the order of the factor
	rows          []*row
	l             []float64 // lower triangle, row by row
	z             []float64
}

// fit solves the readings under rows, of which those moved differ from the
// sound job's.
func (g *joint) fit(rows []row, moved []int) *fit { return g.fitInto(&fit{}, rows, moved) }

// fitInto is fit in memory used before.
func (g *joint) fitInto(f *fit, rows []row, moved []int) *fit {
	n := len(rows)
	g.key = g.key[:0]
	for range n {
		g.key = append(g.key, '.')
	}
	for _, i := range moved {
		g.key[i] = 'x'
	}
	base := g.factors[string(g.key)]
	if base == nil {
		base = &factor{}
		for i := range rows {
			if g.key[i] == '.' {
				base.at = append(base.at, i)
				base.rows = append(base.rows, &g.sound[i])
			}
		}
		var only fit
		g.extend(&only, base.rows, base.at)
		base.l, base.z = only.l, only.z
		g.factors[string(g.key)] = base
	}
	f.order, f.rows = append(f.order[:0], base.at...), append(f.rows[:0], base.rows...)
	f.l, f.z = append(f.l[:0], base.l...), append(f.z[:0], base.z...)
	late := make([]*row, len(moved))
	for k, i := range moved {
		late[k] = &rows[i]
	}
	g.extend(f, late, moved)
	f.logLikelihood = -0.5*f.quad() - f.logs() - 0.5*float64(n)*math.Log(2*math.Pi)
	return f
}

// extend adds readings to the factor.
func (g *joint) extend(f *fit, rows []*row, at []int) {
	for k, r := range rows {
		n := len(f.z)
		base := len(f.l)
		for range n + 1 {
			f.l = append(f.l, 0)
		}
		s := f.l[base:]
		g.against(r, f.rows, s)
		d := r.noise * r.noise
		for _, b := range r.by {
			d += b * b
		}
		for i := range n {
			li := f.l[i*(i+1)/2:]
			v := s[i]
			for j := range i {
				v -= li[j] * s[j]
			}
			s[i] = v / li[i]
			d -= s[i] * s[i]
		}
		s[n] = math.Sqrt(max(d, 1e-18))
		z := g.y[at[k]] - r.mean
		for i := range n {
			z -= s[i] * f.z[i]
		}
		f.z = append(f.z, z/s[n])
		f.rows = append(f.rows, r)
		f.order = append(f.order, at[k])
	}
}

func (f *fit) quad() float64 {
	var q float64
	for _, z := range f.z {
		q += z * z
	}
	return q
}

func (f *fit) logs() float64 {
	var s float64
	for i := range f.z {
		s += math.Log(f.l[i*(i+1)/2+i])
	}
	return s
}

// forward solves L v = s.
func (f *fit) forward(s []float64) []float64 {
	v := append([]float64(nil), s...)
	for i := range v {
		li := f.l[i*(i+1)/2:]
		for j := range i {
			v[i] -= li[j] * v[j]
		}
		v[i] /= li[i]
	}
	return v
}

// backward solves Lᵀ v = s.
func (f *fit) backward(s []float64) []float64 {
	v := append([]float64(nil), s...)
	for i := len(v) - 1; i >= 0; i-- {
		v[i] /= f.l[i*(i+1)/2+i]
		for j := range i {
			v[j] -= f.l[i*(i+1)/2+j] * v[i]
		}
	}
	return v
}

// predict returns what a further reading is expected to be, given all others.
func (g *joint) predict(f *fit, r *row) (mean, deviation float64) {
	s := make([]float64, len(f.rows))
	g.against(r, f.rows, s)
	v := f.forward(s)
	mean = r.mean
	variance := r.noise * r.noise
	for _, b := range r.by {
		variance += b * b
	}
	for i := range v {
		mean += v[i] * f.z[i]
		variance -= v[i] * v[i]
	}
	return mean, math.Sqrt(max(variance, r.noise*r.noise))
}

// posterior returns mean and deviation of an unknown, given the readings.
func (g *joint) posterior(f *fit, of []drift) (mean, deviation float64) {
	var r row
	for _, d := range of {
		r.put(d.unknown, d.by)
	}
	return g.predict(f, &r)
}

// apart returns, for each reading in the order taken, how far it is from what
// all the others make of it, in deviations, and the log of its chance.
//
//	formula  zi = (S⁻¹ r)i / √(S⁻¹)ii
func (f *fit) apart() (deviations, logChance []float64) {
	n := len(f.z)
	deviations, logChance = make([]float64, n), make([]float64, n)
	a := f.backward(f.z)
	unit := make([]float64, n)
	for k, i := range f.order {
		clear(unit)
		unit[k] = 1
		v := f.forward(unit)
		var inverse float64
		for _, x := range v {
			inverse += x * x
		}
		deviations[i] = a[k] / math.Sqrt(inverse)
		logChance[i] = -0.5*deviations[i]*deviations[i] + 0.5*math.Log(inverse/(2*math.Pi))
	}
	return deviations, logChance
}
