package ledger

import (
	"compress/gzip"
	"os"
	"strings"
	"testing"
)

// Messages in the forms of OCPP 1.6 and 2.0.1 (from memory); the sessions are
// invented.
const messages16 = `{"at":"2026-11-02T08:00:00Z","point":"CP1","from":"link","remark":"joined"}
{"at":"2026-11-02T08:00:00Z","point":"CP1","from":"point","raw":"[2,\"1\",\"StartTransaction\",{\"connectorId\":1,\"idTag\":\"VAN-1\",\"meterStart\":1000000,\"timestamp\":\"2026-11-02T08:00:00Z\"}]"}
{"at":"2026-11-02T08:00:01Z","point":"CP1","from":"central","raw":"[3,\"1\",{\"transactionId\":7,\"idTagInfo\":{\"status\":\"Accepted\"}}]"}
{"at":"2026-11-02T08:30:00Z","point":"CP1","from":"point","raw":"[2,\"2\",\"MeterValues\",{\"connectorId\":1,\"transactionId\":7,\"meterValue\":[{\"timestamp\":\"2026-11-02T08:30:00Z\",\"sampledValue\":[{\"value\":\"1003.6\",\"unit\":\"kWh\",\"measurand\":\"Energy.Active.Import.Register\"},{\"value\":\"31.5\",\"measurand\":\"Current.Import\",\"unit\":\"A\"}]}]}]"}
{"at":"2026-11-02T08:30:00Z","point":"CP1","from":"point","raw":"[2,\"3\",\"StatusNotification\",{\"connectorId\":1,\"status\":\"SuspendedEVSE\",\"errorCode\":\"NoError\",\"timestamp\":\"2026-11-02T08:30:00Z\"}]"}
{"at":"2026-11-02T08:50:00Z","point":"CP1","from":"point","raw":"[2,\"4\",\"StatusNotification\",{\"connectorId\":1,\"status\":\"Charging\",\"errorCode\":\"NoError\",\"timestamp\":\"2026-11-02T08:50:00Z\"}]"}
{"at":"2026-11-02T09:00:00Z","point":"CP1","from":"point","raw":"[2,\"5\",\"StopTransaction\",{\"transactionId\":7,\"meterStop\":1004800,\"timestamp\":\"2026-11-02T09:00:00Z\",\"reason\":\"PowerLoss\"}]"}
{"at":"2026-11-02T09:00:00Z","point":"CP1","from":"point","raw":"[2,\"6\",\"StatusNotification\",{\"connectorId\":1,\"status\":\"Faulted\",\"errorCode\":\"GroundFailure\",\"timestamp\":\"2026-11-02T09:00:00Z\"}]"}
{"at":"2026-11-02T10:00:00Z","point":"CP1","from":"point","raw":"[2,\"7\",\"StartTransaction\",{\"connectorId\":1,\"idTag\":\"VAN-1\",\"meterStart\":1004800,\"timestamp\":\"2026-11-02T10:00:00Z\"}]"}
{"at":"2026-11-02T10:05:00Z","point":"CP1","from":"point","raw":"[2,\"8\",\"StartTransaction\",{\"connectorId\":1,\"idTag\":\"VAN-1\",\"meterStart\":1004800,\"timestamp\":\"2026-11-02T10:00:00Z\"}]"}
{"at":"2026-11-02T11:00:00Z","point":"CP1","from":"point","raw":"[2,\"9\",\"StopTransaction\",{\"transactionId\":99,\"meterStop\":1009800,\"timestamp\":\"2026-11-02T11:00:00Z\"}]"}
not a message
[2,"10","Heartbeat",{}]
`

const messages201 = `[2,"1","TransactionEvent",{"eventType":"Started","timestamp":"2026-11-03T00:00:00Z","triggerReason":"CablePluggedIn","seqNo":0,"transactionInfo":{"transactionId":"t1"},"evse":{"id":2},"idToken":{"idToken":"CAR-1","type":"ISO14443"},"meterValue":[{"timestamp":"2026-11-03T00:00:00Z","sampledValue":[{"value":500,"context":"Transaction.Begin"}]}]}]
[2,"2","TransactionEvent",{"eventType":"Updated","timestamp":"2026-11-03T00:30:00Z","triggerReason":"ChargingStateChanged","seqNo":1,"transactionInfo":{"transactionId":"t1","chargingState":"SuspendedEVSE"}}]
[2,"3","TransactionEvent",{"eventType":"Updated","timestamp":"2026-11-03T01:00:00Z","triggerReason":"ChargingStateChanged","seqNo":2,"transactionInfo":{"transactionId":"t1","chargingState":"Charging"},"meterValue":[{"timestamp":"2026-11-03T01:00:00Z","sampledValue":[{"value":2.5,"unitOfMeasure":{"unit":"kWh"}}]}]}]
[2,"4","TransactionEvent",{"eventType":"Ended","timestamp":"2026-11-03T02:00:00Z","triggerReason":"EVDeparted","seqNo":3,"transactionInfo":{"transactionId":"t1","stoppedReason":"EVDisconnected"},"meterValue":[{"timestamp":"2026-11-03T02:00:00Z","sampledValue":[{"value":7.5,"unitOfMeasure":{"unit":"Wh","multiplier":3}}]}]}]
[2,"5","TransactionEvent",{"eventType":"Ended","timestamp":"2026-11-03T02:00:05Z","triggerReason":"EVDeparted","seqNo":3,"transactionInfo":{"transactionId":"t1"}}]
`

