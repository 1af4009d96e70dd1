package bench

import (
	"math/cmplx"
)

// circuit is branches between named nodes, solved by node voltages: a current
// law for each node, one dense elimination. Node "ground" is the mass of earth.
type circuit struct {
	at       map[string]int
	branches []branch
}

// branch is an impedance with a source in series, from a to b: the current from
// a to b is (Ua − Ub + emf)/z.
type branch struct {
	a, b   int
	z, emf complex128
}

func newCircuit() *circuit { return &circuit{at: map[string]int{"ground": 0}} }

// node returns the number of a node, which it makes where there was none.
func (c *circuit) node(name string) int {
	n, known := c.at[name]
	if !known {
		n = len(c.at)
		c.at[name] = n
	}
	return n
}

// contact is what joins without a joint worth counting, and what a broken
// conductor still lets through.
const (
	contact = 1e-5 // Ω
	broken  = 1e9  // Ω
)

// join puts an impedance between two nodes; none at all is taken as a contact.
func (c *circuit) join(a, b string, z complex128) {
	if cmplx.Abs(z) < contact {
		z = contact
	}
	c.branches = append(c.branches, branch{a: c.node(a), b: c.node(b), z: z})
}

// feed puts a source behind an impedance between two nodes; b is the higher.
func (c *circuit) feed(a, b string, z, emf complex128) {
	c.join(a, b, z)
	c.branches[len(c.branches)-1].emf = emf
}

// floating is what keeps a part with no way to earth from having no answer, in
// siemens: far below what any meter could tell.
const floating = 1e-13

// solve returns the voltage of each node against earth, with currents put in
// at nodes beside the sources; dead leaves the sources out.
func (c *circuit) solve(dead bool, in map[string]complex128) []complex128 {
	n := len(c.at)
	rows := make([][]complex128, n)
	for i := range rows {
		rows[i] = make([]complex128, n+1)
		rows[i][i] = floating
	}
	for _, b := range c.branches {
		y := 1 / b.z
		rows[b.a][b.a] += y
		rows[b.b][b.b] += y
		rows[b.a][b.b] -= y
		rows[b.b][b.a] -= y
		if !dead {
			rows[b.a][n] -= b.emf * y
			rows[b.b][n] += b.emf * y
		}
	}
	for name, i := range in {
		rows[c.node(name)][n] += i
	}
	for k := range rows[0] { // earth stands at zero
		rows[0][k] = 0
	}
	rows[0][0] = 1
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if cmplx.Abs(rows[i][k]) > cmplx.Abs(rows[best][k]) {
				best = i
			}
		}
		rows[k], rows[best] = rows[best], rows[k]
		for i := k + 1; i < n; i++ {
			if rows[i][k] == 0 {
				continue
			}
			f := rows[i][k] / rows[k][k]
			for m := k; m <= n; m++ {
				rows[i][m] -= f * rows[k][m]
			}
		}
	}
	u := make([]complex128, n)
	for k := n - 1; k >= 0; k-- {
		sum := rows[k][n]
		for m := k + 1; m < n; m++ {
			sum -= rows[k][m] * u[m]
		}
		u[k] = sum / rows[k][k]
	}
	return u
}

// between returns the impedance seen between two nodes with the sources still.
func (c *circuit) between(a, b string) complex128 {
	i, k := c.node(a), c.node(b)
	u := c.solve(true, map[string]complex128{a: 1, b: -1})
	return u[i] - u[k]
}

// voltage returns the voltage from b to a with the sources on.
func (c *circuit) voltage(a, b string) complex128 {
	i, k := c.node(a), c.node(b)
	u := c.solve(false, nil)
	return u[i] - u[k]
}
