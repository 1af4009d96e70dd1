package demand

// The ten minutes in which a line carried most, by mean square: the picture of
// what the device ahead has to stand.

// spell finds them as a run goes on.
type spell struct {
	recent  []step3  // a ring of one step more than ten minutes
	at      int      // the next to be written, and so the oldest
	squares [3]int64 // mA squared, over the ten minutes that end with this step
	most    int64    // the greatest of them
	line    int      // where that was
	end     int64    // and when, as a step
	growing bool     // it ended with the last step
	kept    []Sample // its currents
}

// step3 is the currents of a step, in mA.
type step3 struct {
	others present
	points milli
}

func newSpell(step int64) spell {
	return spell{recent: make([]step3, max(1, 600/step)+1)}
}

// take counts a stretch of steps in which the points draw the same.
func (s *spell) take(others []present, points *milli, first int64) {
	for i := range others {
		slot := &s.recent[s.at]
		if s.at++; s.at == len(s.recent) {
			s.at = 0
		}
		gone, grew := &s.recent[s.at], false
		for k := range points {
			slot.others[k], slot.points[k] = others[i][k], points[k]
			total, was := slot.others[k]+slot.points[k], gone.others[k]+gone.points[k]
			s.squares[k] += total*total - was*was
			if s.squares[k] > s.most {
				s.most, s.line, s.end = s.squares[k], k, first+int64(i)
				grew = true
			}
		}
		if s.growing && !grew {
			s.keep(s.at)
		}
		s.growing = grew
	}
}

// keep copies the ten minutes that begin at a place in the ring.
func (s *spell) keep(from int) {
	s.kept = s.kept[:0]
	n := len(s.recent)
	for q := range n - 1 {
		r := &s.recent[(from+q)%n]
		s.kept = append(s.kept, Sample{milli(r.others).amperes(), r.points.amperes()})
	}
	if young := int64(n-1) - (s.end + 1); young > 0 { // the run is younger than ten minutes
		s.kept = s.kept[young:]
	}
}

// close returns the currents, and the step at which they begin.
func (s *spell) close() ([]Sample, int64) {
	if s.growing || len(s.kept) == 0 {
		s.keep(s.at + 1)
	}
	return s.kept, s.end + 1 - int64(len(s.kept))
}
