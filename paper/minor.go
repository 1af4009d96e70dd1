package paper

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/trade"
	"chargewright/works"
)

// minorWork is the certificate for a change that makes no new circuit: one for
// each circuit touched (BS 7671 644.4).
type minorWork struct {
	general   items
	earthing  items
	circuits  []minorCircuit
	signing   items
	signature []document.Block
	gaps      []Gap
}

// minorCircuit is one circuit touched.
type minorCircuit struct {
	name    string
	circuit items
	tests   items
	gaps    []Gap
}

// minor gathers what a minor-works certificate must carry.
func (c *certificate) minor() minorWork {
	cert := &c.m.Job.Certificate
	w := minorWork{general: c.minorGeneral(), earthing: c.minorEarthing()}
	for _, ct := range c.m.Circuits {
		if !contains(cert.Circuits, ct.Record.Name) {
			continue
		}
		w.circuits = append(w.circuits, c.minorCircuit(ct))
		if !ct.Record.Existing {
			w.gaps = append(w.gaps, Gap{Kind: failing, About: "circuit " + ct.Record.Name, What: "it is a new circuit",
				Get: "a new circuit wants an electrical installation certificate: enter another certificate, work", Field: "minor_scope_check", Of: "certificate/work"})
		}
	}
	_, who, _ := c.signatures()
	w.signature = []document.Block{who}
	declared := field("minor_declaration", "")
	if s := c.answersForAll(); s != nil {
		declared.value = s.Name + " " + asWritten(s.Date)
	}
	w.signing = items{declared}
	w.gaps = append(w.gaps, c.assumed()...)
	w.gaps = append(w.gaps, c.settledFor(w.circuits)...)
	w.gaps = append(w.gaps, w.general.gaps("certificate")...)
	w.gaps = append(w.gaps, w.earthing.gaps("earthing")...)
	for _, one := range w.circuits {
		about := "circuit " + one.name
		w.gaps = append(append(append(w.gaps, one.gaps...), one.circuit.gaps(about)...), one.tests.gaps(about)...)
	}
	w.gaps = append(w.gaps, w.signing.gaps("declaration")...)
	if len(w.circuits) == 0 {
		w.gaps = append(w.gaps, Gap{Kind: wanting, About: "certificate", What: "the circuit worked on", Get: "enter certificate, circuits",
			Field: "minor_circuit", Of: "certificate/circuits"})
	}
	w.gaps = append(w.gaps, c.readings.others()...)
	slices.SortStableFunc(w.gaps, func(a, b Gap) int { return gapOrder[a.Kind] - gapOrder[b.Kind] })
	return w
}

// answersForAll is the signature of the one who answers for all three duties,
// nil where nobody does.
func (c *certificate) answersForAll() *works.Signing {
	signs := c.m.Job.Certificate.Sign
	for i := range signs {
		if s := &signs[i]; s.For.Or("") == trade.AllThree && s.Name != "" && s.Date != "" {
			return s
		}
	}
	return nil
}

// settledFor is what findings leave open about the circuits touched and the
// supply they hang on.
func (c *certificate) settledFor(circuits []minorCircuit) []Gap {
	var out []Gap
	for _, g := range c.settled.gaps {
		if g.Finding == nil || !oneOfMany(g.Finding.Path) || slices.ContainsFunc(circuits, func(one minorCircuit) bool {
			at := works.Under("circuits", one.name)
			return works.Within(g.Finding.Path, at) || g.Finding.Against != "" && works.Within(g.Finding.Against, at)
		}) {
			out = append(out, g)
		}
	}
	return out
}

// oneOfMany reports that a path is that of a circuit or a point, or of something in one.
func oneOfMany(path string) bool {
	return works.Within(path, "circuits") || works.Within(path, "points")
}

func (c *certificate) minorGeneral() items {
	j, cert := c.m.Job, &c.m.Job.Certificate
	reference := "given when it is issued"
	if c.issue != nil {
		reference = c.issue.Named()
	}
	departures := c.departuresItem()
	departures.key, departures.what = "minor_departures", "Departures and exceptions"
	return items{
		field("minor_reference", reference),
		field("minor_client_and_address", allOf(j.Site.Client, j.Site.ClientAddress)),
		field("minor_client_and_address: of the installation", j.Site.Address),
		field("minor_description_location", cert.Extent),
		field("minor_date_completed", cert.Completed),
		field("minor_scope_check", ""),
		field("standard_edition: minor works", statedEdition(j)),
		departures,
		field("minor_existing_comments", cert.Existing),
		field("minor_existing_adequacy", cert.Adequate),
		field("minor_one_form_per_circuit", orElse(strings.Join(cert.Circuits, ", "), "")),
	}
}

