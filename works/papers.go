package works

// What the papers of a job state and no other room asks for: what was
// inspected, decided and left out, who signs, whom it is notified to, how the
// work is made dead, and what it costs.

import (
	"chargewright/quantity"
	"chargewright/trade"
)

// Inspection is one item of the inspection, and how it was found.
type Inspection struct {
	Item    quantity.Maybe[trade.InspectionItem] `field:"item" help:"what was inspected"`
	Outcome quantity.Maybe[trade.Outcome]        `field:"outcome" help:"satisfactory, not applicable, limited or not satisfactory"`
	Who     string                               `field:"who" help:"who inspected"`
	When    string                               `field:"when" date:"time" help:"when"`
	Note    string                               `field:"note" help:"what was seen, or why it does not apply"`
}

// Judgement settles what a rule leaves to a person.
type Judgement struct {
	Clause  string                          `field:"clause" help:"clause the judgement is about, as the check prints it"`
	About   string                          `field:"about" help:"part it is about, like point CP1 or circuit van point, leg yard wall; empty for every part the clause touches"`
	Outcome quantity.Maybe[trade.Accepting] `field:"outcome" help:"accepted or not accepted"`
	Reason  string                          `field:"reason" help:"what it rests on"`
	Who     string                          `field:"who" help:"who judged"`
	When    string                          `field:"when" date:"time" help:"when"`
}

// Departure is a departure from the standard that is no less good.
type Departure struct {
	Clause string `field:"clause" help:"clause departed from, as the check prints it"`
	About  string `field:"about" help:"part it is about, like point CP1 or circuit van point, leg yard wall; empty for every part the clause touches"`
	What   string `field:"what" help:"what is done instead"`
	Reason string `field:"reason" help:"why it is no less good"`
	Who    string `field:"who" help:"designer who answers for it"`
}

// Limitation is what could not be inspected or tested.
type Limitation struct {
	At      string `field:"at" help:"where: supply, a board, a circuit or a point; empty for the whole job"`
	What    string `field:"what" help:"reading or inspection item left out, as the papers name it"`
	Reason  string `field:"reason" help:"why"`
	Agreed  string `field:"agreed with" help:"person it was agreed with"`
	Because string `field:"otherwise" help:"how the risk is met otherwise"`
}

// Isolation is a part of the installation made dead for the work.
type Isolation struct {
	What    string                           `field:"what" key:"yes" help:"what is made dead"`
	At      string                           `field:"at" help:"point of isolation"`
	Locked  string                           `field:"locked by" help:"means of locking off, and who keeps the key"`
	From    string                           `field:"from" date:"time" help:"when it goes off, like 2026-12-01 08:00"`
	For     quantity.Maybe[quantity.Seconds] `field:"for" above:"0 s" most:"336 h" like:"120 min" help:"how long it stays off"`
	Affects string                           `field:"affects" help:"what else goes off with it"`
	Agreed  string                           `field:"agreed with" help:"person who agreed to it"`
}

// Precaution is what is done about one hazard of the place.
type Precaution struct {
	Hazard  string `field:"hazard" help:"the hazard"`
	Measure string `field:"measure" help:"what is done about it, and by whom"`
}

// Certificate is what a certificate states beyond the rest of the record.
type Certificate struct {
	Work            quantity.Maybe[trade.Work] `field:"work" help:"what kind of work the certificate is for"`
	Extent          string                     `field:"extent" help:"what the certificate covers"`
	Circuits        []string                   `field:"circuits" help:"for minor works: the circuits worked on"`
	Completed       string                     `field:"completed" date:"day" help:"date the work was finished and tested"`
	Existing        string                     `field:"existing installation" help:"condition of the part not worked on"`
	Adequate        string                     `field:"existing found adequate" help:"for minor works: why earthing, bonding and ratings can take the change"`
	Records         string                     `field:"earlier records" help:"earlier certificates and reports seen, with their dates; none if there are none"`
	NoDepartures    quantity.Maybe[bool]       `field:"no departures" help:"yes when the work departs from the standard nowhere"`
	RCDOmitted      quantity.Maybe[bool]       `field:"RCD omitted" help:"whether an RCD is left out under the exception of 411.3.3"`
	RiskAssessment  string                     `field:"risk assessment" help:"where the risk assessment for that stands"`
	ArcFault        string                     `field:"arc-fault decision" help:"whether 421.1.7 asks for arc-fault devices, and what was done"`
	NothingToBond   []string                   `field:"nothing to bond" help:"services that are not there or need no bond: water, gas, oil, structural steel, lightning protection"`
	Sign            []Signing                  `field:"signing" one:"signing" help:"who answers for design, construction, inspection and testing"`
	InspectAgain    quantity.Maybe[int]        `field:"inspect again within months" least:"1" most:"120" help:"longest time to the next inspection, in months"`
	InspectAgainWhy string                     `field:"reason for interval" help:"why that long and no longer"`
	Copies          string                     `field:"copies" help:"who is given a copy, and how"`
}

// Signing is one person's answer for part of the work.
type Signing struct {
	For  quantity.Maybe[trade.Duty] `field:"for" help:"design, construction, inspection and testing, or all three"`
	Name string                     `field:"name" help:"a person listed under people"`
	Date string                     `field:"date" date:"day" help:"date of the declaration"`
	Part string                     `field:"part" help:"the part answered for, where a duty is shared"`
}

