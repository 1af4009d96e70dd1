package network_test

import (
	"fmt"

	"chargewright/network"
	"chargewright/quantity"
)

// An invented house: a TN-C-S supply with Ze 0.35 Ω, and a 32 A charge point on
// 25 m of cable with 0.077 Ω in each core.
func Example() {
	b := network.NewBuilder()
	street, cutOut, point := b.Node("substation"), b.Node("cut-out"), b.Node("charge point")
	b.Source(network.Source{
		Name: "supply", Star: street.At(network.PEN), Lines: street.All(network.L1),
		EMF: []complex128{230}, Z: network.Series(0.02 + 0.02i),
	})
	b.Electrode("supply electrode", street.At(network.PEN), 1)
	service := b.Branch(network.Branch{
		Name: "main and service",
		From: street.All(network.L1, network.PEN), To: cutOut.All(network.L1, network.PEN), Z: network.Series(0.16, 0.16),
	})
	b.Join("earthing terminal", cutOut, network.PEN, network.N, network.PE)
	b.Branch(network.Branch{
		Name: "leg",
		From: cutOut.All(network.L1, network.N, network.PE), To: point.All(network.L1, network.N, network.PE),
		Z: network.Series(0.077, 0.077, 0.077),
	})
	b.Load(network.Load{
		Name: "vehicle", From: point.At(network.L1), To: point.At(network.N),
		Model: network.ConstantImpedance, S: 230 * 32, Rated: 230,
	})
	b.Electrode("rod", cutOut.At(network.PE), 80)
	net, err := b.Build()
	if err != nil {
		fmt.Println(err)
		return
	}

	flow, err := net.Flow()
	if err != nil {
		fmt.Println(err)
		return
	}
	st := flow.NewState()
	if err := flow.Solve(st); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("at the point:", st.Volts(point.At(network.L1), point.At(network.N)))

	faults, err := net.Faults()
	if err != nil {
		fmt.Println(err)
		return
	}
	zs, err := faults.LoopImpedance(point.At(network.L1), point.At(network.PE))
	fmt.Println("Zs:", zs.Magnitude(), err)

	lost, err := net.LosePEN(service, network.PEN)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("vehicle body, PEN lost:", lost.State.Touch(point.At(network.PE)))
	r, needed, err := lost.ElectrodeFor(cutOut.At(network.PE), 70)
	fmt.Println("electrode for 70 V:", r, needed, err)

	// Output:
	// at the point: 215.2 V
	// Zs: 0.494 Ω <nil>
	// vehicle body, PEN lost: 207.9 V
	// electrode for 70 V: 3.91 Ω true <nil>
}

// The resistance of a 1.2 m rod of 16 mm in 100 Ω·m.
func ExampleRod() {
	r, err := network.Rod(quantity.OhmMetres(100), 1.2, 0.016)
	fmt.Println(r, err)
	// Output: 71.6 Ω <nil>
}
