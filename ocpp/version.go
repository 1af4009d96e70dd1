package ocpp

// Version is a version of the Open Charge Point Protocol.
type Version string

// The versions spoken here.
const (
	V16  Version = "1.6"
	V201 Version = "2.0.1"
	V21  Version = "2.1"
)

// Subprotocol returns the version's name on the web socket.
//
//	source  OCPP-J 1.6 section 3; OCPP 2.0.1 Part 4 section 3
func (v Version) Subprotocol() string { return "ocpp" + string(v) }

// subprotocols are the versions offered, the newer first.
var subprotocols = []string{V21.Subprotocol(), V201.Subprotocol(), V16.Subprotocol()}

// versionOf returns the version a subprotocol names.
func versionOf(subprotocol string) (Version, bool) {
	for _, v := range []Version{V16, V201, V21} {
		if v.Subprotocol() == subprotocol {
			return v, true
		}
	}
	return "", false
}
