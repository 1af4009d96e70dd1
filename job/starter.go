package job

// The job file a new job starts from.

import "strings"

// Starter returns a job file for a new job of that name: one charge point, the
// fields an electrician fills first, each empty until it is known.
func Starter(name string) []byte {
	name = tidy(strings.Join(strings.Fields(name), " "))
	if name != "" {
		name = " " + scalarText(name, step)
	}
	return []byte(strings.Replace(starter, " NAME", name, 1))
}

const starter = `# A job. Leave empty what is not known yet; nothing is taken for granted.
# Write values with their unit: 25 m, 6 mm², 0.18 Ω, 32 A, 7.4 kW, 900 mm.
# How a value is known may follow it: 0.18 Ω (measured), 25 A (assumed, not seen).
# Before dead tests: isolate, lock off, prove the tester, prove dead.
job: NAME
stage: survey

site:
  client:
  address:
  premises:             # dwelling, flats, workplace, shop or office, hotel, car park
  nation:               # England, Wales, Scotland, Northern Ireland
  visited:              # like 2026-11-25
  hazards:              # one a line, after a dash

people:
  # - name:
  #   role: designer, installer, tester

instruments:
  # - name: tester one
  #   kind: multifunction
  #   serial:
  #   calibrated until:

# From the street to the meter.
supply:
  earthing:             # TN-S, TN-C-S or TT
  phases:               # 1 or 3
  cut-out:
    type:               # as marked, like BS 88-3
    rating:             # as marked; not known if the carrier is sealed and bare
  Ze:
  Ipf:                  # the greatest prospective fault current
  looped:               # does the service cable also feed a neighbour? yes or no
  unmetered:            # yes or no
  service equipment:    # sound, damaged or uncertain
  agreed capacity:      # current per phase agreed with the network operator
  capacity agreed:      # no where none is
  maximum demand:       # before the charge point, in the phase that has most
  tails:
    csa:
    length:
  earthing conductor:
    csa:
  main bonding:         # water, gas, oil, structural steel: to, csa, connected
  generation or storage: # solar, battery, generator on site? yes or no
  other sources:        # each by its name

boards:
  - name: main board
    fed from: supply
    place:
    ways:
    ways free:
    short-circuit rating:
    RCDs:               # only those that several circuits share
    surge protection:

# What is already connected and draws current: shower, cooker, heat pump.
loads:

# What feeds it beside the street: each with where it is connected and the
# greatest current it gives out.
sources:

circuits:
  - name: charge point
    from: main board
    way:
    to: CP1
    phases:             # L1, L2, L3 or L1 L2 L3
    device:
      type:             # like BS EN 61009 type B
      rating:
      breaking capacity:
      poles:            # all live, or lines only
    RCD:                # of this circuit alone, an RCBO's included
      type:             # A, F or B
      IΔn:
      poles:
    shared RCD: none    # or the name of the board's RCD it is behind
    cable:
      construction:     # flat twin and cpc, singles, multicore or armoured
      insulation:       # 70 °C thermoplastic or 90 °C thermosetting
      csa:
      cores:
      cpc:              # core, armour, core and armour, or separate
    legs:               # a new leg wherever the method of installation changes
      - name: first leg
        length:
        method:         # reference method, like C, B, D buried, 101
        ambient:
        circuits together:

points:
  - name: CP1
    power:
    phases:
    outlet:             # socket or tethered
    outdoors:
    public:
    6 mA d.c. detection:
    open-PEN device:    # what it measures, if there is one; else none
    earthing:
      measure:          # against a lost PEN conductor, or the earthing used instead
    greatest upstream device:
    limiter:            # name of the load limiter, or none
    mounting:
      place:
      underside:        # height above the ground a person stands on
      outlet height:
      screen:

# One reading an item, in the order made: at, reading, value, instrument, who, when.
readings:

notes:
`
