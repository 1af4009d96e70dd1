package ledger

// Event is a fault a point reported.
type Event struct {
	Point string `json:"point"`
	At    int64  `json:"at"` // seconds since 1970 UTC
	Code  string `json:"code"`
	File  string `json:"file"`
	Line  int    `json:"line"`
}
