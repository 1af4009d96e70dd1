package works

// The things of a job that findings speak of: where each stands in the record,
// and what it is called. Nobody else builds such a path.

import (
	"fmt"

	"chargewright/finding"
)

// Thing is a part of a job: its path in the record, and its name in words.
type Thing struct {
	Path string // "circuits/van point/legs/buried"; empty for the job as a whole
	Name string // "circuit van point, leg 2 (buried)"
}

// Parts of a job that there is one of.
var (
	TheSupply            = Thing{"supply", "supply"}
	TheEarthingConductor = Thing{"supply/earthing conductor", "earthing conductor"}
	TheOperator          = Thing{"supply", "network operator"}
	TheTails             = Thing{"supply/tails", "tails"}
	TheCutOut            = Thing{"supply/cut-out", "cut-out"}
	TheSite              = Thing{"site", "site"}
	TheInstallation      = Thing{"", "installation"}
)

// listed is an item of a list at the top of the record.
func listed(list, one, name string) Thing {
	return Thing{Under(list, name), one + " " + name}
}

// Thing returns the electrode as findings name it.
func (e *Electrode) Thing() Thing { return listed("electrodes", "electrode", e.Name) }

// Thing returns the board as findings name it.
func (b *Board) Thing() Thing { return listed("boards", "board", b.Name) }

// Thing returns the load as findings name it.
func (l *Load) Thing() Thing { return listed("loads", "load", l.Name) }

// Thing returns the circuit as findings name it.
func (c *Circuit) Thing() Thing { return listed("circuits", "circuit", c.Name) }

// Thing returns the charge point as findings name it.
func (p *Point) Thing() Thing { return listed("points", "point", p.Name) }

// Thing returns the instrument as findings name it.
func (i *Instrument) Thing() Thing { return listed("instruments", "instrument", i.Name) }

// Thing returns the limiter as findings name it.
func (l *Limiter) Thing() Thing { return listed("limiters", "limiter", l.Name) }

// Thing returns the bonding conductor as findings name it.
func (b *Bonding) Thing() Thing {
	return Thing{Under("supply/main bonding", b.To), "bonding to " + b.To}
}

// Thing returns the neighbour as findings name it.
func (n *Neighbour) Thing() Thing {
	return Thing{Under("supply/neighbours", n.Name), "neighbour " + n.Name}
}

// LegThing returns leg i of the circuit, counted from 0, as findings name it.
func (c *Circuit) LegThing(i int) Thing {
	of := c.Thing()
	return Thing{Under(of.Path+"/legs", c.Legs[i].Name), of.Name + ", " + c.LegName(i)}
}

// LegName returns what leg i is called within its circuit: "leg 2 (buried)".
func (c *Circuit) LegName(i int) string {
	name := fmt.Sprintf("leg %d", i+1)
	if c.Legs[i].Name != "" {
		name += " (" + c.Legs[i].Name + ")"
	}
	return name
}

// RCDThing returns the circuit's own RCD.
func (c *Circuit) RCDThing() Thing {
	of := c.Thing()
	return Thing{of.Path + "/RCD", "RCD of " + of.Name}
}

// RCDThing returns the RCD built into the point.
func (p *Point) RCDThing() Thing {
	of := p.Thing()
	return Thing{of.Path + "/built-in RCD", "built-in RCD of " + of.Name}
}

// MainSwitchThing returns the main switch of the board.
func (b *Board) MainSwitchThing() Thing {
	of := b.Thing()
	return Thing{of.Path + "/main switch", "main switch of " + of.Name}
}

// MainRCDThing returns the residual part of the main switch of the board.
func (b *Board) MainRCDThing() Thing {
	of := b.MainSwitchThing()
	return Thing{of.Path + "/RCD", "RCD in the " + of.Name}
}

// RCDThing returns an RCD of the board that circuits share.
func (b *Board) RCDThing(r *BoardRCD) Thing {
	of := b.Thing()
	return Thing{Under(of.Path+"/RCDs", r.Name), "RCD " + r.Name + " of " + of.Name}
}

// SurgeThing returns a surge device of the board.
func (b *Board) SurgeThing(s *Surge) Thing {
	return Thing{Under(b.Thing().Path+"/surge protection", s.Name), "surge device " + s.Name + " at " + b.Name}
}

// Lack is a fact of the thing that is not known. The field is its path below
// the thing, like "cable/csa", or empty for the thing itself; so are those that
// would do instead, or that go with it.
func (t Thing) Lack(field, what string, or ...string) finding.Lacks {
	l := finding.Lack{Path: t.at(field), Of: t.Name, What: what}
	for _, f := range or {
		l.Or = append(l.Or, t.at(f))
	}
	return finding.Lacks{l}
}

// Unless is a lack unless the fact is known.
func (t Thing) Unless(known bool, field, what string, or ...string) finding.Lacks {
	if known {
		return nil
	}
	return t.Lack(field, what, or...)
}

func (t Thing) at(field string) string {
	if field == "" || t.Path == "" {
		return t.Path + field
	}
	return t.Path + "/" + field
}
