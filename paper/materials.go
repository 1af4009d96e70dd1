package paper

import (
	"math"
	"strconv"
	"strings"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// needed is one line of the materials list.
type needed struct {
	What     string  `json:"what"`
	Quantity float64 `json:"quantity"`
	Unit     string  `json:"unit"`
	For      string  `json:"for"`
}

func (n needed) count() string {
	return strconv.FormatFloat(math.Round(n.Quantity*100)/100, 'f', -1, 64) + " " + n.Unit
}

// cut is one length of cable to cut.
type cut struct {
	Cable  string `json:"cable"`
	Pieces int    `json:"pieces"` // of this length each: conductors on their own are as many as are drawn in
	Length string `json:"length"` // along the route, of one piece
	metres float64
	said   bool   // anything is, of the cable
	For    string `json:"for"`
	Known  string `json:"knownBy"`
}

// cuts is every length of cable of this work, as the routes were entered: the
// legs of a circuit that follow each other in one cable are one piece.
func cuts(m *model.Model) (list []cut, missing []string) {
	for _, c := range m.Circuits {
		if c.Record.Existing {
			continue
		}
		for i := 0; i < len(c.Legs); {
			cable := c.Legs[i].Cable
			piece := cut{said: *cable != (works.Cable{})}
			var names, how []string
			whole := true
			for ; i < len(c.Legs) && c.Legs[i].Cable == cable; i++ {
				length, ok := c.Legs[i].Record.Length.Get()
				whole = whole && ok
				piece.metres += float64(length)
				names = append(names, c.Legs[i].ShortName())
				how = append(how, ifKnown("%s", c.Legs[i].Record.LengthKnown))
			}
			piece.For = c.Record.Name + ": " + strings.Join(names, ", ")
			piece.Known = strings.Join(unique(nonEmpty(how)), ", ")
			if !whole {
				missing = append(missing, "length of "+piece.For)
				continue
			}
			piece.Length = quantity.Metres(piece.metres).String()
			pieces := drawnIn(c, cable)
			if len(pieces) == 0 {
				missing = append(missing, "lines and protective conductor of "+piece.For+": how many conductors are drawn in")
			}
			for _, one := range pieces {
				piece.Cable, piece.Pieces = one.what, one.count
				list = append(list, piece)
			}
		}
	}
	return list, missing
}

type drawn struct {
	what  string
	count int
}

// drawnIn is what is run along a route: one cable, or conductors on their own,
// as many as there are lines, a neutral and, where it is one of them, the cpc.
func drawnIn(c *model.Circuit, cable *works.Cable) []drawn {
	if cable.Construction.Or("") != standard.Singles {
		return []drawn{{cableText(cable), 1}}
	}
	cpc, said := cable.CPC.Get()
	lines := c.PhaseCount()
	if lines == 0 || !said {
		return nil
	}
	kind := join("singles", ifKnown("%s", cable.Insulation), ifKnown("%s", cable.Material))
	var out []drawn
	add := func(csa quantity.Maybe[quantity.SquareMillimetres], count int, as string) {
		out = append(out, drawn{join(orNotKnown(ifKnown("%v", csa)), kind, as), count})
	}
	if own := cable.NeutralCSA; own.IsKnown() && own != cable.CSA {
		add(cable.CSA, lines, "lines")
		add(own, 1, "neutral")
	} else {
		add(cable.CSA, lines+1, "lines and neutral")
	}
	if cpc == trade.CPCCore || cpc == trade.CPCSeparate {
		csa := cable.CPCCSA
		if !csa.IsKnown() && cpc == trade.CPCCore {
			csa = cable.CSA
		}
		add(csa, 1, "cpc")
	}
	return out
}

// materials is what this work is made of, as far as the job says.
func materials(m *model.Model) []needed {
	var list []needed
	at := map[string]int{}
	add := func(what, of, unit string, quantity float64) {
		if what == "" {
			return
		}
		if i, ok := at[what+unit]; ok {
			list[i].Quantity += quantity
			list[i].For = join(list[i].For, of)
			return
		}
		at[what+unit] = len(list)
		list = append(list, needed{what, quantity, unit, of})
	}
	for _, p := range m.Points {
		if p.Circuit == nil || !p.Circuit.Record.Existing {
			r := p.Record
			add(join("charge point", r.Make, ifKnown("%v", r.Power), ifKnown("%d-phase", r.Phases), ifKnown("%s", r.Outlet)), r.Name, "each", 1)
		}
	}
	for _, c := range m.Circuits {
		if c.Record.Existing {
			continue
		}
		add(before("device ", join(ifKnown("%s", c.Record.Device.Type), ifKnown("%v", c.Record.Device.Rating), ifKnown("RCD Type %s", c.Record.RCD.Type),
			ifKnown("%v", c.Record.RCD.Residual))), c.Record.Name, "each", 1)
	}
	pieces, _ := cuts(m)
	for _, p := range pieces {
		if p.said {
			add(p.Cable, p.For, "m", p.metres*float64(p.Pieces))
		}
	}
	for _, e := range m.Job.Electrodes {
		n := e.Number.Or(1)
		add(join("earth electrode", ifKnown("%s", e.Kind), ifKnown("%v", e.Length), ifKnown("%v across", e.Diameter)), e.Name, "each", float64(n))
	}
	for _, l := range m.Job.Limiters {
		lines := 1
		if p, ok := l.ClampPhases.Get(); ok {
			lines = p.Count()
		}
		add("current clamp", l.Name, "each", float64(lines))
	}
	return list
}
