package paper

import (
	"time"

	"chargewright/works"
)

// dueDate is the day by which the installation is to be inspected again:
// whole months from the day it was finished and tested.
func dueDate(c *works.Certificate) (time.Time, bool) {
	months, ok := c.InspectAgain.Get()
	from, err := time.Parse(time.DateOnly, c.Completed)
	if !ok || err != nil {
		return time.Time{}, false
	}
	return monthsAfter(from, months), true
}

// monthsAfter adds months; from the 31st it comes to the last day of a
// shorter month, never to a day of the month after.
func monthsAfter(from time.Time, months int) time.Time {
	due := from.AddDate(0, months, 0)
	if due.Day() != from.Day() {
		due = due.AddDate(0, 0, -due.Day())
	}
	return due
}
