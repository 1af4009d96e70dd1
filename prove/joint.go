package prove

import "math"

// The likelihood of readings that share unknowns. Every reading is a mean,
// plus its sensitivities times unknowns of standard deviation one, plus noise
// of its own: the readings together are a normal distribution.
//
//	covariance  S = J Jᵀ + diag(noise²)
//	likelihood  log p = −½ (y−m)ᵀ S⁻¹ (y−m) − ½ log det S − n/2 log 2π
//
// A fault moves few of the readings. S is turned over once for each state of the
// place; what all the other readings say of the moved ones then follows from
// blocks of the inverse, so that a fault costs what it moves and not what was
// read:
//
//	P = S⁻¹, W = P J, V = 1 − Jᵀ W, a = P (y − m)
//	without the readings C:  V + Wcᵀ Pcc⁻¹ Wc and Jᵀ a − Wcᵀ Pcc⁻¹ ac are spread
//	and mean of the unknowns, Pcc⁻¹ and y − Pcc⁻¹ ac those of the readings C

// row is one reading predicted, in its scale of comparison.
type row struct {
	mean, noise float64
	unknown     []int32
	by          []float64
}

// deviation is one standard deviation of the reading before any is known.
func (r *row) deviation() float64 { return math.Sqrt(r.variance()) }

