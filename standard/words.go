package standard

import (
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"unicode"
)

//go:embed words.csv
var wordTable string

// spoken is the table of what electricians write, by kind and by the word as
// plain leaves it. It is never changed.
var spoken = func() map[[2]string]spokenWord {
	r := csv.NewReader(strings.NewReader(wordTable))
	r.Comment, r.FieldsPerRecord = '#', 4
	rows, err := r.ReadAll()
	if err != nil {
		panic("the table of words cannot be read: " + err.Error()) // it is part of the program
	}
	m := make(map[[2]string]spokenWord, len(rows))
	for _, row := range rows[1:] {
		m[[2]string{row[0], plain(row[1])}] = spokenWord{row[2], row[3]}
	}
	return m
}()

// spokenWord is what a word means, or what to say of one that means too little.
type spokenWord struct{ means, answer string }

// Spoken returns the word of a job that an electrician's word stands for, or
// nothing and the answer to a word that says too little or something else.
//
//	kind  what is asked: "earthing", "poles", "type of device"
//	s     as written, case, spaces and signs forgiven
func Spoken(kind, s string) (means, answer string) {
	w := spoken[[2]string{kind, plain(s)}]
	return w.means, w.answer
}

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

func (Insulation) kind() (string, []Insulation) {
	return "insulation", []Insulation{Thermoplastic70, Thermosetting90}
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

func (Construction) kind() (string, []Construction) {
	return "construction", []Construction{FlatTwin, Singles, Multicore, Armoured}
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

func (Method) kind() (string, []Method) { return "method", methods }

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

func (Material) kind() (string, []Material) { return "material", []Material{Copper, Aluminium, Steel} }

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

func (Arrangement) kind() (string, []Arrangement) { return "arrangement", arrangements }

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

func (Family) kind() (string, []Family) { return "type of device", families }

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

// oneOfFew is a word of the tables, of a kind of which there are a few.
type oneOfFew[W any] interface {
	~string
	kind() (name string, words []W)
}

// Parse finds s among the words of a kind, forgiving case, spaces and signs, or
// in the table of what electricians write. The error answers what says too
// little, or names the nearest word.
func Parse[W oneOfFew[W]](s string) (W, error) {
	what, words := W("").kind()
	n := plain(s)
	for _, w := range words {
		if n == plain(string(w)) {
			return w, nil
		}
	}
	means, answer := Spoken(what, s)
	switch {
	case means != "":
		return W(means), nil
	case answer != "":
		return "", fmt.Errorf("%s is %q: %w", what, s, Answer(answer))
	case n == "":
		return "", fmt.Errorf("%s is empty: it is one of %s", what, list(words))
	}
	if near := nearest(n, words); near != "" {
		return "", fmt.Errorf("%s is %q: did you mean %q? It is one of %s", what, s, string(near), list(words))
	}
	return "", fmt.Errorf("%s is %q: it is one of %s", what, s, list(words))
}

// Answer is what would be right in place of a word that says too little or
// something else. It is safe to show to anyone.
type Answer string

func (a Answer) Error() string { return string(a) }

// AnswerIn returns the answer that an error carries.
func AnswerIn(err error) (Answer, bool) {
	var a Answer
	return a, errors.As(err, &a)
}

// nearest returns the word that n was most likely meant to be. A device is
// never guessed: one letter or figure makes it another.
func nearest[T ~string](n string, words []T) T {
	if _, device := any(words).([]Family); device {
		return ""
	}
	near, least := words[0], -1
	for _, w := range words {
		if d := distance(n, plain(string(w))); least < 0 || d < least {
			near, least = w, d
		}
	}
	if least*2 > len([]rune(n)) {
		return ""
	}
	return near
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
