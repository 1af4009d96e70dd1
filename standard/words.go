package standard

import (
	"fmt"
	"strings"
	"unicode"
)

// Insulation is a cable's insulation by the conductor temperature it stands.
type Insulation string

// Insulations.
const (
	Thermoplastic70 Insulation = "70 °C thermoplastic"
	Thermosetting90 Insulation = "90 °C thermosetting"
)

// Values returns the insulations.
func (Insulation) Values() []string {
	return []string{string(Thermoplastic70), string(Thermosetting90)}
}

// ParseInsulation reads an insulation as people write it.
func ParseInsulation(s string) (Insulation, error) {
	return parseWord("insulation", s, []Insulation{Thermoplastic70, Thermosetting90}, map[string]Insulation{
		"pvc": Thermoplastic70, "70": Thermoplastic70, "70c": Thermoplastic70, "thermoplastic": Thermoplastic70,
		"xlpe": Thermosetting90, "90": Thermosetting90, "90c": Thermosetting90, "thermosetting": Thermosetting90,
	})
}

// Construction is how a cable is made.
type Construction string

// Constructions. Armoured is steel-wire armoured.
const (
	FlatTwin  Construction = "flat twin and cpc"
	Singles   Construction = "singles"
	Multicore Construction = "multicore"
	Armoured  Construction = "armoured"
)

// Values returns the constructions.
func (Construction) Values() []string {
	return []string{string(FlatTwin), string(Singles), string(Multicore), string(Armoured)}
}

// ParseConstruction reads a construction as people write it.
func ParseConstruction(s string) (Construction, error) {
	return parseWord("construction", s, []Construction{FlatTwin, Singles, Multicore, Armoured}, map[string]Construction{
		"flattwin": FlatTwin, "twinandearth": FlatTwin, "te": FlatTwin, "tande": FlatTwin, "twinandcpc": FlatTwin,
		"single": Singles, "singlecore": Singles, "swa": Armoured, "steelwirearmoured": Armoured,
	})
}

// Method is a reference method of installation, with the arrangement where the
// tables tell arrangements apart.
type Method string

// Methods of installation.
const (
	MethodA           Method = "A"
	MethodB           Method = "B"
	MethodC           Method = "C"
	MethodDDuct       Method = "D duct"
	MethodDBuried     Method = "D buried"
	MethodE           Method = "E"
	MethodFTouching   Method = "F touching" // single-core cables flat or side by side, touching
	MethodFTrefoil    Method = "F trefoil"
	MethodGHorizontal Method = "G horizontal"
	MethodGVertical   Method = "G vertical"
	Method100         Method = "100"
	Method101         Method = "101"
	Method102         Method = "102"
	Method103         Method = "103"
)

var methods = []Method{MethodA, MethodB, MethodC, MethodDDuct, MethodDBuried, MethodE, MethodFTouching,
	MethodFTrefoil, MethodGHorizontal, MethodGVertical, Method100, Method101, Method102, Method103}

// Values returns the methods.
func (Method) Values() []string { return texts(methods) }

// Buried reports whether the cable lies in the ground, in a duct or not.
func (m Method) Buried() bool { return m == MethodDDuct || m == MethodDBuried }

// InInsulation reports whether the ratings of the method already allow for the
// thermal insulation it is named for: an insulated wall, a joist or a ceiling
// below insulation, a stud wall.
func (m Method) InInsulation() bool {
	switch m {
	case MethodA, Method100, Method101, Method102, Method103:
		return true
	}
	return false
}

// ParseMethod reads a method as people write it.
func ParseMethod(s string) (Method, error) {
	return parseWord("method", s, methods, map[string]Method{
		"methoda": MethodA, "methodb": MethodB, "methodc": MethodC, "methode": MethodE,
		"clippeddirect": MethodC, "duct": MethodDDuct, "induct": MethodDDuct, "dinduct": MethodDDuct, "buried": MethodDBuried,
		"buriedduct": MethodDDuct, "directburied": MethodDBuried, "buriedd": MethodDBuried, "ddirect": MethodDBuried,
		"method100": Method100, "method101": Method101, "method102": Method102, "method103": Method103,
	})
}

// Material is what a conductor is made of.
type Material string

