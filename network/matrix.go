package network

import (
	"fmt"
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// A Matrix is the series impedance of a set of conductors, in Ω: on the
// diagonal what a conductor has by itself, beside it what couples it with the
// others. It is symmetric and never changes.
type Matrix struct {
	size int
	z    []complex128 // row by row
}

// Series returns the matrix of conductors that do not couple.
//
//	z    R + jX of each conductor for its whole length, in Ω
func Series(z ...quantity.Impedance) Matrix {
	m := Matrix{len(z), make([]complex128, len(z)*len(z))}
	for i, zi := range z {
		m.z[i*m.size+i] = complex128(zi)
	}
	return m
}

// none reports whether conductor k has no impedance at all: a join.
func (m Matrix) none(k int) bool {
	for j := range m.size {
		if m.z[k*m.size+j] != 0 {
			return false
		}
	}
	return true
}

// coupled reports whether any conductor couples with another.
func (m Matrix) coupled() bool {
	for i, z := range m.z {
		if z != 0 && i/m.size != i%m.size {
			return true
		}
	}
	return false
}

// check says in words why the matrix cannot be an impedance, or returns "".
func (m Matrix) check() string {
	largest := 0.0
	for _, z := range m.z {
		if cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return "an impedance is not a number"
		}
		largest = max(largest, cmplx.Abs(z))
	}
	for i := range m.size {
		if r := real(m.z[i*m.size+i]); r < 0 {
			return fmt.Sprintf("conductor %d has a resistance of %v Ω: it cannot be below zero", i+1, r)
		}
		for j := range i {
			if cmplx.Abs(m.z[i*m.size+j]-m.z[j*m.size+i]) > 1e-9*largest {
				return fmt.Sprintf("conductors %d and %d couple differently there and back", j+1, i+1)
			}
		}
	}
	if !m.passive(1e-9 * largest) {
		return "the conductors couple more strongly than they resist: no cable can give power out"
	}
	return ""
}

// passive reports whether the resistances are positive semidefinite, within
// tolerance: a symmetric elimination that meets no negative pivot.
func (m Matrix) passive(tolerance float64) bool {
	n := m.size
	r := make([]float64, n*n)
	for i, z := range m.z {
		r[i] = real(z)
	}
	for k := range n {
		pivot := r[k*n+k]
		if pivot < -tolerance {
			return false
		}
		for i := k + 1; i < n; i++ {
			if pivot <= tolerance {
				if math.Abs(r[i*n+k]) > 2*tolerance {
					return false
				}
				continue
			}
			f := r[i*n+k] / pivot
			for j := k + 1; j < n; j++ {
				r[i*n+j] -= f * r[k*n+j]
			}
		}
	}
	return true
}

// atHarmonic returns z at h times the frequency: a reactance grows with h, a
// capacitive one shrinks.
func atHarmonic(z complex128, h float64) complex128 {
	if imag(z) < 0 {
		return complex(real(z), imag(z)/h)
	}
	return complex(real(z), imag(z)*h)
}

// invert writes the inverse of the n × n matrix a over it and reports whether
// there is one. Gauss and Jordan with row exchange; work holds n×n numbers.
func invert(a, work []complex128, n int) bool {
	for i := range work[:n*n] {
		work[i] = 0
	}
	for i := range n {
		work[i*n+i] = 1
	}
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if cmplx.Abs(a[i*n+k]) > cmplx.Abs(a[p*n+k]) {
				p = i
			}
		}
		pivot := a[p*n+k]
		if pivot == 0 || cmplx.IsNaN(pivot) {
			return false
		}
		for j := range n {
			a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			work[k*n+j], work[p*n+j] = work[p*n+j], work[k*n+j]
		}
		pivot = 1 / pivot
		for j := range n {
			a[k*n+j] *= pivot
			work[k*n+j] *= pivot
		}
		for i := range n {
			f := a[i*n+k]
			if i == k || f == 0 {
				continue
			}
			for j := range n {
				a[i*n+j] -= f * a[k*n+j]
				work[i*n+j] -= f * work[k*n+j]
			}
		}
	}
	copy(a[:n*n], work[:n*n])
	return true
}
