package network

import "math/cmplx"

// factor holds a complex symmetric matrix as L D Lᵀ: L unit lower triangular
// and sparse, D diagonal. The shape of L is found once; numbers can be put in
// again without allocation.
//
// There is no exchange of rows. The nodal matrix of resistances and reactances
// that only take power in has pivots that cannot vanish unless some part of
// the network is connected to nothing.
type factor struct {
	n       int
	ap, ai  []int32 // the matrix: columns of the upper triangle, rows ascending
	ax      []complex128
	parent  []int32 // elimination tree
	lp, li  []int32 // L by columns, rows ascending
	lx      []complex128
	inverse []complex128 // of D

	y             []complex128 // scratch for refactor
	flag, pattern []int32
	filled        []int32
}

// newFactor finds the shape of L for the given upper triangle.
func newFactor(n int, ap, ai []int32) *factor {
	f := &factor{
		n: n, ap: ap, ai: ai,
		ax:      make([]complex128, len(ai)),
		parent:  make([]int32, n),
		lp:      make([]int32, n+1),
		inverse: make([]complex128, n),
		y:       make([]complex128, n),
		flag:    make([]int32, n),
		pattern: make([]int32, n),
		filled:  make([]int32, n),
	}
	for k := range int32(n) {
		f.parent[k] = -1
		f.flag[k] = k
		for _, i := range ai[ap[k]:ap[k+1]] {
			for ; f.flag[i] != k; i = f.parent[i] {
				if f.parent[i] < 0 {
					f.parent[i] = k
				}
				f.filled[i]++
				f.flag[i] = k
			}
		}
	}
	for k := range n {
		f.lp[k+1] = f.lp[k] + f.filled[k]
	}
	f.li = make([]int32, f.lp[n])
	f.lx = make([]complex128, f.lp[n])
	return f
}

// refactor computes L and D from ax, row by row. It returns −1, or the unknown
// at which nothing was left to divide by.
func (f *factor) refactor() int {
	const vanished = 1e-14 // of the diagonal before elimination
	clear(f.y)
	for k := range int32(f.n) {
		f.flag[k] = k
		f.filled[k] = 0
		top := f.n
		for p := f.ap[k]; p < f.ap[k+1]; p++ {
			i := f.ai[p]
			f.y[i] += f.ax[p]
			length := 0
			for ; f.flag[i] != k; i = f.parent[i] {
				f.pattern[length] = i
				length++
				f.flag[i] = k
			}
			for length > 0 {
				top--
				length--
				f.pattern[top] = f.pattern[length]
			}
		}
		whole := f.y[k]
		d := whole
		f.y[k] = 0
		for ; top < f.n; top++ {
			i := f.pattern[top]
			yi := f.y[i]
			f.y[i] = 0
			start, end := f.lp[i], f.lp[i]+f.filled[i]
			rows, values := f.li[start:end], f.lx[start:end]
			for q, row := range rows {
				f.y[row] -= values[q] * yi
			}
			l := yi * f.inverse[i]
			d -= l * yi
			f.li[end] = k
			f.lx[end] = l
			f.filled[i]++
		}
		if a := cmplx.Abs(d); !(a > vanished*cmplx.Abs(whole)) || cmplx.IsInf(d) {
			clear(f.y)
			return int(k)
		}
		f.inverse[k] = 1 / d
	}
	return -1
}

// solve replaces x by the solution for right-hand side x. What stands beyond
// the unknowns (true earth) is left alone.
func (f *factor) solve(x []complex128) {
	f.forward(x)
	for k, d := range f.inverse {
		x[k] *= d
	}
	f.backward(x)
}

// forward solves L x = x.
func (f *factor) forward(x []complex128) {
	for k := range f.n {
		f.push(x, k)
	}
}

// push takes column k of L off the entries of x below it.
func (f *factor) push(x []complex128, k int) {
	xk := x[k]
	if xk == 0 {
		return
	}
	rows := f.li[f.lp[k]:f.lp[k+1]]
	values := f.lx[f.lp[k]:f.lp[k+1]]
	for q, row := range rows {
		x[row] -= values[q] * xk
	}
}

// backward solves Lᵀ x = x.
func (f *factor) backward(x []complex128) {
	for k := f.n - 1; k >= 0; k-- {
		f.pull(x, k)
	}
}

// pull takes off x[k] what row k of Lᵀ makes of the entries below it.
func (f *factor) pull(x []complex128, k int) {
	rows := f.li[f.lp[k]:f.lp[k+1]]
	values := f.lx[f.lp[k]:f.lp[k+1]]
	xk := x[k]
	for q, row := range rows {
		xk -= values[q] * x[row]
	}
	x[k] = xk
}