// Materials.
const (
	Copper    Material = "copper"
	Aluminium Material = "aluminium"
	Steel     Material = "steel"
)

// Values returns the materials a cable's conductors may be.
func (Material) Values() []string { return []string{string(Copper), string(Aluminium)} }

// ParseMaterial reads a material as people write it.
func ParseMaterial(s string) (Material, error) {
	return parseWord("material", s, []Material{Copper, Aluminium, Steel}, map[string]Material{
		"cu": Copper, "al": Aluminium, "aluminum": Aluminium,
	})
}

// ConductorClass is the class of a conductor by its stranding: 2 for stranded
// (and solid, which has the same resistance), 5 for flexible.
type ConductorClass int

// Conductor classes.
const (
	Stranded ConductorClass = 2
	Flexible ConductorClass = 5
)

// Role is what a conductor does when a fault heats it; k depends on it.
type Role string

// Roles.
const (
	LineConductor    Role = "line conductor"
	CPCInCable       Role = "cpc in cable"       // a core of the cable, or bunched with it
	CPCSeparate      Role = "cpc separate"       // not incorporated in a cable and not bunched
	ArmourAsCPC      Role = "armour as cpc"      // sheath or armour of the cable
	ContainmentAsCPC Role = "containment as cpc" // steel conduit, ducting or trunking
	BareInSight      Role = "bare, in sight"     // visible and in a restricted area
	Bare             Role = "bare"               // normal conditions
	BareAtFireRisk   Role = "bare, where fire is a risk"
)

// Values returns the roles.
func (Role) Values() []string {
	return texts([]Role{LineConductor, CPCInCable, CPCSeparate, ArmourAsCPC, ContainmentAsCPC, BareInSight, Bare, BareAtFireRisk})
}

// Arrangement is how the circuits that run together lie.
type Arrangement string

// Arrangements.
const (
	Bunched           Arrangement = "bunched"
	SingleLayerWall   Arrangement = "single layer on wall"
	SingleLayerTray   Arrangement = "single layer on tray"
	SingleLayerLadder Arrangement = "single layer on ladder"
	BuriedTouching    Arrangement = "buried touching"
	BuriedOneDiameter Arrangement = "buried one diameter apart"
	Buried125mm       Arrangement = "buried 125 mm apart"
	Buried250mm       Arrangement = "buried 250 mm apart"
	Buried500mm       Arrangement = "buried 500 mm apart"
	DuctsTouching     Arrangement = "ducts touching"
	Ducts250mm        Arrangement = "ducts 250 mm apart"
	Ducts500mm        Arrangement = "ducts 500 mm apart"
	Ducts1m           Arrangement = "ducts 1 m apart"
)

var arrangements = []Arrangement{Bunched, SingleLayerWall, SingleLayerTray, SingleLayerLadder,
	BuriedTouching, BuriedOneDiameter, Buried125mm, Buried250mm, Buried500mm,
	DuctsTouching, Ducts250mm, Ducts500mm, Ducts1m}

// Values returns the arrangements.
func (Arrangement) Values() []string { return texts(arrangements) }

// ParseArrangement reads an arrangement as people write it.
func ParseArrangement(s string) (Arrangement, error) {
	return parseWord("arrangement", s, arrangements, map[string]Arrangement{
		"enclosed": Bunched, "intrunking": Bunched, "inconduit": Bunched, "singlelayer": SingleLayerWall,
		"tray": SingleLayerTray, "ladder": SingleLayerLadder, "cleats": SingleLayerLadder,
	})
}

// Family is a kind of overcurrent protective device, by its standard and type.
type Family string

// Families of device.
const (
	BreakerB   Family = "BS EN 60898 type B"
	BreakerC   Family = "BS EN 60898 type C"
	BreakerD   Family = "BS EN 60898 type D"
	RCBOB      Family = "BS EN 61009 type B"
	RCBOC      Family = "BS EN 61009 type C"
	RCBOD      Family = "BS EN 61009 type D"
	FuseGG     Family = "BS 88-2 gG"
	FuseBS88_3 Family = "BS 88-3"
	FuseBS1361 Family = "BS 1361"
	FuseBS3036 Family = "BS 3036" // semi-enclosed
	MCCB       Family = "BS EN 60947-2"
)

