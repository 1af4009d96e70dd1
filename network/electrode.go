package network

import (
	"math"

	"chargewright/quantity"
)

// Rod returns the resistance to true earth of a rod driven from the surface
// into uniform soil.
//
//	symbol   R, in Ω
//	formula  ρ / (2πL) × (ln(8L/d) − 1)
//	rho      resistivity of the soil, in Ω·m
//	length   L, in m; many times d
//	d        diameter, in m
//	source   BS 7430 (formula from memory)
func Rod(rho quantity.OhmMetres, length, d quantity.Metres) (quantity.Ohms, error) {
	if !(rho > 0) || !(d > 0) || !(length > 4*d) || math.IsInf(float64(rho)+float64(length), 0) {
		return 0, problem("rod", "soil of %v, length %v and diameter %v: all must be above zero and the rod much longer than thick", rho, length, d)
	}
	return quantity.Ohms(float64(rho) / (2 * math.Pi * float64(length)) * (math.Log(8*float64(length/d)) - 1)), nil
}

// RodTransfer returns the resistance that couples a rod with a point on the
// surface: the potential the point takes up for each ampere the rod puts into
// uniform soil. It goes beside the diagonal of the matrix of Electrodes.
//
//	symbol    R12, in Ω
//	formula   ρ / (2πL) × asinh(L/x)
//	rho       resistivity of the soil, in Ω·m
//	length    L, of the rod, in m
//	distance  x, from the rod, in m
//	source    field of a line source; circuit theory
func RodTransfer(rho quantity.OhmMetres, length, distance quantity.Metres) (quantity.Ohms, error) {
	if !(rho > 0) || !(length > 0) || !(distance > 0) || math.IsInf(float64(rho)+float64(length)+float64(distance), 0) {
		return 0, problem("rod", "soil of %v, length %v and distance %v: all must be above zero", rho, length, distance)
	}
	return quantity.Ohms(float64(rho) / (2 * math.Pi * float64(length)) * math.Asinh(float64(length/distance))), nil
}
