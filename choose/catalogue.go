package choose

// What there is to choose from: generic materials with price and labour.

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"chargewright/sheet"
	"chargewright/standard"
	"chargewright/trade"
)

//go:embed catalogue/*.csv
var built embed.FS

// outlay is what a thing costs to buy, and how long it takes to fit.
type outlay struct{ Price, Hours float64 }

// cableRow is a cable of the catalogue.
type cableRow struct {
	Construction standard.Construction
	Insulation   standard.Insulation
	Material     standard.Material
	Cores        int // 0 for flat twin
	CSA          float64
	CPC          trade.CPC
	CPCCSA       float64 // 0 where the cable settles it
	Methods      []standard.Method
	PerMetre     outlay
	PerEnd       outlay
}

// deviceRow is an overcurrent device, with its residual part where it has one.
type deviceRow struct {
	Family   standard.Family
	Rated    float64
	Ir, Im   float64 // settings, of an adjustable breaker
	Capacity float64
	Phases   int
	Poles    trade.Poles
	Residual *residualRow // of an RCBO
	Ways     int
	outlay
}

// residualRow is an RCD, or the residual part of an RCBO.
type residualRow struct {
	Type    trade.RCDType
	Trips   float64 // IΔn, in A
	Rated   float64
	Phases  int
	Delayed bool
	Poles   trade.Poles
	Ways    int
	outlay
}

// boardRow is a board.
type boardRow struct {
	Phases, Ways               int
	Rated, Capacity, Diversity float64
	outlay
}

// electrodeRow is a kind of electrode, and how many of it may be used.
type electrodeRow struct {
	Kind                         trade.ElectrodeKind
	Length, Wide, Depth, Spacing float64
	Greatest                     int
	Once, Each                   outlay
}

// surgeRow is a surge protective device.
type surgeRow struct {
	Type            trade.SurgeType
	Phases          int
	Connection      trade.SurgeConnection
	Level, Backup   float64
	LiveLead, Earth float64
	outlay
}

// measureRow is what an earthing measure adds at one point.
type measureRow struct {
	Measure trade.EarthingMeasure
	Device  trade.OpenPENDevice
	Phases  int
	outlay
}

// Catalogue is everything there is to choose from.
type Catalogue struct {
	Cables     []cableRow
	Devices    []deviceRow
	Residual   []residualRow
	Boards     []boardRow
	Electrodes []electrodeRow
	Surge      []surgeRow
	Measures   []measureRow
	Sundries   map[string]outlay
}

// Cost returns what work costs with its labour.
func (c *Catalogue) Cost(w outlay) float64 { return w.Price + w.Hours*c.Sundries[labour].Price }

// labour is the sundry whose price is that of one hour.
const labour = "labour of one hour"

// BuiltIn returns the catalogue that comes with the program: generic materials
// with invented round figures.
func BuiltIn() (*Catalogue, error) { return WithOwn(nil) }

// WithOwn returns the built-in catalogue with the files of own in place of
// those of the same name.
func WithOwn(own fs.FS) (*Catalogue, error) {
	inner, err := fs.Sub(built, "catalogue")
	if err != nil {
		return nil, err
	}
	return openCatalogue(inner, own)
}