func readMessages(t *testing.T, text string) *Ledger {
	t.Helper()
	l := newLedger(Settings{Zone: zone(t, "Europe/London"), Point: "A", Cards: map[string]holder{"VAN-1": {"D. Driver", "van", "deliveries"}}})
	if err := l.ReadMessages("messages.jsonl", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	l.Settle()
	return l
}

func TestMessagesOf16(t *testing.T) {
	l := readMessages(t, messages16)
	tally := l.Tallies[0]
	if tally.Counted != 1 || tally.EnergyCounted != 4_800_000 || tally.Doubted != 2 || tally.Faulty != 1 || tally.Other != 2 || !tally.Complete() {
		t.Errorf("%+v; want 1 session of 4.8 kWh, 2 doubtful (never stopped, never started), 1 line that is no message, 2 others", tally)
	}
	s := l.at(0)
	if l.Name(s.Person) != "D. Driver" || l.Name(s.Vehicle) != "van" || l.Name(s.Reason) != "PowerLoss" || s.Limited != 1200 || s.Length() != 3600 {
		t.Errorf("person %q, vehicle %q, reason %q, held back %d s of %d", l.Name(s.Person), l.Name(s.Vehicle), l.Name(s.Reason), s.Limited, s.Length())
	}
	if len(l.Events) != 1 || l.Events[0].Code != "GroundFailure" || l.Events[0].Point != "CP1" {
		t.Errorf("faults reported: %+v", l.Events)
	}
	// 3.6 kWh before 08:30 and 1.2 after, by the readings, not 2.4 and 2.4.
	st, err := l.Statement(wanted{By: []Key{ByPerson}, Tariff: tariff(t, "what,band,from,to,clock,value,unit\nenergy,early,00:00,08:30,UTC,10,p/kWh\nenergy,late,08:30,24:00,UTC,20,p/kWh\n")})
	if err != nil {
		t.Fatal(err)
	}
	if st.Total.Cost != 36*Penny+24*Penny || st.Total.Least != st.Total.Most {
		t.Errorf("cost %s, from %s to %s; want £0.60 exactly", st.Total.Cost, st.Total.Least, st.Total.Most)
	}
	if !strings.Contains(noteAt(l, 10, SaidTwice), "line 9") {
		t.Errorf("the start that was sent again is not noted: %v", l.Notes)
	}
}

func TestMessagesOf201(t *testing.T) {
	l := readMessages(t, messages201)
	tally := l.Tallies[0]
	if tally.Counted != 1 || tally.EnergyCounted != 7_000_000 || tally.Used != 5 || !tally.Complete() {
		t.Errorf("%+v; want one session of 7 kWh", tally)
	}
	if s := l.at(0); l.Name(s.Point) != "A/2" || l.Name(s.Card) != "CAR-1" || s.Limited != 1800 || l.Name(s.Reason) != "EVDisconnected" {
		t.Errorf("point %q, card %q, held back %d s, reason %q", l.Name(s.Point), l.Name(s.Card), s.Limited, l.Name(s.Reason))
	}
}

// TestJournals: the ledger reads what the commissioning bench keeps, in either
// version: two sessions, one of them without energy, every line accounted for.
func TestJournals(t *testing.T) {
	for _, version := range []string{"1.6", "2.0.1"} {
		f, err := os.Open("testdata/journal-" + version + ".jsonl.gz")
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		text, err := gzip.NewReader(f)
		if err != nil {
			t.Fatal(err)
		}
		l := newLedger(Settings{Zone: zone(t, "Europe/London")})
		if err := l.ReadMessages("journal.jsonl", text); err != nil {
			t.Fatal(err)
		}
		l.Settle()
		tally := l.Tallies[0]
		if !tally.Complete() || tally.Faulty != 0 || tally.Counted != 2 || tally.Doubted != 0 || tally.EnergyCounted < KWh/10 || tally.EnergyCounted > KWh/5 {
			t.Errorf("%s: %s", version, tally)
		}
		if n := len(l.Events); n == 0 || l.Events[0].Code != linkBroken {
			t.Errorf("%s: %d faults, want that the link broke off, as the bench saw to", version, n)
		}
		if s := l.at(0); l.Name(s.Point) != "CP1" || l.Name(s.Card) == "" || s.saidCount < 3 {
			t.Errorf("%s: point %q, card %q, %d readings", version, l.Name(s.Point), l.Name(s.Card), s.saidCount)
		}
	}
}
