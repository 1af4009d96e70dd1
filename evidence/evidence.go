// Package evidence holds values from outside the project, each with the place
// it is printed at, and the test that compares ours with them. A value that
// came out of our own program is none.
//
// One row of a table in testdata is one value. docs/evidence.md is made from
// them, and a test fails when it is not what they say today.
package evidence
