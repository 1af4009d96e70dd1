package hear

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"chargewright/standard"
)

// spoken are synthetic logs, one for each rule; lines of all are invented. The
// facts behind them stand in the OCPP table under the row each rule names.
var spoken = map[string]string{
	"subprotocol":    `2026-11-25T10:00:00Z 101 Switching Protocols without Sec-WebSocket-Protocol, closed`,
	"certificate":    `2026-11-25 10:00:00 tls: handshake failure`,
	"password":       `websocket: upgrade refused: HTTP 401 Unauthorized`,
	"not found":      `GET //CP1 -> 404 Not Found`,
	"broken off":     `link closed 1006 (abnormal closure)`,
	"protocol error": `closed 1002`,
	"unreachable":    `dial tcp 192.0.2.10:9000: connect: connection refused`,
	"pending": `→ [2,"1","BootNotification",{"chargePointVendor":"Invented","chargePointModel":"X"}]
← [3,"1",{"status":"Pending","currentTime":"2026-11-25T10:00:00Z","interval":300}]`,
	"hammering": `2026-11-25 10:00:00 [2,"1","BootNotification",{}]
2026-11-25 10:00:00 [3,"1",{"status":"Rejected","currentTime":"2026-11-25T10:00:00Z","interval":600}]
2026-11-25 10:00:05 [2,"2","BootNotification",{}]
2026-11-25 10:00:05 [3,"2",{"status":"Rejected","currentTime":"2026-11-25T10:00:05Z","interval":600}]`,
	"clock": `2026-11-25T10:00:00Z [2,"1","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Available","timestamp":"2026-11-25T08:49:00Z"}]
2026-11-25T10:00:00Z [3,"1",{}]
2026-11-25T10:01:00Z [2,"2","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Preparing","timestamp":"2026-11-25T08:50:00Z"}]`,
	"token": `[2,"1","Authorize",{"idTag":"ABCDEFGHIJKLMNOPQRSTU"}]
[4,"1","FormationViolation","idTag too long",{}]`,
	"refused card": `[2,"1","Authorize",{"idTag":"04A1"}]
[3,"1",{"idTagInfo":{"status":"Blocked"}}]`,
	"no plug": `[2,"1","Authorize",{"idTag":"04A1"}]
[3,"1",{"idTagInfo":{"status":"Accepted"}}]
[2,"2","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Preparing"}]
[3,"2",{}]
[2,"3","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Available"}]
[3,"3",{}]`,
	"not obeyed": `[2,"a","SetChargingProfile",{"connectorId":1,"csChargingProfiles":{"chargingProfilePurpose":"TxDefaultProfile","chargingSchedule":{"chargingRateUnit":"A","chargingSchedulePeriod":[{"startPeriod":0,"limit":10}]}}}]
[3,"a",{"status":"Accepted"}]
[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"timestamp":"2026-11-25T10:00:10Z","sampledValue":[{"value":"31.8","measurand":"Current.Import","phase":"L1"}]}]}]
[3,"1",{}]
[2,"2","MeterValues",{"connectorId":1,"meterValue":[{"timestamp":"2026-11-25T10:00:20Z","sampledValue":[{"value":"31.9","measurand":"Current.Import","phase":"L1"}]}]}]
[3,"2",{}]
[2,"3","MeterValues",{"connectorId":1,"meterValue":[{"timestamp":"2026-11-25T10:00:30Z","sampledValue":[{"value":"31.7","measurand":"Current.Import","phase":"L1"}]}]}]
[3,"3",{}]`,
	"watts": `[2,"a","SetChargingProfile",{"connectorId":0,"csChargingProfiles":{"chargingProfilePurpose":"TxDefaultProfile","chargingSchedule":{"chargingRateUnit":"W","chargingSchedulePeriod":[{"startPeriod":0,"limit":32}]}}}]
[3,"a",{"status":"Accepted"}]`,
	"thirds": `[2,"a","SetChargingProfile",{"connectorId":0,"csChargingProfiles":{"chargingProfilePurpose":"TxDefaultProfile","chargingSchedule":{"chargingRateUnit":"W","chargingSchedulePeriod":[{"startPeriod":0,"limit":7360}]}}}]
[3,"a",{"status":"Accepted"}]`,
	"below six": `[2,"a","SetChargingProfile",{"connectorId":0,"csChargingProfiles":{"chargingProfilePurpose":"TxDefaultProfile","chargingSchedule":{"chargingRateUnit":"A","chargingSchedulePeriod":[{"startPeriod":0,"limit":5}]}}}]
[3,"a",{"status":"Accepted"}]`,
	"schedule utc": `2026-09-01T12:00:00Z [2,"a","SetChargingProfile",{"connectorId":1,"csChargingProfiles":{"chargingProfilePurpose":"TxDefaultProfile","chargingProfileKind":"Recurring","recurrencyKind":"Daily","chargingSchedule":{"startSchedule":"2026-09-01T22:00:00Z","duration":28800,"chargingRateUnit":"A","chargingSchedulePeriod":[{"startPeriod":0,"limit":32}]}}}]
2026-09-01T12:00:00Z [3,"a",{"status":"Accepted"}]`,
	"no session": `[2,"a","SetChargingProfile",{"connectorId":1,"csChargingProfiles":{"chargingProfilePurpose":"TxProfile","chargingSchedule":{"chargingRateUnit":"A","chargingSchedulePeriod":[{"startPeriod":0,"limit":16}]}}}]
[3,"a",{"status":"Rejected"}]`,
	"wrong outlet": `[2,"a","SetChargingProfile",{"connectorId":1,"csChargingProfiles":{"chargingProfilePurpose":"ChargePointMaxProfile","chargingSchedule":{"chargingRateUnit":"A","chargingSchedulePeriod":[{"startPeriod":0,"limit":16}]}}}]
[3,"a",{"status":"Rejected"}]`,
	"never stopped": `[2,"1","StartTransaction",{"connectorId":1,"idTag":"04A1","meterStart":0,"timestamp":"2026-11-25T10:00:00Z"}]
[3,"1",{"transactionId":7,"idTagInfo":{"status":"Accepted"}}]
[2,"2","StartTransaction",{"connectorId":1,"idTag":"04A2","meterStart":900,"timestamp":"2026-11-25T18:00:00Z"}]`,
	"no number": `[2,"1","StopTransaction",{"transactionId":-1,"meterStop":10,"timestamp":"2026-11-25T10:00:00Z"}]
[3,"1",{}]`,
	"held": `[2,"1","StartTransaction",{"connectorId":1,"idTag":"04A1","meterStart":0,"timestamp":"2026-11-25T10:00:00Z"}]
[3,"1",{"transactionId":7,"idTagInfo":{"status":"Accepted"}}]
[2,"2","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"SuspendedEVSE"}]
[3,"2",{}]
[2,"3","StopTransaction",{"transactionId":7,"meterStop":0,"timestamp":"2026-11-25T11:00:00Z"}]
[3,"3",{}]`,
	"zero meter": `[2,"1","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Charging"}]
[3,"1",{}]
[2,"2","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"0","measurand":"Current.Import","phase":"L1"}]},{"sampledValue":[{"value":"0","measurand":"Current.Import","phase":"L1"}]},{"sampledValue":[{"value":"0","measurand":"Current.Import","phase":"L1"}]}]}]
[3,"2",{}]`,
	"one line": `[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"15.9","measurand":"Current.Import","phase":"L1"},{"value":"0","measurand":"Current.Import","phase":"L2"},{"value":"0","measurand":"Current.Import","phase":"L3"}]}]}]
[3,"1",{}]`,
	"negative": `[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"-3600","measurand":"Power.Active.Import"}]}]}]
[3,"1",{}]`,
	"falls": `[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"7912760"}]},{"sampledValue":[{"value":"7783903"}]}]}]
[3,"1",{}]`,
	"fault": `[2,"1","StatusNotification",{"connectorId":1,"errorCode":"GroundFailure","status":"Faulted"}]
[3,"1",{}]`,
	"no answer":      `[2,"1","Heartbeat",{}]` + "\n" + `[2,"2","Heartbeat",{}]` + "\n" + `[3,"2",{}]` + strings.Repeat("\nother words", 40),
	"stray answer":   strings.Repeat("other words\n", 40) + `[3,"99",{}]`,
	"link full":      `write: no space left on device`,
	"out of service": `[2,"1","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Unavailable"}]`,
	"pending first": `[2,"1","BootNotification",{}]
[3,"1",{"status":"Pending","interval":10}]
[2,"2","BootNotification",{}]
[3,"2",{"status":"Accepted","interval":300}]`,
	"restart wanted": `[2,"1","ChangeConfiguration",{"key":"X","value":"1"}]
[3,"1",{"status":"RebootRequired"}]`,
	"vendor's own": `[2,"1","DataTransfer",{"vendorId":"X"}]
[3,"1",{"status":"UnknownVendorId"}]`,
	"number twice": `[2,"1","StartTransaction",{"connectorId":1,"idTag":"A","meterStart":0}]
[3,"1",{"transactionId":7}]
[2,"2","StartTransaction",{"connectorId":2,"idTag":"B","meterStart":0}]
[3,"2",{"transactionId":7}]`,
	"nothing charged": `[2,"1","StartTransaction",{"connectorId":1,"idTag":"A","meterStart":5}]
[3,"1",{"transactionId":7}]
[2,"2","StopTransaction",{"transactionId":7,"meterStop":5}]`,
	"ended by restart": `[2,"2","StopTransaction",{"transactionId":7,"meterStop":5,"reason":"HardReset"}]`,
	"ended oddly":      `[2,"2","StopTransaction",{"transactionId":7,"meterStop":5,"reason":"Other"}]`,
	"no meter values": `2026-11-25 10:00:00 [2,"1","StartTransaction",{"connectorId":1,"idTag":"A","meterStart":5}]
2026-11-25 10:00:00 [3,"1",{"transactionId":7}]
2026-11-25 11:00:00 [2,"2","StopTransaction",{"transactionId":7,"meterStop":500}]`,
	"register stands": strings.Repeat(`[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"700"},{"value":"31","measurand":"Current.Import"}]}]}]`+"\n", 8),
	"high volts":      `[2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampledValue":[{"value":"259","measurand":"Voltage","phase":"L1"}]}]}]`,
	"monitor":         `[2,"1","NotifyEvent",{"eventData":[{"trigger":"Alerting","actualValue":"95","component":{"name":"Connector"},"variable":{"name":"Temperature"}}]}]`,
	"log not sent":    `[2,"1","DiagnosticsStatusNotification",{"status":"UploadFailed"}]`,
	"ids repeat": `[2,"1","Heartbeat",{}]
[2,"1","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Available"}]`,
	"one side": `[2,"1","Heartbeat",{}]
[2,"2","Heartbeat",{}]`,
	"unreadable": `2026-11-25T10:00:00Z [2,"1","Heartbeat",{]
2026-11-25T10:00:00Z [2,"2","Heartbeat",{}]
2026-11-25T10:00:00Z [3,"2",{}]`,
	"ends in the middle": `2026-11-25T10:00:00Z [2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampl`,
	"refusal": `[2,"1","DataTransfer",{"vendorId":"X"}]
[4,"1","NotSupported","",{}]`,
}

