package works

import (
	"chargewright/quantity"
	"chargewright/trade"
)

// Source feeds the installation beside the street: panels, a battery, a vehicle
// that gives back, a generator.
type Source struct {
	Name      string                           `field:"name" key:"yes" help:"what the source is called, like roof panels"`
	Kind      quantity.Maybe[trade.SourceKind] `field:"kind" help:"solar, battery, vehicle, generator or wind"`
	Board     string                           `field:"board" help:"board it is connected to, where no circuit ends at it"`
	Circuit   string                           `field:"on circuit" help:"circuit it shares with what that feeds, where it has none of its own"`
	Point     string                           `field:"through point" help:"charge point that a vehicle gives back through"`
	Phases    quantity.Maybe[trade.PhaseSet]   `field:"phases" help:"L1, L2, L3 or L1 L2 L3"`
	Output    quantity.Maybe[quantity.Amperes] `field:"output current" above:"0 A" most:"6.3 kA" like:"16 A" help:"greatest a.c. current per phase it gives out (Ig)"`
	NeedsRCD  quantity.Maybe[trade.RCDType]    `field:"RCD asked for" help:"least type of RCD its maker allows ahead of it: AC, A, F or B"`
	Charging  string                           `field:"charged as" help:"load entered for what it takes from the supply; none where it takes nothing"`
	Backup    quantity.Maybe[bool]             `field:"works without the street" help:"whether it feeds any part of the installation when the supply is lost"`
	Electrode string                           `field:"electrode" help:"electrode that earths the installation while it works without the street"`
	Joins     quantity.Maybe[bool]             `field:"joins neutral and earth" help:"whether it joins them while it works without the street, and only then"`
	Agreed    string                           `field:"connection agreed" help:"reference and date of its own notice to, or leave of, the network operator"`
}

// Thing returns the source as findings name it.
func (s *Source) Thing() Thing { return listed("sources", "source", s.Name) }
