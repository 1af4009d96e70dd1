// Package works is what a job is made of: the parts of the installation
// (works.go), what only papers state (papers.go), the runs of charge points
// (run.go), how findings name a part (thing.go) and where it is (path.go). The
// types say what may be known; nothing is folded or judged. The field tags are
// the job file's words: reader, writer and published schema are made from them.
package works

import (
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// Site is the place of the work.
type Site struct {
	Client        string                           `field:"client" help:"person ordering the work"`
	Address       string                           `field:"address" help:"address and postcode of the installation"`
	Premises      quantity.Maybe[trade.Premises]   `field:"premises" help:"what kind of place it is"`
	Nation        string                           `field:"nation" words:"England|Wales|Scotland|Northern Ireland" help:"England, Wales, Scotland or Northern Ireland"`
	Visited       string                           `field:"visited" date:"day" help:"date of the survey, like 2026-11-25"`
	Hazards       []string                         `field:"hazards" help:"hazards of the place: fuel, pits, public, asbestos, heights"`
	Temperature   quantity.Maybe[quantity.Celsius] `field:"temperature" least:"-40 °C" most:"60 °C" help:"air temperature when the tests are made"`
	ClientAddress string                           `field:"client address" help:"address and postcode of the client"`
	ClientPhone   string                           `field:"client telephone" help:"telephone number of the client"`
	ClientEmail   string                           `field:"client e-mail" help:"e-mail address of the client"`
}

// Person takes part in the job.
type Person struct {
	Name         string `field:"name" key:"yes" help:"name of the person"`
	Role         string `field:"role" help:"designer, installer, tester, client, person in charge"`
	Firm         string `field:"firm" help:"firm the person works for"`
	Address      string `field:"address" help:"address and postcode of the firm"`
	Phone        string `field:"telephone" help:"telephone number"`
	Email        string `field:"e-mail" help:"e-mail address"`
	Registration string `field:"registration" help:"registration or membership number, if any"`
}

// Instrument is a test instrument.
type Instrument struct {
	Name            string               `field:"name" key:"yes" help:"what it is called in this job"`
	Kind            string               `field:"kind" words:"loop|insulation|continuity|electrode|rcd|voltage|clamp|multifunction|adaptor" help:"loop, insulation, continuity, electrode, rcd, voltage, clamp, multifunction or adaptor"`
	Serial          string               `field:"serial" help:"serial number"`
	CalibratedUntil string               `field:"calibrated until" date:"day" help:"date the calibration runs to, like 2027-03-01"`
	LeadsNulled     quantity.Maybe[bool] `field:"leads nulled" help:"whether its leads are nulled before use"`
}

// Stated is a quantity together with how it is known. In a job file it may be
// written short, as the value alone; then how it is known is not known.
type Stated[Q any] struct {
	Value      quantity.Maybe[Q]              `field:"value" short:"yes" help:"the value"`
	KnownBy    quantity.Maybe[trade.HowKnown] `field:"known by" help:"measured, declared, calculated or assumed"`
	Who        string                         `field:"who" help:"who found it"`
	When       string                         `field:"when" date:"time" help:"when it was found"`
	Instrument string                         `field:"instrument" help:"instrument used"`
	Reason     string                         `field:"reason" help:"why it was assumed"`
}

// Supply is what comes from the street, up to the main board.
type Supply struct {
	Earthing          quantity.Maybe[trade.EarthingSystem]       `field:"earthing" help:"earthing system of the supply"`
	Phases            quantity.Maybe[int]                        `field:"phases" allowed:"1 3" help:"1 or 3"`
	Voltage           quantity.Maybe[quantity.Volts]             `field:"voltage" least:"50 V" most:"1 kV" help:"nominal voltage line to neutral (U0)"`
	Private           quantity.Maybe[bool]                       `field:"private" help:"yes when fed from the site's own transformer"`
	CutOut            CutOut                                     `field:"cut-out" help:"the network operator's cut-out and fuse"`
	Ze                Stated[quantity.Ohms]                      `field:"Ze" above:"0 Ω" like:"0.18 Ω" help:"external earth fault loop impedance"`
	LineNeutralLoop   Stated[quantity.Ohms]                      `field:"line-neutral loop" above:"0 Ω" like:"0.18 Ω" help:"line to neutral loop impedance at the origin"`
	Ipf               Stated[quantity.Amperes]                   `field:"Ipf" least:"20 A" most:"200 kA" like:"1.9 kA" help:"greatest prospective fault current at the origin"`
	Looped            quantity.Maybe[bool]                       `field:"looped" help:"whether the service cable also feeds a neighbour"`
	Unmetered         quantity.Maybe[bool]                       `field:"unmetered" help:"whether the supply is unmetered"`
	ServiceCondition  quantity.Maybe[trade.Condition]            `field:"service equipment" help:"sound, damaged or uncertain"`
	ServiceNeutral    quantity.Maybe[quantity.SquareMillimetres] `field:"supply neutral" size:"any" help:"copper equivalent csa of the supply neutral"`
	Capacity          quantity.Maybe[quantity.Amperes]           `field:"agreed capacity" above:"0 A" help:"current per phase agreed with the network operator"`
	CapacityAgreed    quantity.Maybe[bool]                       `field:"capacity agreed" help:"no when no capacity is agreed and the cut-out alone limits the supply"`
	Demand            Stated[quantity.Amperes]                   `field:"maximum demand" least:"0 A" help:"greatest current in any phase before the charge points"`
	SourcesOff        quantity.Maybe[bool]                       `field:"sources off meanwhile" help:"whether what else feeds the site was off while the maximum demand was measured"`
	Tails             Tails                                      `field:"tails" help:"meter tails"`
	EarthingConductor ProtectiveRun                              `field:"earthing conductor" help:"from the means of earthing to the main earthing terminal"`
	Bonding           []Bonding                                  `field:"main bonding" help:"main protective bonding conductors"`
	Electrode         string                                     `field:"electrode" help:"name of the electrode that earths a TT installation"`
	OtherSources      []string                                   `field:"other sources" help:"solar, battery, generator"`
	OnSite            quantity.Maybe[bool]                       `field:"generation or storage" help:"whether there is any on site: solar, battery, generator; no when there is none"`
	Neighbours        []Neighbour                                `field:"neighbours" help:"other premises on the same main, where the loss of its PEN conductor is studied"`
	Frequency         string                                     `field:"frequency" words:"50 Hz|60 Hz" help:"nominal frequency, by enquiry"`
	Polarity          quantity.Maybe[bool]                       `field:"polarity confirmed" help:"whether line and neutral of the supply are as marked"`
}

// Neighbour is another premises on the same main.
type Neighbour struct {
	Name      string                           `field:"name" key:"yes" help:"what it is called"`
	Phases    quantity.Maybe[trade.PhaseSet]   `field:"phases" help:"lines it is on: L1, L2, L3 or L1 L2 L3"`
	Current   quantity.Maybe[quantity.Amperes] `field:"current" help:"its current per phase"`
	Electrode quantity.Maybe[quantity.Ohms]    `field:"electrode" help:"resistance to earth of what is earthed there"`
}

// CutOut is the network operator's fuse at the origin.
type CutOut struct {
	Type             quantity.Maybe[standard.Family]  `field:"type" help:"standard of the fuse, like BS 88-3"`
	Rating           quantity.Maybe[quantity.Amperes] `field:"rating" above:"0 A" most:"6.3 kA" rated:"nominal" help:"rating of the fuse"`
	BreakingCapacity quantity.Maybe[quantity.Amperes] `field:"breaking capacity" least:"500 A" most:"200 kA" like:"33 kA" help:"greatest fault current it can break"`
}

// Tails are the conductors from the meter to the main board.
type Tails struct {
	CSA        quantity.Maybe[quantity.SquareMillimetres] `field:"csa" help:"csa of the line and neutral tails"`
	Length     quantity.Maybe[quantity.Metres]            `field:"length" above:"0 m" most:"100 m" like:"2 m" help:"length of the tails"`
	Insulation quantity.Maybe[standard.Insulation]        `field:"insulation" help:"insulation of the tails"`
	Method     quantity.Maybe[standard.Method]            `field:"method" help:"installation reference method of the tails, like C clipped to a surface or B in trunking"`
}

// ProtectiveRun is a protective conductor on its own.
type ProtectiveRun struct {
	CSA       quantity.Maybe[quantity.SquareMillimetres] `field:"csa" help:"csa of the conductor, copper"`
	Length    quantity.Maybe[quantity.Metres]            `field:"length" above:"0 m" most:"1 km" like:"3 m" help:"length of the conductor"`
	Buried    quantity.Maybe[bool]                       `field:"buried" help:"whether it runs in the ground"`
	Cover     quantity.Maybe[trade.Cover]                `field:"protection" help:"bare, sheathed against corrosion, or sheathed and protected against damage"`
	Connected quantity.Maybe[bool]                       `field:"connected" help:"whether it was seen connected at both ends"`
}

// Bonding is one main protective bonding conductor.
type Bonding struct {
	To        string                                     `field:"to" key:"yes" help:"what it bonds: water, gas, oil, structural steel"`
	CSA       quantity.Maybe[quantity.SquareMillimetres] `field:"csa" help:"csa of the bonding conductor, copper"`
	Connected quantity.Maybe[bool]                       `field:"connected" help:"whether it was seen connected"`
	Length    quantity.Maybe[quantity.Metres]            `field:"length" above:"0 m" most:"1 km" like:"8 m" help:"length of the bonding conductor"`
}

// Electrode is an earth electrode of the installation.
type Electrode struct {
	Name       string                              `field:"name" key:"yes" help:"what the electrode is called"`
	Place      string                              `field:"place" help:"where it is"`
	Kind       quantity.Maybe[trade.ElectrodeKind] `field:"kind" help:"rod, tape or plate"`
	Length     quantity.Maybe[quantity.Metres]     `field:"length" above:"0 m" most:"1 km" like:"1.2 m" help:"length in the ground; side of a square plate"`
	Diameter   quantity.Maybe[quantity.Metres]     `field:"diameter" above:"0 m" most:"500 mm" like:"16 mm" help:"diameter of a rod, width of a tape, like 16 mm"`
	Depth      quantity.Maybe[quantity.Metres]     `field:"depth" above:"0 m" most:"10 m" like:"600 mm" help:"depth of a tape"`
	Number     quantity.Maybe[int]                 `field:"number" least:"1" most:"100" help:"how many rods in parallel"`
	Spacing    quantity.Maybe[quantity.Metres]     `field:"spacing" above:"0 m" most:"1 km" like:"2.4 m" help:"distance between rods"`
	Soil       quantity.Maybe[quantity.OhmMetres]  `field:"soil" help:"electrical resistivity of the soil"`
	Resistance Stated[quantity.Ohms]               `field:"resistance" above:"0 Ω" like:"83 Ω" help:"resistance to earth (RA)"`
	FromPME    quantity.Maybe[quantity.Metres]     `field:"from buried PME metalwork" help:"distance to the nearest buried metalwork joined to the PME terminal"`
}

// Board is a distribution board or consumer unit.
type Board struct {
	Name               string                           `field:"name" key:"yes" help:"what the board is called"`
	FedFrom            string                           `field:"fed from" help:"supply for the board at the origin; other boards are fed by a circuit"`
	Place              string                           `field:"place" help:"where the board is"`
	Phases             quantity.Maybe[int]              `field:"phases" allowed:"1 3" help:"1 or 3"`
	Ways               quantity.Maybe[int]              `field:"ways" least:"1" most:"500" help:"how many ways the board has"`
	WaysFree           quantity.Maybe[int]              `field:"ways free" least:"0" help:"how many ways are free before this work"`
	Ambient            quantity.Maybe[quantity.Celsius] `field:"ambient" least:"-40 °C" most:"80 °C" help:"air temperature at the board"`
	Rated              quantity.Maybe[quantity.Amperes] `field:"rated current" above:"0 A" most:"6.3 kA" like:"100 A" help:"rated current of the assembly (InA), as marked"`
	ShortCircuitRating quantity.Maybe[quantity.Amperes] `field:"short-circuit rating" least:"500 A" most:"200 kA" like:"16 kA" help:"fault current the assembly withstands, its conditional rating included"`
	DiversityFactor    quantity.Maybe[float64]          `field:"rated diversity factor" above:"0" most:"1" help:"RDF stated by the maker of the assembly, like 0.8"`
	RCDs               []BoardRCD                       `field:"RCDs" help:"RCDs that serve more than one circuit of the board"`
	Surge              []Surge                          `field:"surge protection" help:"surge protective devices at the board"`
	MainSwitch         MainSwitch                       `field:"main switch" help:"main switch, of the board at the origin"`
	AllLoads           quantity.Maybe[bool]             `field:"all loads entered" help:"yes when every load fed from it, and from boards beyond it, is entered under loads"`
}

// BoardRCD is an RCD in a board that several circuits share.
type BoardRCD struct {
	Name string `field:"name" key:"yes" help:"what the RCD is called"`
	RCD
}

// RCD is a residual current device, or the residual current part of an RCBO.
type RCD struct {
	Type     quantity.Maybe[trade.RCDType]    `field:"type" help:"AC, A, F or B"`
	Residual quantity.Maybe[quantity.Amperes] `field:"IΔn" above:"0 A" most:"5 A" like:"30 mA" also:"IdeltaN" help:"rated residual operating current, like 30 mA"`
	Rating   quantity.Maybe[quantity.Amperes] `field:"rating" above:"0 A" most:"6.3 kA" help:"rated current"`
	Delayed  quantity.Maybe[bool]             `field:"time delayed" help:"yes for type S"`
	Poles    quantity.Maybe[trade.Poles]      `field:"poles" help:"which conductors it opens"`
	Sides    quantity.Maybe[trade.Sides]      `field:"supply side" help:"either side, or one side where its terminals are marked in and out, or line and load"`
}

// Surge is a surge protective device.
type Surge struct {
	Name            string                                     `field:"name" key:"yes" help:"what the device is called"`
	Type            quantity.Maybe[trade.SurgeType]            `field:"type" help:"1, 2, 1+2 or 3"`
	Connection      quantity.Maybe[trade.SurgeConnection]      `field:"connection" help:"CT1 (each live conductor to earth) or CT2 (live to neutral, neutral to earth)"`
	ProtectionLevel quantity.Maybe[quantity.Volts]             `field:"protection level" least:"100 V" most:"20 kV" like:"1.4 kV" help:"voltage protection level Up, like 1.4 kV"`
	LiveLead        quantity.Maybe[quantity.Metres]            `field:"live lead" most:"20 m" like:"250 mm" help:"length of the lead from the live conductor to the device"`
	EarthLead       quantity.Maybe[quantity.Metres]            `field:"earth lead" most:"20 m" like:"250 mm" help:"length of the lead from the device to the earth bar"`
	LiveCSA         quantity.Maybe[quantity.SquareMillimetres] `field:"live lead csa" help:"csa of the live lead"`
	EarthCSA        quantity.Maybe[quantity.SquareMillimetres] `field:"earth lead csa" help:"csa of the earth lead"`
	GreatestBackup  quantity.Maybe[quantity.Amperes]           `field:"greatest backup fuse" above:"0 A" help:"greatest overcurrent device its maker allows ahead of it"`
	Device          Device                                     `field:"device" help:"overcurrent device of its own, if any"`
	Declined        quantity.Maybe[bool]                       `field:"declined by owner" help:"yes when there is no device and the owner accepts the risk in writing"`
}

// Load is something already connected that draws current.
type Load struct {
	Name        string                           `field:"name" key:"yes" help:"what it is"`
	Board       string                           `field:"board" help:"board it is fed from"`
	Phases      quantity.Maybe[trade.PhaseSet]   `field:"phases" help:"L1, L2, L3 or L1 L2 L3"`
	Kind        quantity.Maybe[trade.LoadKind]   `field:"kind" help:"what it is for the diversity tables"`
	Current     quantity.Maybe[quantity.Amperes] `field:"current" least:"0 A" help:"full-load current per phase"`
	Power       quantity.Maybe[quantity.Watts]   `field:"power" least:"0 W" help:"full-load power, all phases together"`
	PowerFactor quantity.Maybe[float64]          `field:"power factor" above:"0" most:"1" help:"between 0 and 1"`
	KnownBy     quantity.Maybe[trade.HowKnown]   `field:"known by" help:"measured, declared, calculated or assumed"`
}

// Circuit runs from a way in a board to another board, a point, a load or a source.
type Circuit struct {
	Name      string                           `field:"name" key:"yes" help:"what the circuit is called"`
	From      string                           `field:"from" help:"board it starts at"`
	Way       string                           `field:"way" help:"way in that board"`
	To        string                           `field:"to" help:"board, point, load or source it ends at"`
	Phases    quantity.Maybe[trade.PhaseSet]   `field:"phases" help:"L1, L2, L3 or L1 L2 L3"`
	Existing  bool                             `field:"existing" help:"yes when it was there before this work"`
	Current   quantity.Maybe[quantity.Amperes] `field:"design current" above:"0 A" help:"design current Ib, where it is not simply what the circuit feeds"`
	Device    Device                           `field:"device" help:"overcurrent device at its origin"`
	RCD       RCD                              `field:"RCD" help:"RCD of this circuit alone, the residual part of an RCBO included"`
	SharedRCD string                           `field:"shared RCD" help:"name of the board's RCD that this circuit is behind; none if it is ahead of them all"`
	Cable     Cable                            `field:"cable" help:"cable of the circuit"`
	Terminals quantity.Maybe[quantity.Celsius] `field:"terminals rated" least:"40 °C" most:"150 °C" like:"70 °C" help:"temperature the terminals at both ends are rated for: 70 °C or 90 °C"`
	Isolator  quantity.Maybe[quantity.Amperes] `field:"isolator rating" least:"0 A" most:"6.3 kA" like:"63 A" help:"rated current of the isolator in the circuit, 0 A where there is none"`
	Legs      []Leg                            `field:"legs" help:"stretches of the cable, each with one method of installation"`
}

// Device is an overcurrent protective device.
type Device struct {
	Type             quantity.Maybe[standard.Family]  `field:"type" help:"standard and type, like BS EN 60898 type B"`
	Rating           quantity.Maybe[quantity.Amperes] `field:"rating" above:"0 A" most:"6.3 kA" rated:"nominal" help:"rated current In"`
	BreakingCapacity quantity.Maybe[quantity.Amperes] `field:"breaking capacity" least:"500 A" most:"200 kA" like:"6 kA" help:"greatest fault current it can break, like 6 kA"`
	BackedUp         quantity.Maybe[bool]             `field:"backed up" help:"yes when the maker states a tested combination with the device ahead"`
	Poles            quantity.Maybe[trade.Poles]      `field:"poles" help:"which conductors it opens"`
	LongSetting      quantity.Maybe[quantity.Amperes] `field:"long-time setting" above:"0 A" help:"Ir of an adjustable moulded-case breaker"`
	ShortSetting     quantity.Maybe[quantity.Amperes] `field:"short-time setting" above:"0 A" help:"Im of an adjustable moulded-case breaker"`
	Sides            quantity.Maybe[trade.Sides]      `field:"supply side" help:"either side, or one side where its terminals are marked in and out, or line and load"`
}

// Cable is the cable of a circuit, or of a leg that is joined on in another.
type Cable struct {
	Construction quantity.Maybe[standard.Construction]      `field:"construction" help:"flat twin and cpc, singles, multicore or armoured"`
	Insulation   quantity.Maybe[standard.Insulation]        `field:"insulation" help:"70 °C thermoplastic or 90 °C thermosetting"`
	Material     quantity.Maybe[standard.Material]          `field:"material" help:"copper or aluminium"`
	CSA          quantity.Maybe[quantity.SquareMillimetres] `field:"csa" help:"csa of the line conductors"`
	Cores        quantity.Maybe[int]                        `field:"cores" allowed:"1 2 3 4 5" help:"number of cores, any cpc core included"`
	NeutralCSA   quantity.Maybe[quantity.SquareMillimetres] `field:"neutral csa" help:"csa of the neutral, where it differs from the lines"`
	CPC          quantity.Maybe[trade.CPC]                  `field:"cpc" help:"what serves as circuit protective conductor"`
	CPCCSA       quantity.Maybe[quantity.SquareMillimetres] `field:"cpc csa" help:"csa of the cpc, where the cable does not settle it"`
	CPCMaterial  quantity.Maybe[standard.Material]          `field:"cpc material" help:"material of a separate cpc: copper or aluminium"`
}

// Leg is a stretch of a circuit's cable with one method of installation.
type Leg struct {
	Name        string                                       `field:"name" key:"yes" help:"what the leg is called, like yard wall"`
	Length      quantity.Maybe[quantity.Metres]              `field:"length" above:"0 m" most:"5 km" like:"25 m" help:"length along the route, slack included"`
	LengthKnown quantity.Maybe[trade.HowKnown]               `field:"length known by" help:"measured, declared, calculated or assumed"`
	Method      quantity.Maybe[standard.Method]              `field:"method" help:"installation reference method, like C or D buried"`
	Ambient     quantity.Maybe[quantity.Celsius]             `field:"ambient" least:"-40 °C" most:"80 °C" help:"hottest surroundings: air, or ground for a buried leg"`
	Together    quantity.Maybe[int]                          `field:"circuits together" least:"1" most:"100" help:"how many circuits run together here, this one included"`
	Arrangement quantity.Maybe[standard.Arrangement]         `field:"arrangement" help:"how they lie together, like bunched"`
	Surrounded  quantity.Maybe[quantity.Metres]              `field:"in insulation" most:"5 km" like:"400 mm" help:"length wholly surrounded by thermal insulation, 0 m for none"`
	InWall      quantity.Maybe[quantity.Metres]              `field:"depth in wall" most:"2 m" like:"50 mm" help:"depth at which it is hidden in a wall, floor or ceiling, 0 m where it lies on the surface"`
	Depth       quantity.Maybe[quantity.Metres]              `field:"depth" above:"0 m" most:"10 m" like:"600 mm" help:"depth of laying of a buried leg"`
	Soil        quantity.Maybe[quantity.KelvinMetresPerWatt] `field:"soil" help:"thermal resistivity of the soil of a buried leg"`
	Cable       Cable                                        `field:"cable" help:"cable of this leg, where it is not the circuit's own"`
}

// Point is a charge point.
type Point struct {
	Name           string                              `field:"name" key:"yes" help:"what the point is called, like CP1"`
	Make           string                              `field:"make and model" help:"make and model, as marked"`
	Serial         string                              `field:"serial" help:"serial number, as marked"`
	Power          quantity.Maybe[quantity.Watts]      `field:"power" least:"1 kW" most:"1 MW" like:"7.4 kW" help:"rated power, like 7.4 kW"`
	Current        quantity.Maybe[quantity.Amperes]    `field:"current" above:"0 A" help:"rated current per phase, where it does not follow from the power"`
	Phases         quantity.Maybe[int]                 `field:"phases" allowed:"1 3" help:"1 or 3"`
	Outlet         quantity.Maybe[trade.Outlet]        `field:"outlet" help:"socket or tethered"`
	OutletRated    quantity.Maybe[quantity.Amperes]    `field:"outlet rating" above:"0 A" most:"1 kA" like:"32 A" help:"rated current of the socket-outlet itself, as marked"`
	TetherLength   quantity.Maybe[quantity.Metres]     `field:"tether length" above:"0 m" most:"30 m" like:"5 m" help:"length of the attached lead"`
	Outdoors       quantity.Maybe[bool]                `field:"outdoors" help:"whether the point, or a vehicle on charge, stands outdoors"`
	Public         quantity.Maybe[bool]                `field:"public" help:"whether it is open to the public"`
	DCDetection    quantity.Maybe[bool]                `field:"6 mA d.c. detection" help:"whether a 6 mA residual direct current device is built in"`
	BuiltInRCD     RCD                                 `field:"built-in RCD" help:"RCD inside the point, if any"`
	OpenPEN        quantity.Maybe[trade.OpenPENDevice] `field:"open-PEN device" also:"built-in open-PEN device" help:"open-PEN device in the point or ahead of it: what it measures"`
	Earthing       PointEarthing                       `field:"earthing" help:"how the point is earthed"`
	Leakage        quantity.Maybe[quantity.Amperes]    `field:"standing leakage" least:"0 A" most:"1 A" like:"3.5 mA" help:"protective conductor current in normal use, like 3.5 mA"`
	GreatestDevice quantity.Maybe[quantity.Amperes]    `field:"greatest upstream device" above:"0 A" help:"greatest overcurrent device its maker allows ahead of it"`
	Limit          quantity.Maybe[quantity.Amperes]    `field:"current limit" least:"0 A" help:"current the point is set to, where below its rated current"`
	ClampLead      quantity.Maybe[quantity.Metres]     `field:"clamp lead" most:"1 km" like:"15 m" help:"length of lead from the point to its current clamp"`
	Limiter        string                              `field:"limiter" help:"name of the limiter that controls it; none if uncontrolled"`
	LeastCurrent   quantity.Maybe[quantity.Amperes]    `field:"least current" above:"0 A" help:"current below which it pauses; 6 A in IEC 61851-1"`
	Impulse        quantity.Maybe[quantity.Volts]      `field:"impulse withstand" least:"330 V" most:"20 kV" like:"4 kV" help:"rated impulse withstand voltage, like 4 kV"`
	IP             string                              `field:"IP" code:"IP" help:"degree of protection, like IP54"`
	IK             string                              `field:"IK" code:"IK" help:"degree of protection against impact, like IK08"`
	Mounting       Mounting                            `field:"mounting" help:"where it is fixed and how high"`
}

// PointEarthing is how the exposed metal of a point, and so of the vehicle, is earthed.
type PointEarthing struct {
	Measure   quantity.Maybe[trade.EarthingMeasure] `field:"measure" help:"measure against a lost PEN, or the separate earthing used instead"`
	Electrode string                                `field:"electrode" help:"name of the electrode used"`
	FromPME   quantity.Maybe[quantity.Metres]       `field:"from PME metalwork" help:"least distance from anywhere the vehicle may stand to metalwork on the PME terminal"`
	Conductor ProtectiveRun                         `field:"earthing conductor" help:"from the point to its own electrode"`
	Opens     quantity.Maybe[bool]                  `field:"opens protective conductor" help:"whether the device opens the lines, the neutral and the protective conductor"`
}

// Mounting is the place of a point and its heights above the ground a person stands on.
type Mounting struct {
	Place     string                          `field:"place" help:"where it is fixed"`
	Underside quantity.Maybe[quantity.Metres] `field:"underside" most:"10 m" like:"900 mm" help:"height of the underside of the enclosure, like 900 mm"`
	OutletAt  quantity.Maybe[quantity.Metres] `field:"outlet height" most:"10 m" like:"1.1 m" help:"height of the lowest part of the socket or connector holder"`
	Controls  quantity.Maybe[quantity.Metres] `field:"highest control" most:"10 m" like:"1.2 m" help:"height of the highest part a person touches"`
	Top       quantity.Maybe[quantity.Metres] `field:"top" most:"10 m" like:"1.3 m" help:"height of the top of the enclosure"`
	Screen    quantity.Maybe[bool]            `field:"screen" help:"whether it has a screen to use"`
}

// Limiter keeps the current of a supply or board within a limit by holding
// back the points it controls.
type Limiter struct {
	Name          string                           `field:"name" key:"yes" help:"what the limiter is called"`
	At            string                           `field:"at" help:"supply, or the board whose incoming current it limits"`
	Limit         quantity.Maybe[quantity.Amperes] `field:"limit" above:"0 A" help:"current per phase it keeps to"`
	FailSafe      quantity.Maybe[quantity.Amperes] `field:"fail-safe current" least:"0 A" help:"current it lets the points take, all together, when its clamp or link is lost"`
	ResponseTime  quantity.Maybe[quantity.Seconds] `field:"response time" help:"time to bring the current back under the limit"`
	Clamp         string                           `field:"clamp place" help:"where its current clamps are"`
	ClampPhases   quantity.Maybe[trade.PhaseSet]   `field:"clamp phases" help:"phases that are measured"`
	ClampLead     quantity.Maybe[quantity.Metres]  `field:"clamp lead" most:"1 km" like:"15 m" help:"length of the clamp lead"`
	ClampLeadMost quantity.Maybe[quantity.Metres]  `field:"greatest clamp lead" most:"1 km" like:"30 m" help:"greatest length its maker allows"`
	ClampSees     quantity.Maybe[trade.ClampView]  `field:"clamp sees" help:"whole supply, or other loads alone"`
	ClampError    quantity.Maybe[quantity.Percent] `field:"clamp error" least:"0 %" most:"50 %" like:"2 %" help:"greatest error of a reading, clamp and meter together"`
	Samples       quantity.Maybe[quantity.Seconds] `field:"samples every" above:"0 s" most:"1 h" like:"1 s" help:"time between two readings"`
	Averages      quantity.Maybe[quantity.Seconds] `field:"averages over" most:"1 h" like:"3 s" help:"time the readings are averaged over, 0 s for none"`
	PassesOn      quantity.Maybe[quantity.Seconds] `field:"passes on within" most:"1 h" like:"1 s" help:"longest time from a reading to the new signal at the point"`
	Follows       quantity.Maybe[quantity.Seconds] `field:"vehicle follows within" most:"10 min" like:"5 s" help:"longest time a vehicle takes to follow a changed signal; 5 s in IEC 61851-1"`
	TimeOut       quantity.Maybe[quantity.Seconds] `field:"lost-signal time-out" most:"1 h" like:"5 s" help:"time without a good reading after which it falls to the fail-safe current"`
	NoticesLoss   quantity.Maybe[bool]             `field:"notices a lost clamp" help:"whether an unplugged or broken clamp counts as no reading, not as 0 A"`
	Waits         quantity.Maybe[quantity.Seconds] `field:"waits before raising" most:"1 h" like:"60 s" help:"time after any lowering before any current is raised again"`
	Sharing       quantity.Maybe[trade.Sharing]    `field:"sharing" help:"how points share what is left: equal, first come, by departure or by turns"`
}

// Reading is one thing measured.
type Reading struct {
	At          string                           `field:"at" help:"where: supply, a board, a circuit or a point"`
	Reading     string                           `field:"reading" help:"which reading, like R1+R2 or Zs"`
	Value       string                           `field:"value" help:"what the instrument showed, unit included, like 0.13 Ω or > 200 MΩ"`
	Function    string                           `field:"function" help:"how it was measured, like high current or no-trip"`
	Instrument  string                           `field:"instrument" help:"instrument used"`
	LeadsNulled quantity.Maybe[bool]             `field:"leads nulled" help:"whether the leads were nulled"`
	Temperature quantity.Maybe[quantity.Celsius] `field:"temperature" least:"-40 °C" most:"150 °C" help:"temperature of the conductors"`
	Who         string                           `field:"who" help:"who measured"`
	When        string                           `field:"when" date:"time" help:"when, like 2026-11-25 14:05"`
	Note        string                           `field:"note" help:"anything unusual"`
	Beside      quantity.Maybe[bool]             `field:"earlier stands" help:"yes where nothing was altered since it was read before, so that both count"`
}

// Note is something to remember.
type Note struct {
	About string `field:"about" help:"what the note belongs to"`
	Text  string `field:"text" help:"the note"`
}

// Photo is a photo of one part of the job. The record holds what is said of it;
// the photo itself is a file of that name beside it.
type Photo struct {
	Name     string               `field:"name" key:"yes" code:"photo" help:"name of its file, like cut-out-3fa91c02.jpg"`
	Of       string               `field:"of" help:"what it shows: job, a part of the supply like cut-out, or a part like circuit van point"`
	Caption  string               `field:"caption" help:"what is to be seen on it"`
	OnPapers quantity.Maybe[bool] `field:"on papers" help:"yes to print it on the photo sheet; it is on no paper otherwise"`
	Taken    string               `field:"taken" date:"time" help:"when it was taken, or added where the camera does not say"`
	By       string               `field:"by" help:"who took it"`
	SHA256   string               `field:"SHA-256" code:"SHA-256" help:"SHA-256 of its file, 64 letters and figures"`
}