// Residual reports whether a device of the family has a residual part.
func (f Family) Residual() bool { return f == RCBOB || f == RCBOC || f == RCBOD }

var families = []Family{BreakerB, BreakerC, BreakerD, RCBOB, RCBOC, RCBOD, FuseGG, FuseBS88_3, FuseBS1361, FuseBS3036, MCCB}

// Values returns the families.
func (Family) Values() []string { return texts(families) }

// ParseFamily reads a family as people write it.
func ParseFamily(s string) (Family, error) {
	return parseWord("type of device", s, families, map[string]Family{
		"b": BreakerB, "typeb": BreakerB, "mcbb": BreakerB, "mcbtypeb": BreakerB, "breakerb": BreakerB, "60898b": BreakerB, "bsen608981typeb": BreakerB,
		"bsen60898b": BreakerB,
		"c":          BreakerC, "typec": BreakerC, "mcbc": BreakerC, "mcbtypec": BreakerC, "breakerc": BreakerC, "60898c": BreakerC, "bsen608981typec": BreakerC,
		"bsen60898c": BreakerC,
		"d":          BreakerD, "typed": BreakerD, "mcbd": BreakerD, "mcbtyped": BreakerD, "breakerd": BreakerD, "60898d": BreakerD, "bsen608981typed": BreakerD,
		"bsen60898d": BreakerD,
		"rcbob":      RCBOB, "rcbotypeb": RCBOB, "61009b": RCBOB, "bsen610091typeb": RCBOB, "bsen61009b": RCBOB,
		"rcboc": RCBOC, "rcbotypec": RCBOC, "61009c": RCBOC, "bsen610091typec": RCBOC, "bsen61009c": RCBOC,
		"rcbod": RCBOD, "rcbotyped": RCBOD, "61009d": RCBOD, "bsen610091typed": RCBOD, "bsen61009d": RCBOD,
		"gg": FuseGG, "bs88": FuseGG, "bs882": FuseGG, "gglink": FuseGG, "88-2": FuseGG,
		"883": FuseBS88_3, "bs883systemc": FuseBS88_3, "1361": FuseBS1361, "bs1361type2": FuseBS1361, "bs1361typeii": FuseBS1361,
		"3036": FuseBS3036, "rewirable": FuseBS3036, "semienclosed": FuseBS3036,
		"mccb": MCCB, "60947": MCCB, "609472": MCCB, "bsen60947": MCCB,
	})
}

// texts returns words as plain strings.
func texts[T ~string](of []T) []string {
	out := make([]string, len(of))
	for i, v := range of {
		out[i] = string(v)
	}
	return out
}

// list prints words for a sentence.
func list[T ~string](of []T) string { return strings.Join(texts(of), ", ") }

// plain takes out of s what people write differently: case, spaces and signs.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// parseWord finds s among the words, forgiving case, spaces and signs, or
// among other spellings people use. The error names the nearest word.
func parseWord[T ~string](what, s string, words []T, others map[string]T) (T, error) {
	n := plain(s)
	for _, w := range words {
		if n == plain(string(w)) {
			return w, nil
		}
	}
	if w, ok := others[n]; ok {
		return w, nil
	}
	if n == "" {
		return "", fmt.Errorf("%s is empty: it is one of %s", what, list(words))
	}
	near, least := words[0], -1
	for _, w := range words {
		if d := distance(n, plain(string(w))); least < 0 || d < least {
			near, least = w, d
		}
	}
	if least*2 <= len([]rune(n)) {
		return "", fmt.Errorf("%s is %q: did you mean %q? It is one of %s", what, s, string(near), list(words))
	}
	return "", fmt.Errorf("%s is %q: it is one of %s", what, s, list(words))
}

// distance counts the single-letter edits that turn a into b, up to the first
// 64 letters of each.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	x, y = x[:min(len(x), 64)], y[:min(len(y), 64)]
	prev := make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i, r := range x {
		diagonal := prev[0]
		prev[0] = i + 1
		for j, q := range y {
			change := diagonal
			if r != q {
				change++
			}
			diagonal = prev[j+1]
			prev[j+1] = min(change, diagonal+1, prev[j]+1)
		}
	}
	return prev[len(y)]
}