func (c *certificate) minorEarthing() items {
	list := items{
		field("minor_earthing_system", ifKnown("%s", c.m.Job.Supply.Earthing)),
	}
	for _, i := range c.earthingItems(&[]Gap{}) {
		switch i.key {
		case "earthing_conductor_material_csa_verified", "bonding_conductor_material_csa_verified":
			i.key = "minor_earthing_adequate"
		case "bonding_to_water_gas_oil_steel_lightning_other":
			i.key = "minor_bonding_each"
		default:
			continue
		}
		list = append(list, i)
	}
	return list
}

// minorCircuit reads the details and results of one circuit under the keys of
// this certificate.
func (c *certificate) minorCircuit(ct *model.Circuit) minorCircuit {
	s := c.scheduled(ct)
	r := ct.Record
	out := minorCircuit{name: r.Name, gaps: s.gaps}
	by := map[string]item{}
	for _, i := range append(s.details, s.results...) {
		by[i.key] = i
	}
	take := func(to *items, key string, from ...string) {
		for _, f := range from {
			i := by[f]
			i.key = key
			*to = append(*to, i)
		}
	}
	out.circuit = items{field("minor_circuit", allOf(r.From, before("way ", r.Way), r.Name)).under(works.Under("circuits", r.Name))}
	take(&out.circuit, "minor_ocpd_rcd_spd", "ocpd_standard_type_rating", "ocpd_breaking_capacity")
	take(&out.circuit, "minor_rcd_fields", "rcd_standard_type_IdeltaN_rating")
	take(&out.circuit, "minor_conductors", "wiring_type_code", "reference_method", "live_csa", "cpc_csa")
	take(&out.circuit, "minor_conductors", "max_permitted_Zs")
	if b := ct.From; b != nil {
		loop := c.reading([]string{b.Record.Name}, "board "+b.Record.Name, field("minor_Zdb", "").named(b.Record.Name), &out.gaps, "Zs")
		if b.Record.FedFrom == "supply" && loop.value == "" {
			loop = field("minor_Zdb: origin", ifKnown("%v", c.m.Job.Supply.Ze.Value)).noted("the origin: Ze")
		}
		out.circuit = append(out.circuit, loop)
	}
	take(&out.tests, "minor_continuity", "R1_plus_R2", "R2")
	take(&out.tests, "minor_IR", "IR_test_voltage", "IR_live_live", "IR_live_earth")
	take(&out.tests, "minor_polarity_Zs_rcd", "polarity_ok", "Zs_max_measured", "rcd_time", "rcd_button_ok")
	take(&out.tests, "minor_afdd_spd", "afdd_button_ok")
	take(&out.tests, "minor_instruments", "instrument_set", "tester_name_sign_date", "test_remarks")
	return out
}

// minorPaper sets the minor-works certificate.
func minorPaper(m *model.Model, fs []finding.Finding, es []prove.Expectation, made time.Time, issue *Issue) *document.Document {
	c := newCertificate(m, fs, es, issue)
	w := c.minor()
	d := c.document(made, w.gaps, "Minor works certificate", "For a change that makes no new circuit, one part for each circuit touched.")
	d.Corner = issue.code("code")
	d.Sections = append(d.Sections, document.Section{Heading: "The work", NewPage: issue == nil && len(w.gaps) > 0, Blocks: []document.Block{w.general.fields()}},
		document.Section{Heading: "Earthing and bonding", Blocks: []document.Block{w.earthing.fields()}})
	for i, one := range w.circuits {
		d.Sections = append(d.Sections, document.Section{Heading: fmt.Sprintf("%s (%d of %d)", drawing.Named("Circuit", one.name), i+1, len(w.circuits)),
			Blocks: []document.Block{one.circuit.fields(), document.Subheading{Text: "Tests"}, one.tests.fields()}})
	}
	t := signatureTable([]document.Row{signatureRow(cmp.Or(c.answersForAll(), &works.Signing{Name: notKnown, Date: notKnown}))}, false)
	d.Sections = append(d.Sections,
		document.Section{Heading: "Departures, limitations and decisions", Blocks: c.settled.blocks(m.Job, nil)},
		document.Section{Heading: "Declaration", Whole: true, Blocks: append([]document.Block{document.Paragraph{Text: "I answer for this work. It does not " +
			"make the existing installation less safe, and with the departures and within the limitations listed here it is to the best of my knowledge and " +
			"belief in accordance with the edition named above."}, t}, w.signature...)},
		issue.proof(false))
	return d
}