// openCatalogue reads a catalogue. A file that own has takes the place of the one of the
// same name in base. Every wrong row is reported, each with its line.
func openCatalogue(base, own fs.FS) (*Catalogue, error) {
	c := &Catalogue{Sundries: map[string]outlay{}}
	r := &reader{base: base, own: own}
	r.each("cables.csv", "construction,insulation,material,cores,mm2,cpc,cpc_mm2,methods,price_per_m,hours_per_m,price_per_end,hours_per_end", func(l *line) {
		row := cableRow{Construction: word(l, "construction", standard.Parse[standard.Construction]),
			Insulation: word(l, "insulation", standard.Parse[standard.Insulation]),
			Material:   word(l, "material", standard.Parse[standard.Material]), Cores: int(l.may("cores")), CSA: l.number("mm2"), CPC: oneOf[trade.CPC](l, "cpc"),
			CPCCSA: l.may("cpc_mm2"), PerMetre: outlay{l.number("price_per_m"), l.number("hours_per_m")},
			PerEnd: outlay{l.number("price_per_end"), l.number("hours_per_end")}}
		for _, m := range strings.Split(l.text("methods"), "/") {
			method, err := standard.Parse[standard.Method](m)
			l.fault("methods", err)
			row.Methods = append(row.Methods, method)
		}
		c.Cables = append(c.Cables, row)
	})
	r.each("devices.csv", "family,rated_a,ir_a,im_a,capacity_a,phases,poles,residual_type,residual_ma,delayed,ways,price,hours", func(l *line) {
		d := deviceRow{Family: word(l, "family", standard.Parse[standard.Family]), Rated: l.number("rated_a"), Ir: l.may("ir_a"), Im: l.may("im_a"),
			Capacity: l.number("capacity_a"),
			Phases:   l.phases(), Poles: oneOf[trade.Poles](l, "poles"), Ways: int(l.number("ways")), outlay: l.work()}
		if l.text("residual_type") != "" {
			d.Residual = &residualRow{Type: oneOf[trade.RCDType](l, "residual_type"), Trips: l.number("residual_ma") / 1000, Rated: d.Rated,
				Phases: d.Phases, Delayed: l.yes("delayed"), Poles: d.Poles}
		}
		c.Devices = append(c.Devices, d)
	})
	r.each("residual.csv", "type,residual_ma,rated_a,phases,delayed,poles,ways,price,hours", func(l *line) {
		c.Residual = append(c.Residual, residualRow{Type: oneOf[trade.RCDType](l, "type"), Trips: l.number("residual_ma") / 1000, Rated: l.number("rated_a"),
			Phases: l.phases(), Delayed: l.yes("delayed"), Poles: oneOf[trade.Poles](l, "poles"), Ways: int(l.number("ways")), outlay: l.work()})
	})
	r.each("boards.csv", "phases,ways,rated_a,capacity_a,diversity,price,hours", func(l *line) {
		c.Boards = append(c.Boards, boardRow{Phases: l.phases(), Ways: int(l.number("ways")), Rated: l.number("rated_a"),
			Capacity: l.number("capacity_a"), Diversity: l.number("diversity"),
			outlay: l.work()})
	})
	r.each("electrodes.csv", "kind,length_m,wide_mm,depth_m,spacing_m,greatest_number,price,hours,price_each,hours_each", func(l *line) {
		c.Electrodes = append(c.Electrodes, electrodeRow{Kind: oneOf[trade.ElectrodeKind](l, "kind"), Length: l.number("length_m"), Wide: l.may("wide_mm") / 1000,
			Depth: l.may("depth_m"), Spacing: l.may("spacing_m"), Greatest: int(l.number("greatest_number")), Once: l.work(),
			Each: outlay{l.number("price_each"), l.number("hours_each")}})
	})
	r.each("surge.csv", "type,phases,connection,level_v,backup_a,live_lead_m,earth_lead_m,price,hours", func(l *line) {
		c.Surge = append(c.Surge, surgeRow{Type: oneOf[trade.SurgeType](l, "type"), Phases: l.phases(), Connection: oneOf[trade.SurgeConnection](l, "connection"),
			Level: l.number("level_v"), Backup: l.number("backup_a"), LiveLead: l.number("live_lead_m"), Earth: l.number("earth_lead_m"), outlay: l.work()})
	})
	r.each("earthing.csv", "measure,device,phases,price,hours", func(l *line) {
		m := measureRow{Measure: oneOf[trade.EarthingMeasure](l, "measure"), Phases: l.phases(), outlay: l.work()}
		if l.text("device") != "" {
			m.Device = oneOf[trade.OpenPENDevice](l, "device")
		}
		c.Measures = append(c.Measures, m)
	})
	r.each("sundries.csv", "item,price,hours", func(l *line) { c.Sundries[l.text("item")] = l.work() })
	return c, errors.Join(r.faults...)
}

// reader reads the files of a catalogue and gathers their faults.
type reader struct {
	base, own fs.FS
	faults    []error
}

// line is one row of a file.
type line struct{ sheet.Row }

// each reads the rows of a file under its header.
func (r *reader) each(file, header string, row func(*line)) {
	text, err := fs.ReadFile(r.base, file)
	if r.own != nil {
		if mine, ownErr := fs.ReadFile(r.own, file); ownErr == nil {
			text, err = mine, nil
		} else if !errors.Is(ownErr, fs.ErrNotExist) {
			err = ownErr
		}
	}
	if err != nil {
		r.faults = append(r.faults, fmt.Errorf("%s: %w", file, err))
		return
	}
	t, err := sheet.Own(file, string(text), strings.Split(header, ",")...)
	if err != nil {
		r.faults = append(r.faults, err)
		return
	}
	for _, one := range t.Rows {
		row(&line{one})
	}
	if err := t.Faults.Err(); err != nil {
		r.faults = append(r.faults, err)
	}
}

func (l *line) fault(name string, err error) {
	if err != nil {
		l.Fault(name, "", err.Error())
	}
}

func (l *line) text(name string) string { return l.Get(name) }

// number reads a figure that must be there, at least zero.
func (l *line) number(name string) float64 {
	v, err := strconv.ParseFloat(l.Get(name), 64)
	if err != nil || !(v >= 0) || v > 1e9 {
		l.fault(name, fmt.Errorf("%q: a figure of zero or more is wanted", l.Get(name)))
		return 0
	}
	return v
}

// may reads a figure that may be left out.
func (l *line) may(name string) float64 {
	if l.Get(name) == "" {
		return 0
	}
	return l.number(name)
}

func (l *line) phases() int {
	n := l.number("phases")
	if n != 1 && n != 3 {
		l.fault("phases", fmt.Errorf("%q: 1 or 3 is wanted", l.Get("phases")))
	}
	return int(n)
}

func (l *line) yes(name string) bool {
	v := l.Get(name)
	if v != "yes" && v != "no" && v != "" {
		l.fault(name, fmt.Errorf("%q: yes or no is wanted", v))
	}
	return v == "yes"
}

func (l *line) work() outlay { return outlay{l.number("price"), l.number("hours")} }

// word reads a word by the parser of its kind.
func word[T any](l *line, name string, parse func(string) (T, error)) T {
	v, err := parse(l.Get(name))
	l.fault(name, err)
	return v
}

// oneOf reads one of a few words.
func oneOf[T interface {
	~string
	Values() []string
}](l *line, name string) T {
	v := T(l.Get(name))
	if !slices.Contains(v.Values(), string(v)) {
		l.fault(name, fmt.Errorf("%q: one of %q is wanted", v, v.Values()))
	}
	return v
}