// TestEveryRuleIsHeard has a synthetic log for every rule of the table, and
// holds the row each rule names against the OCPP table.
func TestEveryRuleIsHeard(t *testing.T) {
	rules, err := readHearRules("hear.csv", hearRules)
	if err != nil {
		t.Fatal(err)
	}
	book, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]bool{"": true}
	for _, r := range book.OCPPRows() {
		rows[r.ID] = true
	}
	used := map[string]bool{aLine: true}
	for _, rule := range rules {
		used[rule.Sign] = true
		if rule.Sign != aLine && !noted(t)[rule.Sign] {
			t.Errorf("nothing notes the sign %q", rule.Sign)
		}
		t.Run(rule.ID+": "+rule.Clause, func(t *testing.T) {
			if !rows[rule.Row] {
				t.Errorf("the OCPP table has no row %s", rule.Row)
			}
			log, ok := spoken[rule.ID]
			if !ok {
				for _, k := range append(corpus(t, "faulty.txt"), corpus(t, "healthy.txt")...) {
					if r, err := Hear(k.text); err == nil && slices.ContainsFunc(r.Heard, func(h Heard) bool { return h.Rule == rule.ID }) {
						return
					}
				}
				t.Fatal("no synthetic log")
			}
			r, err := Hear([]byte(log))
			if err != nil {
				t.Fatal(err)
			}
			var names []string
			for _, h := range r.Heard {
				names = append(names, h.Rule)
				if h.Rule == rule.ID {
					return
				}
			}
			t.Errorf("heard %v, want %s", names, rule.ID)
		})
	}
	for sign := range noted(t) {
		if !used[sign] {
			t.Errorf("no rule uses the sign %q", sign)
		}
	}
}

