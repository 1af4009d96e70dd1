package standard_test

import (
	"fmt"
	"math"

	"chargewright/quantity"
	"chargewright/standard"
)

// Basic Electrical Installation Work, 9th edition, p. 207: a 6 kW circuit at
// 230 V, 18 m, method A in a roof space of 35 °C, 32 A breaker.
func ExampleRulebook_Rating() {
	b, _ := standard.Open("BS 7671:2018+A2:2022")
	ib := quantity.Amperes(6000.0 / 230)
	ca, _, _ := b.AmbientFactor(standard.Thermoplastic70, false, 35)
	fmt.Println("Ib", ib, "In 32 A")
	fmt.Printf("It at least 32/%v = %v\n", ca, quantity.Amperes(32/ca))
	for _, csa := range b.Sizes(standard.Copper, standard.Singles, standard.Thermoplastic70, standard.MethodA, 2) {
		it, cite, _ := b.Rating(standard.Copper, standard.Singles, standard.Thermoplastic70, standard.MethodA, 2, csa)
		if float64(it) >= 32/ca {
			fmt.Println(csa, "carries", it)
			fmt.Println(cite)
			drop, _, _ := b.VoltDrop(standard.Copper, standard.Singles, standard.Thermoplastic70, standard.MethodA, 1, csa)
			fmt.Printf("volt drop %v × 26.09 × 18/1000 = %.2f V\n", drop.Z, drop.Z*float64(ib)*18/1000)
			break
		}
	}
	// Output:
	// Ib 26.09 A In 32 A
	// It at least 32/0.94 = 34.04 A
	// 10 mm² carries 46 A
	// BS 7671:2018+A2:2022 Appendix 4 Table 4D1A, 10 mm², method A, two loaded conductors
	// volt drop 4.4 × 26.09 × 18/1000 = 2.07 V
}

// Basic Electrical Installation Work, 9th edition, p. 250, example 1: 230 V,
// Zs 1.15 Ω, cleared in 0.4 s.
func ExampleRulebook_K() {
	b, _ := standard.Open("BS 7671:2018+A2:2022")
	k, cite, _ := b.K(standard.Copper, standard.Thermoplastic70, standard.CPCInCable)
	i := 230 / 1.15
	fmt.Printf("I = %.0f A\n", i)
	fmt.Printf("S = √(200² × 0.4)/%v = %.2f mm²\n", k, math.Sqrt(i*i*0.4)/k)
	fmt.Println(cite)
	// Output:
	// I = 200 A
	// S = √(200² × 0.4)/115 = 1.10 mm²
	// BS 7671:2018+A2:2022 Table 54.3, copper, 70 °C thermoplastic, cpc in cable
}

// Trade article on Cmin: type B, 10 A.
func ExampleRulebook_MaxZs() {
	b, _ := standard.Open("")
	zs, cite, _ := b.MaxZs(standard.Device{Family: standard.BreakerB, Rating: 10}, 0.4, 230)
	fmt.Println(zs)
	fmt.Println(cite.Doubt())
	// Output:
	// 4.37 Ω
	// from A2:2022, not checked against A4:2026
}

// Substation design manual of a national utility, Table B-3: pins 2 m apart
// read 10.96 Ω; it prints 137.75 Ω·m.
func ExampleRulebook_Wenner() {
	b, _ := standard.Open("")
	rho, _, _ := b.Wenner(2, 10.96)
	fmt.Println(rho)
	// Output: 137.7 Ω·m
}

// Pilot test-adapter manual: 86 % is 55 A. The inverse is of IEC 61851-1.
func ExampleRulebook_PilotDuty() {
	b, _ := standard.Open("")
	duty, _, _ := b.PilotDuty(55)
	fmt.Println(duty)
	_, _, err := b.PilotDuty(5)
	fmt.Println(err)
	// Output:
	// 86 %
	// pilot duty cycle for 5 A is not tabulated: the pilot cannot signal it
}
