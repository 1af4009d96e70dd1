package trade

// The words of what only the papers state.

// InspectionItem is one thing an inspection looks at.
type InspectionItem string

// The items: those of any installation, then those of a charge point.
const (
	InspectIntake     InspectionItem = "intake equipment"
	InspectSources    InspectionItem = "other sources"
	InspectADS        InspectionItem = "automatic disconnection"
	InspectBasic      InspectionItem = "basic protection"
	InspectOther      InspectionItem = "other protection against shock"
	InspectAdditional InspectionItem = "additional protection"
	InspectBoards     InspectionItem = "boards"
	InspectCircuits   InspectionItem = "circuits"
	InspectIsolation  InspectionItem = "isolation and switching"
	InspectEquipment  InspectionItem = "fixed equipment"
	InspectNotices    InspectionItem = "labels and notices"
	InspectBath       InspectionItem = "bath and shower places"
	InspectSpecial    InspectionItem = "special locations"
	InspectProsumer   InspectionItem = "generation and storage"

	InspectOwnCircuit   InspectionItem = "own circuit for each point"
	InspectDiversity    InspectionItem = "no diversity unless controlled"
	InspectPointRCD     InspectionItem = "RCD of each point"
	InspectPEN          InspectionItem = "lost PEN conductor"
	InspectEnclosure    InspectionItem = "enclosure of the point"
	InspectHeight       InspectionItem = "outlet height"
	InspectPointOff     InspectionItem = "isolation of the point"
	InspectMarkings     InspectionItem = "markings of the point"
	InspectSimultaneous InspectionItem = "reach between earthing systems"
)

// Values returns the items in the order they are inspected.
func (InspectionItem) Values() []string {
	return []string{string(InspectIntake), string(InspectSources), string(InspectADS), string(InspectBasic), string(InspectOther), string(InspectAdditional),
		string(InspectBoards), string(InspectCircuits), string(InspectIsolation), string(InspectEquipment), string(InspectNotices), string(InspectBath),
		string(InspectSpecial), string(InspectProsumer),
		string(InspectOwnCircuit), string(InspectDiversity), string(InspectPointRCD), string(InspectPEN), string(InspectEnclosure), string(InspectHeight),
		string(InspectPointOff), string(InspectMarkings), string(InspectSimultaneous)}
}

// Outcome is how an inspected item was found.
type Outcome string

// Outcomes. On new work only the first two may stand; limited wants a limitation.
const (
	Satisfactory    Outcome = "satisfactory"
	NotApplicable   Outcome = "not applicable"
	Limited         Outcome = "limited"
	NotSatisfactory Outcome = "not satisfactory"
)

// Values returns the outcomes.
func (Outcome) Values() []string {
	return []string{string(Satisfactory), string(NotApplicable), string(Limited), string(NotSatisfactory)}
}

// Accepting is the outcome of a judgement.
type Accepting string

// Outcomes of a judgement.
const (
	Accepted    Accepting = "accepted"
	NotAccepted Accepting = "not accepted"
)

// Values returns the outcomes.
func (Accepting) Values() []string { return []string{string(Accepted), string(NotAccepted)} }

// Work is the kind of work a certificate is for.
type Work string

// Kinds of work.
const (
	NewInstallation  Work = "new installation"
	Addition         Work = "addition"
	Alteration       Work = "alteration"
	BoardReplacement Work = "replacement of a distribution board"
	MinorWorks       Work = "minor works"
)

// Values returns the kinds of work.
func (Work) Values() []string {
	return []string{string(NewInstallation), string(Addition), string(Alteration), string(BoardReplacement), string(MinorWorks)}
}

// Duty is what a signatory answers for.
type Duty string

// Duties.
const (
	Designing    Duty = "design"
	Constructing Duty = "construction"
	Testing      Duty = "inspection and testing"
	AllThree     Duty = "all three"
)

// Values returns the duties.
func (Duty) Values() []string {
	return []string{string(Designing), string(Constructing), string(Testing), string(AllThree)}
}

// Route is how building control is told.
type Route string

// Values returns the routes.
func (Route) Values() []string {
	return []string{"self-certification", "third-party certifier", "building notice", "not notifiable"}
}
