package job

// Reading a job file.

import (
	"chargewright/sheet"
	"chargewright/standard"
)

// Read reads a job file; name is what it is called in messages. An error is
// Problems, every fault at once, and the Job then holds what could be read all
// the same (nil when nothing could).
func Read(name string, text []byte) (*Job, error) {
	j, _, problems := read(name, text)
	return j, asError(problems)
}

// read returns the job, the tree it was read from, and every fault.
func read(name string, text []byte) (*Job, *node, Problems) {
	f := &faults{file: name}
	clean, refused := guard(text)
	if refused != nil {
		f.add(*refused)
		return nil, nil, f.problems()
	}
	root := grow(clean, f)
	if root == nil {
		return nil, nil, f.problems()
	}
	switch root.kind {
	case missing:
		f.add(Problem{Line: 1, Want: "nothing is written here; a job file starts with job: and what the job is called", Err: sheet.ErrUnfinished})
		return nil, root, f.problems()
	case scalar, list:
		f.add(Problem{Line: root.at.line, Want: "this is no job file; field: value is wanted, starting with job: and what the job is called"})
		return nil, nil, f.problems()
	case broken:
		return nil, nil, f.problems()
	}
	if passed := within(root, "", 0, new(int)); passed != nil {
		f.add(*passed)
		return nil, nil, f.problems()
	}
	return bindAndCheck(root, f), root, f.problems()
}

// bindAndCheck makes a Job of a tree and holds its parts against each other.
func bindAndCheck(root *node, f *faults) *Job {
	b := &binder{faults: f}
	j := b.bind(root)
	j.EditionStated = j.Edition != ""
	if !j.EditionStated {
		j.Edition = standard.DefaultEdition()
	}
	check(j, root, b)
	j.takeOldRuns() // last: what is checked has its place in the tree
	return j
}
