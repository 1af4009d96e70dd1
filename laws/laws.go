// Package laws holds the tests of what every change keeps, whatever the job. A
// feature is tried with examples; a law is tried with everything: the example
// jobs, sound and faulty, and jobs drawn at random, changed by machine.
//
// What is known to break a law today stands in testdata, each with the smallest
// job that shows it. The list can only shrink: what breaks a law and is not on
// it fails, and so does what is on it and breaks nothing any more.
package laws