// TestClockChange: case D23 of the trade: 23:00 in London is 22:00 UTC in
// summer; not sent again it begins at 22:00 on the wall in winter.
func TestClockChange(t *testing.T) {
	r, err := Hear([]byte(spoken["schedule utc"]))
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range r.Heard {
		if h.Rule == "schedule utc" {
			for _, want := range []string{"22:00 UTC", "23:00 on the wall", "2026-10-25", "begins at 22:00 on the wall"} {
				if !strings.Contains(h.Detail, want) {
					t.Errorf("Detail = %q, want %q in it", h.Detail, want)
				}
			}
			return
		}
	}
	t.Error("the schedule across the clock change was not heard")
}

// noted are the signs that the program notes, as its own text has them.
func noted(t *testing.T) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for _, file := range []string{"tale.go", "taleprofile.go", "offsets.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range regexp.MustCompile(`t\.(?:note\(|found\[)"([^"]+)"`).FindAllStringSubmatch(string(text), -1) {
			out[found[1]] = true
		}
	}
	return out
}

func FuzzHear(f *testing.F) {
	for _, log := range spoken {
		f.Add([]byte(log))
	}
	f.Fuzz(func(t *testing.T, log []byte) {
		r, err := Hear(log)
		if err != nil {
			t.Fatal(err) // the rules are ours: any log can be read
		}
		for _, h := range r.Heard {
			if h.Happened == "" || h.Try == "" || h.Line < 1 {
				t.Fatalf("heard nothing sayable: %+v", h)
			}
		}
	})
}

// long is a log of meter values without end: what a day of a busy gateway is.
type long struct {
	left, at int
	buffer   []byte
}

func (l *long) Read(p []byte) (int, error) {
	if l.left <= 0 && len(l.buffer) == 0 {
		return 0, io.EOF
	}
	for len(l.buffer) < len(p) && l.left > 0 {
		l.at++
		when := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC).Add(time.Duration(l.at) * 5 * time.Second).Format(time.RFC3339)
		n := len(l.buffer)
		l.buffer = fmt.Appendf(l.buffer, `%s recv [2,"%d","MeterValues",{"connectorId":%d,"transactionId":%d,"meterValue":[{"timestamp":"%s","sampledValue":[{"value":"%d","measurand":"Energy.Active.Import.Register","unit":"Wh"},{"value":"15.9","measurand":"Current.Import","phase":"L1","unit":"A"},{"value":"231.2","measurand":"Voltage","phase":"L1-N","unit":"V"},{"value":"3676","measurand":"Power.Active.Import","unit":"W"}]}]}]`+"\n"+`%s send [3,"%d",{}]`+"\n"+`%s INFO the outlet goes on as before`+"\n",
			when, l.at, l.at%4+1, l.at%4+1, when, 1000+l.at, when, l.at, when)
		l.left -= len(l.buffer) - n
	}
	n := copy(p, l.buffer)
	l.buffer = l.buffer[:copy(l.buffer, l.buffer[n:])]
	return n, nil
}

// TestALongLogIsHeardWhole hears a log of twice the length that was once the
// bound: every line counts, and what is remembered does not grow.
func TestALongLogIsHeardWhole(t *testing.T) {
	size := 128 << 20
	if testing.Short() {
		size = 16 << 20
	}
	held := func(size int) (Report, uint64) {
		log := &long{left: size}
		r, err := Listen(log)
		if err != nil {
			t.Fatal(err)
		}
		if r.Lines != 3*log.at || r.Messages != 2*log.at {
			t.Errorf("%d lines and %d messages, want %d and %d", r.Lines, r.Messages, 3*log.at, 2*log.at)
		}
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return r, m.HeapAlloc
	}
	_, small := held(1 << 20)
	r, large := held(size)
	if r.Faults() != 0 || len(r.Bounds) != 0 {
		t.Errorf("of a sound log it says %+v, %v", r.Heard, r.Bounds)
	}
	const room = 2 << 20
	if large > small+room {
		t.Errorf("%d bytes are held after a log of %d MB, %d after one of 1 MB", large, size>>20, small)
	}
}

// TestBoundsAreNamed: what was not read is told.
func TestBoundsAreNamed(t *testing.T) {
	r, err := Hear([]byte(strings.Repeat("x", longestLine+10) + "\n" + spoken["fault"]))
	if err != nil || len(r.Bounds) != 1 || !strings.Contains(r.Bounds[0], "1 lines that are longer") || r.Messages != 2 || r.Lines != 3 {
		t.Errorf("%+v, %v", r, err)
	}
}

// BenchmarkHear reads a log of 10,000 messages.
func BenchmarkHear(b *testing.B) {
	var log []byte
	for range 5000 {
		log = append(log, `2026-11-25T10:00:00Z [2,"1","MeterValues",{"connectorId":1,"meterValue":[{"timestamp":"2026-11-25T10:00:00Z","sampledValue":[{"value":"15.9","measurand":"Current.Import","phase":"L1"}]}]}]`+"\n"+`[3,"1",{}]`+"\n"...)
	}
	b.SetBytes(int64(len(log)))
	for b.Loop() {
		if _, err := Hear(log); err != nil {
			b.Fatal(err)
		}
	}
}
