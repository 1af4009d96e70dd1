// Package commission proves a charge point over open protocols: does it hold
// the settings the design asks for, does it obey a limit, does it refuse an
// unknown card, does its meter agree, does it fall back when the link is lost.
//
// Its parts: what the design asks of a point; a run written as data
// (tables/steps.csv) and its evidence; the verdicts on control pilot, cable
// coding and clamps. Packages ocpp, meter and pilot bring what was seen.
package commission
