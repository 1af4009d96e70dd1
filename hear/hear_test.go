package hear

import (
	"strings"
	"testing"

	"chargewright/standard"
)

// spoken are synthetic logs, one for each rule; lines of all are invented. The
// facts behind them stand in the OCPP table under the row each rule names.
var spoken = map[string]string{
	"subprotocol":    `2026-11-25T10:00:00Z 101 Switching Protocols without Sec-WebSocket-Protocol, closed`,
	"certificate":    `ERROR x509: certificate has expired or is not yet valid: current time 1970-01-01T00:02:11Z`,
	"password":       `websocket: upgrade refused: HTTP 401 Unauthorized`,
	"not found":      `GET //CP1 -> 404 Not Found`,
	"broken off":     `link closed 1006 (abnormal closure)`,
	"protocol error": `closed 1002`,
	"unreachable":    `dial tcp: lookup central.invalid: no such host`,
	"pending": `→ [2,"1","BootNotification",{"chargePointVendor":"Invented","chargePointModel":"X"}]
← [3,"1",{"status":"Pending","currentTime":"2026-11-25T10:00:00Z","interval":300}]`,
	"hammering": `2026-11-25 10:00:00 [2,"1","BootNotification",{}]
2026-11-25 10:00:00 [3,"1",{"status":"Rejected","currentTime":"2026-11-25T10:00:00Z","interval":600}]
2026-11-25 10:00:05 [2,"2","BootNotification",{}]
2026-11-25 10:00:05 [3,"2",{"status":"Rejected","currentTime":"2026-11-25T10:00:05Z","interval":600}]`,
	"clock": `2026-11-25T10:00:00Z [2,"1","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Available","timestamp":"2026-11-25T08:49:00Z"}]
2026-11-25T10:00:00Z [3,"1",{}]`,
	"token": `[2,"1","Authorize",{"idTag":"ABCDEFGHIJKLMNOPQRSTU"}]
[4,"1","FormationViolation","idTag too long",{}]`,
	"refused card": `[2,"1","Authorize",{"idTag":"04A1"}]
[3,"1",{"idTagInfo":{"status":"Blocked"}}]`,
	"no plug": `[2,"1","Authorize",{"idTag":"04A1"}]
[3,"1",{"idTagInfo":{"status":"Accepted"}}]
[2,"2","StatusNotification",{"connectorId":1,"errorCode":"NoError","status":"Available"}]
[3,"2",{}]`,
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
[3,"1",{"transactionId":7,"idTagInfo":{"status":"Accepted"}}]`,
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
	"no answer":    `[2,"1","Heartbeat",{}]`,
	"stray answer": `[3,"99",{}]`,
	"refusal": `[2,"1","DataTransfer",{"vendorId":"X"}]
[4,"1","NotSupported","",{}]`,
	"unreadable": `2026-11-25T10:00:00Z [2,"1","MeterValues",{"connectorId":1,"meterValue":[{"sampl`,
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
	used := map[string]bool{"line": true}
	for _, rule := range rules {
		used[rule.Sign] = true
		t.Run(rule.ID+": "+rule.Clause, func(t *testing.T) {
			if !rows[rule.Row] {
				t.Errorf("the OCPP table has no row %s", rule.Row)
			}
			log, ok := spoken[rule.ID]
			if !ok {
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
	for sign := range signs {
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

// BenchmarkHear reads a log of 10,000 messages.
func BenchmarkHear(b *testing.B) {
	var log []byte
	for range 5000 {
		log = append(log, `2026-11-25T10:00:00Z [2,"1","MeterValues",{"connectorId":1,"meterValue":[{"timestamp":"2026-11-25T10:00:00Z","sampledValue":[{"value":"15.9","measurand":"Current.Import","phase":"L1"}]}]}]`+"\n"+`[3,"1",{}]`+"\n"...)
	}
	for b.Loop() {
		if _, err := Hear(log); err != nil {
			b.Fatal(err)
		}
	}
}