func (r *row) variance() float64 {
	sum := r.noise * r.noise
	for _, b := range r.by {
		sum += b * b
	}
	return sum
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

// joint is the readings taken and what one state of the place predicts of them,
// solved.
type joint struct {
	y    []float64
	rows []row

	logLikelihood, quad float64
	inverse             []float64 // P
	pull                []float64 // a
	place               []int32   // of each unknown among those that readings rest on; −1 for none
	unknowns            int       // how many those are
	across              []float64 // W, a row for each reading
	within              []float64 // V
	mean                []float64 // of the unknowns
}

func newJoint(y []float64, rows []row) *joint {
	g := &joint{y: y, rows: rows}
	n := len(rows)
	for i := range rows {
		for _, u := range rows[i].unknown {
			for int(u) >= len(g.place) {
				g.place = append(g.place, -1)
			}
			if g.place[u] < 0 {
				g.place[u] = int32(g.unknowns)
				g.unknowns++
			}
		}
	}
	s, r := make([]float64, n*n), make([]float64, n)
	dense := make([]float64, g.unknowns)
	for i := range rows {
		g.each(&rows[i], func(u int, by float64) { dense[u] = by })
		for k := range i + 1 {
			s[i*n+k] = g.dot(&rows[k], dense)
		}
		s[i*n+i] += rows[i].noise * rows[i].noise
		g.each(&rows[i], func(u int, _ float64) { dense[u] = 0 })
		r[i] = y[i] - rows[i].mean
	}
	logDet := cholesky(s, n)
	g.pull = append([]float64(nil), r...)
	forward(s, n, g.pull)
	for _, z := range g.pull {
		g.quad += z * z
	}
	backward(s, n, g.pull)
	g.logLikelihood = -0.5*g.quad - 0.5*logDet - 0.5*float64(n)*math.Log(2*math.Pi)
	g.inverse = inverted(s, n)
	g.unfold()
	return g
}

// unfold works out what the readings say of the unknowns.
func (g *joint) unfold() {
	n, m := len(g.rows), g.unknowns
	g.across, g.within, g.mean = make([]float64, n*m), make([]float64, m*m), make([]float64, m)
	for k := range g.rows {
		g.each(&g.rows[k], func(u int, by float64) {
			for i := range n {
				g.across[i*m+u] += g.inverse[i*n+k] * by
			}
			g.mean[u] += by * g.pull[k]
		})
	}
	for u := range m {
		g.within[u*m+u] = 1
	}
	for k := range g.rows {
		of := g.across[k*m : k*m+m]
		g.each(&g.rows[k], func(u int, by float64) {
			to := g.within[u*m : u*m+m]
			for v, x := range of {
				to[v] -= by * x
			}
		})
	}
}

// each visits the unknowns of a row that the readings rest on.
func (g *joint) each(r *row, visit func(u int, by float64)) {
	for i, u := range r.unknown {
		if int(u) < len(g.place) && g.place[u] >= 0 {
			visit(int(g.place[u]), r.by[i])
		}
	}
}

// dot is a row times a vector over the unknowns.
func (g *joint) dot(r *row, v []float64) float64 {
	var sum float64
	for i, u := range r.unknown {
		if int(u) < len(g.place) {
			if p := g.place[u]; p >= 0 {
				sum += r.by[i] * v[p]
			}
		}
	}
	return sum
}

// packed is a row over the unknowns that the readings rest on, and over those
// that none rests on.
type packed struct {
	place, fresh []int32
	by, freshBy  []float64
}

func (g *joint) pack(into *packed, r *row) {
	into.place, into.fresh, into.by, into.freshBy = into.place[:0], into.fresh[:0], into.by[:0], into.freshBy[:0]
	for i, u := range r.unknown {
		if int(u) < len(g.place) && g.place[u] >= 0 {
			into.place, into.by = append(into.place, g.place[u]), append(into.by, r.by[i])
		} else {
			into.fresh, into.freshBy = append(into.fresh, u), append(into.freshBy, r.by[i])
		}
	}
}

func (r *packed) dot(v []float64) float64 {
	var sum float64
	for i, p := range r.place {
		sum += r.by[i] * v[p]
	}
	return sum
}

// apart is what two rows share of unknowns that no reading rests on: those are
// as they were.
func (r *packed) apart(o *packed) float64 {
	var sum float64
	for i, u := range r.fresh {
		for k, v := range o.fresh {
			if v == u {
				sum += r.freshBy[i] * o.freshBy[k]
			}
		}
	}
	return sum
}

// spread is the covariance of a row with each unknown that the readings rest on,
// given all of them.
func (g *joint) spread(into []float64, r *packed) {
	clear(into)
	for i, p := range r.place {
		by := r.by[i]
		for u, v := range g.within[int(p)*g.unknowns : int(p+1)*g.unknowns] {
			into[u] += by * v
		}
	}
}

// shared is the covariance of two rows given all readings, their own noise
// apart.
func (g *joint) shared(a, b *packed) float64 {
	sum := a.apart(b)
	for i, p := range a.place {
		sum += a.by[i] * b.dot(g.within[int(p)*g.unknowns:])
	}
	return sum
}

// fit is the readings under a state that predicts some of them otherwise.
type fit struct {
	logLikelihood float64
	quad          float64 // sum of squares of what is left unexplained

	on    *joint
	at    []int     // the readings predicted otherwise
	rows  []row     // as what
	out   []float64 // Cholesky factor of their block of P
	drawn []float64 // out⁻¹ a
	seen  []float64 // out⁻¹ W Jᵀ, a column for each of the new rows
	in    []float64 // Cholesky factor of their covariance given the others
	left  []float64 // in⁻¹ of what is left of them

	memory, drift []float64
	packs         []packed // the rows
}

// fit solves the readings where those at are predicted as given.
func (g *joint) fit(at []int, rows []row) *fit { return g.fitInto(&fit{}, at, rows) }

// fitInto is fit in memory used before.
func (g *joint) fitInto(f *fit, at []int, rows []row) *fit {
	n, m, k := len(g.rows), g.unknowns, len(at)
	if cap(f.memory) < 3*k*k+2*k {
		f.memory = make([]float64, 3*k*k+2*k)
	}
	memory := f.memory
	take := func(n int) []float64 {
		out := memory[:n:n]
		memory = memory[n:]
		return out
	}
	f.on, f.at, f.rows, f.out, f.seen, f.in, f.drawn, f.left = g, at, rows, take(k*k), take(k*k), take(k*k), take(k), take(k)
	for a, i := range at {
		for b := range a + 1 {
			f.out[a*k+b] = g.inverse[i*n+at[b]]
		}
		f.drawn[a] = g.pull[i]
	}
	outLog := cholesky(f.out, k)
	forward(f.out, k, f.drawn)
	if len(f.drift) < m {
		f.drift = make([]float64, m)
	}
	for len(f.packs) < k {
		f.packs = append(f.packs, packed{})
	}
	for a := range rows {
		r := &f.packs[a]
		g.pack(r, &rows[a])
		column := f.seen[a*k : a*k+k]
		for c, i := range at {
			column[c] = r.dot(g.across[i*m : i*m+m])
		}
		forward(f.out, k, column)
		f.left[a] = g.y[at[a]] - rows[a].mean - r.dot(g.mean) + inner(column, f.drawn)
		g.spread(f.drift[:m], r)
		for b := range a + 1 {
			f.in[a*k+b] = f.packs[b].dot(f.drift) + r.apart(&f.packs[b]) + inner(column, f.seen[b*k:b*k+k])
		}
		f.in[a*k+a] += rows[a].noise * rows[a].noise
	}
	inLog := cholesky(f.in, k)
	forward(f.in, k, f.left)
	was, is := inner(f.drawn, f.drawn), inner(f.left, f.left)
	f.quad = g.quad - was + is
	f.logLikelihood = g.logLikelihood + 0.5*was - 0.5*outLog - 0.5*is - 0.5*inLog
	return f
}

// predict returns what a further reading is expected to be, given all others.
func (f *fit) predict(r *row) (mean, deviation float64) {
	g, k := f.on, len(f.at)
	without, with := make([]float64, k), make([]float64, k)
	var of packed
	g.pack(&of, r)
	for c, i := range f.at {
		without[c] = of.dot(g.across[i*g.unknowns:])
	}
	forward(f.out, k, without)
	for a := range f.rows {
		with[a] = g.shared(&of, &f.packs[a]) + inner(without, f.seen[a*k:a*k+k])
	}
	forward(f.in, k, with)
	mean = r.mean + of.dot(g.mean) - inner(without, f.drawn) + inner(with, f.left)
	variance := r.noise*r.noise + g.shared(&of, &of) + inner(without, without) - inner(with, with)
	return mean, math.Sqrt(max(variance, r.noise*r.noise))
}

// posterior returns mean and deviation of an unknown, given the readings.
func (f *fit) posterior(of []drift) (mean, deviation float64) {
	var r row
	for _, d := range of {
		r.put(d.unknown, d.by)
	}
	return f.predict(&r)
}

// row is what a reading is predicted as.
func (f *fit) row(i int) *row {
	for a, at := range f.at {
		if at == i {
			return &f.rows[a]
		}
	}
	return &f.on.rows[i]
}

// apart returns, for each reading in the order taken, how far it is from what
// all the others make of it, in deviations, and the log of its chance.
//
//	formula  zi = (S⁻¹ r)i / √(S⁻¹)ii
func (f *fit) apart() (deviations, logChance []float64) {
	n, k := len(f.on.rows), len(f.at)
	deviations, logChance = make([]float64, n), make([]float64, n)
	memory := make([]float64, 2*k)
	var own []float64
	if k > 0 {
		own = inverted(f.in, k)
	}
	for u := range n {
		pull, inverse := f.pulled(u, own, memory)
		deviations[u] = pull / math.Sqrt(inverse)
		logChance[u] = -0.5*deviations[u]*deviations[u] + 0.5*math.Log(inverse/(2*math.Pi))
	}
	return deviations, logChance
}

// alone is the log of the chance of one reading by what all the others make of
// it.
func (f *fit) alone(u int) float64 {
	k := len(f.at)
	pull, inverse := f.pulled(u, inverted(f.in, k), make([]float64, 2*k))
	return -0.5*pull*pull/inverse + 0.5*math.Log(inverse/(2*math.Pi))
}

// pulled returns (S⁻¹ r)u and (S⁻¹)uu; own is the inverse of the factor of the
// readings predicted otherwise.
func (f *fit) pulled(u int, own, memory []float64) (pull, inverse float64) {
	g, n, k := f.on, len(f.on.rows), len(f.at)
	for a, i := range f.at {
		if i == u {
			back := append(memory[:0], f.left...)
			backward(f.in, k, back)
			return back[a], own[a*k+a]
		}
	}
	cut, q := memory[:k], memory[k:2*k]
	of := g.across[u*g.unknowns : (u+1)*g.unknowns]
	for c, i := range f.at {
		cut[c] = g.inverse[i*n+u]
	}
	forward(f.out, k, cut)
	for a := range f.rows {
		q[a] = f.packs[a].dot(of) - inner(f.seen[a*k:a*k+k], cut)
	}
	forward(f.in, k, q)
	return g.pull[u] - inner(cut, f.drawn) - inner(q, f.left), g.inverse[u*n+u] - inner(cut, cut) + inner(q, q)
}

func inner(a, b []float64) float64 {
	var sum float64
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}

// cholesky puts the factor L of a symmetric matrix in place of its lower
// triangle, and returns the log of its determinant.
func cholesky(s []float64, n int) float64 {
	var logs float64
	for i := range n {
		of := s[i*n : i*n+i+1]
		for j := range i {
			of[j] = (of[j] - inner(of[:j], s[j*n:])) / s[j*n+j]
		}
		of[i] = math.Sqrt(max(of[i]-inner(of[:i], of), 1e-18))
		logs += 2 * math.Log(of[i])
	}
	return logs
}

// forward solves L v = s in place.
func forward(l []float64, n int, s []float64) {
	for i := range n {
		s[i] = (s[i] - inner(s[:i], l[i*n:])) / l[i*n+i]
	}
}

// backward solves Lᵀ v = s in place.
func backward(l []float64, n int, s []float64) {
	for i := n - 1; i >= 0; i-- {
		s[i] /= l[i*n+i]
		for j, x := range l[i*n : i*n+i] {
			s[j] -= x * s[i]
		}
	}
}

// inverted is the inverse of the matrix whose factor is given.
func inverted(l []float64, n int) []float64 {
	half := make([]float64, n*n) // row j is column j of L⁻¹
	for j := range n {
		of := half[j*n : j*n+n]
		of[j] = 1 / l[j*n+j]
		for i := j + 1; i < n; i++ {
			of[i] = -inner(of[j:i], l[i*n+j:]) / l[i*n+i]
		}
	}
	out := make([]float64, n*n)
	for i := range n {
		for j := range i + 1 {
			out[i*n+j] = inner(half[i*n+i:i*n+n], half[j*n+i:])
			out[j*n+i] = out[i*n+j]
		}
	}
	return out
}
