// Package trade is the words of a job: each type is one kind of fact that can
// only be one of a few, and lists its own words with Values, in the order a
// person would expect them. A word is written the same in the job file, on the
// pages and on paper. paper.go holds those that only papers state.
package trade

// Stage is how far a job has come.
type Stage string

// Values returns the stages in order.
func (Stage) Values() []string {
	return []string{"survey", "design", "dead", "live", "commission", "hand over", "aftercare"}
}

// EarthingSystem is the earthing system of a supply.
type EarthingSystem string

// The earthing systems of BS 7671 Part 2.
const (
	TNS  EarthingSystem = "TN-S"
	TNCS EarthingSystem = "TN-C-S"
	TT   EarthingSystem = "TT"
	IT   EarthingSystem = "IT"
)

// Values returns the earthing systems.
func (EarthingSystem) Values() []string {
	return []string{string(TNS), string(TNCS), string(TT), string(IT)}
}

// IsTN reports whether the exposed metal is earthed through the supply.
func (e EarthingSystem) IsTN() bool { return e == TNS || e == TNCS }

// HowKnown is how a fact came to be known.
type HowKnown string

// How a fact may be known, best first.
const (
	Measured   HowKnown = "measured"
	Declared   HowKnown = "declared"
	Calculated HowKnown = "calculated"
	Assumed    HowKnown = "assumed"
)

// Values returns the ways of knowing, best first.
func (HowKnown) Values() []string {
	return []string{string(Measured), string(Declared), string(Calculated), string(Assumed)}
}

// Premises is the kind of place.
type Premises string

// Kinds of premises.
const (
	Dwelling  Premises = "dwelling"
	Flats     Premises = "flats"
	Workplace Premises = "workplace"
	Shop      Premises = "shop or office"
	Hotel     Premises = "hotel"
	CarPark   Premises = "car park"
)

// Values returns the kinds of premises.
func (Premises) Values() []string {
	return []string{string(Dwelling), string(Flats), string(Workplace), string(Shop), string(Hotel), string(CarPark)}
}

// Residential reports whether people live there.
func (p Premises) Residential() bool { return p == Dwelling || p == Flats }

// Condition is the state of the service equipment.
type Condition string

// Conditions of service equipment.
const (
	Sound     Condition = "sound"
	Damaged   Condition = "damaged"
	Uncertain Condition = "uncertain"
)

// Values returns the conditions.
func (Condition) Values() []string {
	return []string{string(Sound), string(Damaged), string(Uncertain)}
}

// PhaseSet is the line conductors a circuit uses.
type PhaseSet string

// Phase sets.
const (
	L1         PhaseSet = "L1"
	L2         PhaseSet = "L2"
	L3         PhaseSet = "L3"
	ThreePhase PhaseSet = "L1 L2 L3"
)

// Values returns the phase sets.
func (PhaseSet) Values() []string {
	return []string{string(L1), string(L2), string(L3), string(ThreePhase)}
}

// Lines returns the line conductors one by one.
func (p PhaseSet) Lines() []PhaseSet {
	if p == ThreePhase {
		return []PhaseSet{L1, L2, L3}
	}
	return []PhaseSet{p}
}

// Count returns the number of line conductors, 1 or 3.
func (p PhaseSet) Count() int { return len(p.Lines()) }

// RCDType is the type of an RCD by the residual currents it detects.
type RCDType string

// Types of RCD.
const (
	TypeAC RCDType = "AC"
	TypeA  RCDType = "A"
	TypeF  RCDType = "F"
	TypeB  RCDType = "B"
)

// Values returns the types.
func (RCDType) Values() []string {
	return []string{string(TypeAC), string(TypeA), string(TypeF), string(TypeB)}
}

// Poles is which conductors a device opens.
type Poles string

// Poles a device may open.
const (
	AllLive   Poles = "all live"
	LinesOnly Poles = "lines only"
)

// Values returns the poles.
func (Poles) Values() []string { return []string{string(AllLive), string(LinesOnly)} }

// Sides is the sides a device may be supplied from.
type Sides string

// Sides a device may be supplied from (BS 7671 530.3.201).
const (
	EitherSide Sides = "either side"
	OneSide    Sides = "one side"
)

// Values returns the sides.
func (Sides) Values() []string { return []string{string(EitherSide), string(OneSide)} }

// Cover is what protects a protective conductor on its own.
type Cover string

// What may protect it.
const (
	Bare              Cover = "bare"
	Sheathed          Cover = "sheathed"
	SheathedProtected Cover = "sheathed and protected"
)

// Values returns what may protect it.
func (Cover) Values() []string {
	return []string{string(Bare), string(Sheathed), string(SheathedProtected)}
}

// SurgeType is the test class of a surge protective device.
type SurgeType string

// Values returns the types.
func (SurgeType) Values() []string { return []string{"1", "1+2", "2", "3"} }

// SurgeConnection is how a surge protective device is connected.
type SurgeConnection string

// Values returns the connection types.
func (SurgeConnection) Values() []string { return []string{"CT1", "CT2"} }

// ElectrodeKind is the shape of an electrode.
type ElectrodeKind string

// Kinds of electrode.
const (
	Rod   ElectrodeKind = "rod"
	Tape  ElectrodeKind = "tape"
	Plate ElectrodeKind = "plate"
)

