package finding

// Clause is where a requirement stands. The zero value is nowhere.
type Clause struct {
	Name     string // as every screen and paper prints it: "433.1.1(i)", or the document where it has no clause
	Document string // "BS 7671:2018+A2:2022", "Approved Document S 2021"; empty for common practice
	Wiring   bool   // a rule of the wiring regulations, which a certificate answers for
}

// Practice is the clause of what the trade does with no published source.
var Practice = Clause{Name: "common practice, no source"}

// String returns the clause as it is printed.
func (c Clause) String() string { return c.Name }

// MarshalText writes the clause as it is printed.
func (c Clause) MarshalText() ([]byte, error) { return []byte(c.Name), nil }