// MainSwitch is the switch that isolates the whole installation.
type MainSwitch struct {
	Standard string                           `field:"standard" help:"its standard, as marked"`
	Poles    quantity.Maybe[int]              `field:"poles" least:"1" most:"4" help:"number of poles"`
	Rating   quantity.Maybe[quantity.Amperes] `field:"rating" above:"0 A" most:"6.3 kA" help:"rated current"`
	Voltage  quantity.Maybe[quantity.Volts]   `field:"voltage" least:"50 V" most:"1 kV" help:"rated voltage"`
	Fuse     quantity.Maybe[quantity.Amperes] `field:"fuse or setting" above:"0 A" most:"6.3 kA" help:"rating of its fuses, or its setting, if it has any"`
	RCD      RCD                              `field:"RCD" help:"its residual part, if it is an RCD"`
}

// Notification is what the network operator and building control are told
// beyond the rest of the record.
type Notification struct {
	Operator     string                      `field:"network operator" help:"who is told"`
	Installer    string                      `field:"installer" help:"person under people whom the operator may ask; else who signs for construction"`
	MPAN         string                      `field:"supply number" help:"the supply number on the bill: 13 or 21 digits, 11 in Northern Ireland"`
	DemandMethod string                      `field:"demand method" help:"how the maximum demand was found"`
	Emissions    string                      `field:"harmonics and flicker" help:"standards the points meet, as their maker declares"`
	ToSupply     quantity.Maybe[bool]        `field:"feeds back" help:"whether a point can feed the supply"`
	ExportLimit  string                      `field:"feed-back capacity" help:"power it can feed back"`
	Sent         string                      `field:"sent" date:"day" help:"date the network operator was told"`
	Reference    string                      `field:"reference" help:"reference that came back"`
	Notifiable   quantity.Maybe[bool]        `field:"building control notifiable" help:"whether building control must be told"`
	Route        quantity.Maybe[trade.Route] `field:"building control route" help:"how building control is told"`
	Scheme       string                      `field:"scheme" help:"registration body and number, or the certifier"`
	UPRN         string                      `field:"UPRN" help:"unique property reference number, if known"`
	Occupier     string                      `field:"occupier" help:"who lives or works there, where that is not the client"`
	Regulations  quantity.Maybe[bool]        `field:"meets regulations 4 and 7" help:"whether the work meets regulations 4 and 7 of the Building Regulations 2010"`
	NewOrRenewed quantity.Maybe[bool]        `field:"new building or major renovation" help:"whether Part S brings a duty"`
	BuildingSent string                      `field:"building notice sent" date:"day" help:"date building control was told, or the certificate went to the occupier"`
}

// Handover is what the owner is told and given.
type Handover struct {
	Lights      []Light  `field:"lights" help:"what each light of the point means, in the user's words"`
	Start       string   `field:"how to start" help:"how a charge is started and stopped"`
	Schedule    string   `field:"how to schedule" help:"how charging hours are set"`
	Instructed  string   `field:"shown to" help:"person who was shown how to use it"`
	ShownOn     string   `field:"shown on" date:"day" help:"date"`
	Warranty    string   `field:"warranty" help:"who stands for what, and until when"`
	WarrantyEnd string   `field:"warranty ends" date:"day" help:"date the warranty ends"`
	Call        string   `field:"call" help:"whom to call, and how"`
	Network     string   `field:"network" help:"who pays for the point's connection, and what happens without it"`
	Password    string   `field:"password" help:"how the password was set, never the password; who owns the account"`
	Erase       string   `field:"erase data" help:"how to erase personal data"`
	Access      string   `field:"installer access" help:"installer's access removed, or kept and why"`
	Updates     string   `field:"updates" help:"how updates come, and until when the maker gives them"`
	UpdatesEnd  string   `field:"updates end" date:"day" help:"date the maker stops giving updates"`
	Records     string   `field:"records kept" help:"where copies of the papers are kept"`
	Spares      string   `field:"spare parts" help:"parts to keep or order: RCD, surge protection, lead"`
	AsBuilt     []string `field:"as built" help:"drawings, photographs and route records given"`
	RatesEnd    string   `field:"tariff ends" date:"day" help:"date the owner's tariff changes"`
}

// Light is one light of a point.
type Light struct {
	Shows string `field:"shows" help:"colour and whether it flashes"`
	Means string `field:"means" help:"what it means to the user"`
}

// Quotation is what the work costs.
type Quotation struct {
	Reference string                           `field:"reference" help:"reference of the quotation"`
	Valid     string                           `field:"valid until" date:"day" help:"date it holds to"`
	Rate      quantity.Maybe[float64]          `field:"labour rate" least:"0" most:"10000" help:"pounds an hour, before VAT"`
	VAT       quantity.Maybe[quantity.Percent] `field:"VAT" least:"0 %" most:"100 %" like:"20 %" help:"rate of VAT on the whole"`
	Labour    []Labour                         `field:"labour" one:"labour" help:"stages of the work and their hours"`
	Items     []Item                           `field:"items" help:"materials and what else is paid for"`
	Terms     string                           `field:"terms" help:"when it is paid, and what is not in it"`
}

// Labour is the hours of one stage.
type Labour struct {
	Stage  string                  `field:"stage" help:"what is done"`
	Hours  quantity.Maybe[float64] `field:"hours" least:"0" most:"10000" help:"hours of work"`
	Option string                  `field:"option" help:"option it belongs to; empty for what is always done"`
}

// Item is one thing to be bought or paid for.
type Item struct {
	What     string                  `field:"what" help:"what it is"`
	Quantity quantity.Maybe[float64] `field:"quantity" least:"0" most:"100000" help:"how many"`
	Unit     string                  `field:"unit" help:"of what: m, each"`
	Price    quantity.Maybe[float64] `field:"price" least:"0" most:"1000000" help:"pounds a unit, before VAT"`
	Option   string                  `field:"option" help:"option it belongs to; empty for what is always bought"`
}
