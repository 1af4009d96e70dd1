package drawing

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/works"
)

// StreetToVehicle draws the job as one vertical line from the street to the
// vehicle, every element with what is known of it, what is missing, and its
// verdicts. A job of one point is one scene. Several points share the first
// scene, down to the board where their ways part; a scene follows for each
// kind of point, points alike in all but name, way, phase and length being
// drawn once, with all their names.
func StreetToVehicle(m *model.Model, fs []finding.Finding) []Scene {
	l := &line{m}
	kinds := l.kinds()
	shared := sharedPath(kinds)
	job := m.Job.Name
	var lists []titled
	switch up := l.upstream(shared); len(kinds) {
	case 0:
		lists = []titled{{"line", job + ": from the street to the board", up}}
	case 1:
		lists = []titled{{"line", job + ": from the street to the vehicle", append(up, l.downstream(kinds[0], len(shared))...)}}
	default:
		lists = []titled{{"line", job + ": from the street to where the points part", up}}
		for _, k := range kinds {
			on := append([]*station{l.comesFrom(shared)}, l.downstream(k, len(shared))...)
			lists = append(lists, titled{"line-" + attribute(k.points[0].Record.Name), job + ": on to " + k.names(), on})
		}
	}
	share(fs, m.Job.Assumed(), lists)
	scenes := make([]Scene, len(lists))
	for i, list := range lists {
		scenes[i] = column(columnWidth, list.name, list.title, list.stations)
	}
	return scenes
}

// titled is the stations of one scene.
type titled struct {
	name, title string
	stations    []*station
}

// line is a job on its way to becoming stations.
type line struct{ m *model.Model }

// share hands each finding to the one station it is about: the one that stands
// for the innermost part of the record it lies in; else the first, for the whole
// job.
func share(fs []finding.Finding, assumed []job.Assumption, lists []titled) {
	var parts []string
	var stations []*station
	for _, list := range lists {
		for _, s := range list.stations {
			for _, path := range s.of {
				parts, stations = append(parts, path), append(stations, s)
			}
		}
	}
	for _, f := range fs {
		owner := lists[0].stations[0]
		if i := works.Innermost(f.Path, parts); i >= 0 {
			owner = stations[i]
		}
		owner.findings = append(owner.findings, f)
	}
	for _, a := range assumed {
		if i := works.Innermost(a.Path, parts); i >= 0 {
			stations[i].assumed++
		}
	}
}

// kind is points that are drawn as one.
type kind struct {
	points []*model.Point
	paths  [][]*model.Circuit // from the origin to each point; nil where no circuit feeds it
}

// names lists the points, a run of numbered ones in short.
func (k *kind) names() string {
	names := make([]string, len(k.points))
	for i, p := range k.points {
		names[i] = p.Record.Name
	}
	return Names(names)
}

// kinds gathers points that read the same from the board onwards.
func (l *line) kinds() []*kind {
	var kinds []*kind
	seen := map[string]*kind{}
	for _, p := range l.m.Points {
		var path []*model.Circuit
		if p.Circuit != nil {
			path = p.Circuit.Path()
		}
		one := &kind{[]*model.Point{p}, [][]*model.Circuit{path}}
		sign := l.signature(one)
		if k := seen[sign]; k != nil {
			k.points, k.paths = append(k.points, p), append(k.paths, path)
			continue
		}
		seen[sign] = one
		kinds = append(kinds, one)
	}
	return kinds
}

// signature is what must be equal for points to be drawn as one: the circuits
// before the last, and all words of the last circuit and the point but names,
// ways, phases and lengths.
func (l *line) signature(k *kind) string {
	var b strings.Builder
	path := k.paths[0]
	if path == nil {
		fmt.Fprintf(&b, "no circuit %p", k.points[0])
		return b.String()
	}
	for _, c := range path[:len(path)-1] {
		fmt.Fprintln(&b, c.Record.Name)
	}
	last := path[len(path)-1]
	fmt.Fprintln(&b, last.Record.From, last.Record.Existing, last.PhaseCount(), len(last.Record.Legs))
	fmt.Fprintln(&b, deviceWords(last), cableWords(&last.Record.Cable))
	for _, leg := range last.Legs {
		fmt.Fprintln(&b, legConditions(leg), cableWords(leg.Cable))
	}
	s := l.pointStation(k)
	fmt.Fprintln(&b, s.known, s.missing, s.lane)
	return b.String()
}

// sharedPath is the circuits from the origin that every point hangs on, final
// circuits left out.
func sharedPath(kinds []*kind) []*model.Circuit {
	var shared []*model.Circuit
	first := true
	for _, k := range kinds {
		for _, path := range k.paths {
			if path == nil {
				continue
			}
			path = path[:len(path)-1]
			if first {
				shared, first = path, false
			}
			n := 0
			for n < len(shared) && n < len(path) && shared[n] == path[n] {
				n++
			}
			shared = shared[:n]
		}
	}
	return shared
}

// comesFrom opens a scene that goes on from the shared one.
func (l *line) comesFrom(shared []*model.Circuit) *station {
	s := &station{id: "from", title: "From the main board", symbol: symbol{height: 3, shapes: []Shape{
		Line{XY{0, 1}, XY{0, 3}, firm}, Circle{Centre: XY{0, 1}, Radius: 0.9, Fill: Black}}}, lane: lanePE}
	if n := len(shared); n > 0 {
		s.title = "From " + shared[n-1].Board.Record.Name
	}
	if l.lane() == laneUnknown {
		s.lane = laneUnknown
	}
	return s
}

// upstream is the stations from the street to the last shared board.
func (l *line) upstream(shared []*model.Circuit) []*station {
	out := l.origin()
	for _, c := range shared {
		out = append(out, l.circuitStations(&kind{paths: [][]*model.Circuit{{c}}})...)
		out = append(out, l.boardStations(c.Board)...)
	}
	return out
}

// downstream is the stations of a kind of point, from where the points part.
func (l *line) downstream(k *kind, skip int) []*station {
	var out []*station
	path := k.paths[0]
	if path == nil {
		out = append(out, &station{id: "circuit-of-" + k.points[0].Record.Name, title: "Circuit of " + k.points[0].Record.Name,
			symbol: unknownSymbol(), lane: laneUnknown, missing: []string{"which circuit feeds it"}})
		return append(out, l.end(k)...)
	}
	for _, c := range path[skip : len(path)-1] {
		out = append(out, l.circuitStations(&kind{paths: [][]*model.Circuit{{c}}})...)
		out = append(out, l.boardStations(c.Board)...)
	}
	finals := &kind{points: k.points}
	for _, p := range k.paths {
		finals.paths = append(finals.paths, p[len(p)-1:])
	}
	out = append(out, l.circuitStations(finals)...)
	return append(out, l.end(k)...)
}
