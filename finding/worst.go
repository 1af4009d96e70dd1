package finding

// Worst returns the verdict among fs that a reader must see first, and whether
// anything was checked at all.
func Worst(fs []Finding) (Verdict, bool) {
	if len(fs) == 0 {
		return NotKnown, false
	}
	worst := fs[0].Verdict
	for _, f := range fs[1:] {
		if urgency[f.Verdict] < urgency[worst] {
			worst = f.Verdict
		}
	}
	return worst, true
}
