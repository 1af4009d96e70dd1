package job

// Entry is one fact put into a job: never changed, only followed by another.
type Entry struct {
	ID         string // the same for the same entry, wherever it is read
	Path       string // "circuits/van point/legs/yard wall/length"
	Value      string // as written, unit included: "25 m"; empty when no longer known
	Who        string
	When       string // RFC 3339, or as the file has it
	Instrument string
	Follows    string // IDs of the entries it takes the place of, space between
}