// Values returns the kinds of electrode.
func (ElectrodeKind) Values() []string { return []string{string(Rod), string(Tape), string(Plate)} }

// LoadKind is what a load is for the diversity tables.
type LoadKind string

// Kinds of load.
const (
	Lighting    LoadKind = "lighting"
	Heating     LoadKind = "heating and power"
	Cooker      LoadKind = "cooking"
	Shower      LoadKind = "instantaneous water heater"
	WaterHeater LoadKind = "thermostatic water heater"
	Storage     LoadKind = "thermal storage"
	HeatPump    LoadKind = "heat pump"
	Motor       LoadKind = "motor"
	Sockets     LoadKind = "socket circuit"
	Stationary  LoadKind = "stationary equipment"
	OtherLoad   LoadKind = "other"
)

// Values returns the kinds of load.
func (LoadKind) Values() []string {
	return []string{string(Lighting), string(Heating), string(Cooker), string(Shower), string(WaterHeater),
		string(Storage), string(HeatPump), string(Motor), string(Sockets), string(Stationary), string(OtherLoad)}
}

// SourceKind is what feeds the installation beside the street.
type SourceKind string

// Kinds of source.
const (
	Solar      SourceKind = "solar"
	Battery    SourceKind = "battery"
	VehicleOut SourceKind = "vehicle"
	Generator  SourceKind = "generator"
	Wind       SourceKind = "wind"
)

// Values returns the kinds of source.
func (SourceKind) Values() []string {
	return []string{string(Solar), string(Battery), string(VehicleOut), string(Generator), string(Wind)}
}

// CPC is what serves as circuit protective conductor.
type CPC string

// What may serve as cpc.
const (
	CPCCore          CPC = "core"
	CPCArmour        CPC = "armour"
	CPCCoreAndArmour CPC = "core and armour"
	CPCSeparate      CPC = "separate"
)

// Values returns what may serve as cpc.
func (CPC) Values() []string {
	return []string{string(CPCCore), string(CPCArmour), string(CPCCoreAndArmour), string(CPCSeparate)}
}

// Outlet is how a vehicle is connected.
type Outlet string

// Outlets.
const (
	Socket   Outlet = "socket"
	Tethered Outlet = "tethered"
)

// Values returns the outlets.
func (Outlet) Values() []string { return []string{string(Socket), string(Tethered)} }

// OpenPENDevice is a device inside a point that opens on a lost PEN conductor.
type OpenPENDevice string

// Open-PEN devices by what they measure; the roman numbers are those of BS 7671 722.411.4.1.
const (
	NoOpenPENDevice  OpenPENDevice = "none"
	MeasuresEarth    OpenPENDevice = "measures to earth electrode" // (iii)
	MeasuresLines    OpenPENDevice = "measures from three lines"   // (iii), by the annex
	MeasuresWindow   OpenPENDevice = "measures line to neutral"    // (iv)
	EquallyEffective OpenPENDevice = "other, equally effective"    // (v)
)

// Values returns the devices.
func (OpenPENDevice) Values() []string {
	return []string{string(NoOpenPENDevice), string(MeasuresEarth), string(MeasuresLines), string(MeasuresWindow), string(EquallyEffective)}
}

// EarthingMeasure is what is done about the loss of the PEN conductor at a
// point on a TN-C-S supply, or the earthing used instead of it.
type EarthingMeasure string

// Earthing measures; the roman numbers are those of BS 7671 722.411.4.1.
const (
	SupplyEarthing    EarthingMeasure = "supply earthing"                // nothing added
	BalancedLoad      EarthingMeasure = "three-phase load"               // (i)
	LowElectrode      EarthingMeasure = "electrode on the main terminal" // (ii)
	OpenPENDetection  EarthingMeasure = "open-PEN device"                // (iii), (iv) or (v), in the point or before it
	SeparateElectrode EarthingMeasure = "separate electrode"             // TT for the point
	Separation        EarthingMeasure = "electrical separation"          // isolating transformer
)

// Values returns the measures.
func (EarthingMeasure) Values() []string {
	return []string{string(SupplyEarthing), string(BalancedLoad), string(LowElectrode), string(OpenPENDetection), string(SeparateElectrode), string(Separation)}
}

// ClampView is what the current clamps of a limiter see.
type ClampView string

// What clamps may see.
const (
	WholeSupply ClampView = "whole supply" // the points as well
	OtherLoads  ClampView = "other loads"  // everything but the points
)

// Values returns what clamps may see.
func (ClampView) Values() []string { return []string{string(WholeSupply), string(OtherLoads)} }

// Sharing is how charge points share a current too small for them all.
type Sharing string

// Ways of sharing. Each keeps a charging point at its least current or more,
// and lets the others wait.
const (
	EqualShares Sharing = "equal"        // as many as the least current allows, each the same
	FirstCome   Sharing = "first come"   // in order of arrival, each all it can take
	ByDeparture Sharing = "by departure" // in order of leaving, each all it can take
	ByTurns     Sharing = "by turns"     // equal, and those that wait take their turn
)

// Values returns the ways of sharing.
func (Sharing) Values() []string {
	return []string{string(EqualShares), string(FirstCome), string(ByDeparture), string(ByTurns)}
}

// The programs of a run, and a verdict that no rule has.
const (
	Commissioning = "commissioning"
	ControlPilot  = "control pilot"
	NotSupported  = "not supported"
)
