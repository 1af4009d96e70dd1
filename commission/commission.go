// Package commission proves a charge point over open protocols: does it hold
// the settings the design asks for, does it obey a limit, does it refuse an
// unknown card, does its meter agree, does it fall back when the link is lost.
//
// It holds a small central system for OCPP 1.6J and 2.0.1, a commissioning run
// written as data (tables/steps.csv), a pretended charge point with faults to
// order, a reader of recorded OCPP logs, a Modbus meter reader and the verdicts
// on control pilot and cable coding.
//
//	what is asked of a point   intent.go, steps.csv, run.go and the step files
//	how it is asked            dialect.go, dialect16.go, dialect201.go
//	how messages travel        frame.go, link.go, gate.go, central.go, station.go
//	what is kept of it         journal.go, secret.go, evidence.go, entries.go
//
// It serves any make. A step meets its rule by a margin, fails, is not
// supported by the point, is not known, or is left to judge on site; none of
// these says that anything is safe. Live work, isolation and proving dead stay
// with a qualified person and the current edition of the standard.
package commission
