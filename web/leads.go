package web

// Where the sheet of an element leads: the pages that work something out for
// what it shows.

import (
	"net/url"

	"chargewright/works"
)

// lead is a page that a sheet leads to.
type lead struct{ URL, Label string }

// leads lists the pages that go with the sheet of an element.
func (o *opened) leads(of string) []lead {
	at := "/jobs/" + o.ID
	names := works.NamesOf(of)
	name := names[len(names)-1]
	switch {
	case of == "earthing", names[0] == "electrodes":
		return []lead{{at + "/earthing", "Earthing, side by side"}}
	case names[0] == "circuits":
		return []lead{{at + "/choose", "Choose what is open"}, {at + "/route", "The way its cable takes"}}
	case names[0] == "points" && len(names) == 2:
		return []lead{{at + "/commissioning?point=" + url.QueryEscape(name), "Commissioning"}, {at + "/pilot?point=" + url.QueryEscape(name), "Control pilot"},
			{at + "/choose", "Choose what is open"}}
	case of == "meter":
		return []lead{{at + "/demand", "Maximum demand"}, {at + "/meter", "Meter over Modbus"}}
	case of == "street", names[0] == "loads", names[0] == "sources":
		return []lead{{at + "/demand", "Maximum demand"}}
	case of == "cut-out":
		return []lead{{at + "/flow", "Voltages and faults"}, {at + "/demand", "Maximum demand"}}
	case names[0] == "boards":
		return []lead{{at + "/flow?touching=L1-PE&at=" + url.QueryEscape(name) + "#fault", "Voltages and faults"}, {at + "/choose", "Choose what is open"}}
	case names[0] == "limiters":
		return []lead{{at + "/limit", "Put it to the proof"}, {at + "/choose", "Choose what is open"}}
	}
	return nil
}
