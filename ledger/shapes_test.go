package ledger

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
)

// TestShapesOfRecords reads two sessions, of 12.5 and 7.25 kWh on 2 and 3
// November 2026, in the shapes that exports have. Each must come out the same: what
// cannot be known is asked, never guessed.
func TestShapesOfRecords(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		want       string // sessions, energy, sound; or what is asked
	}{
		{"plain", "start,stop,energy kWh\n2026-11-02 08:00,2026-11-02 10:00,12.5\n2026-11-03 14:05,2026-11-03 16:00,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"title lines and sep=", "sep=;\nCharging report November\nSite: yard\n\nStart;Stop;Energy (kWh)\n2026-11-02 08:00;2026-11-02 10:00;12,5\n2026-11-03 14:05;2026-11-03 16:00;7,25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"AM and PM, day first", "Start Time,End Time,Energy [kWh]\n02/11/2026 08:00 AM,02/11/2026 10:00 AM,12.5\n03/11/2026 2:05 PM,03/11/2026 4:00 PM,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"date and time apart", "Start date,Start time,End date,End time,Energy kWh\n02/11/2026,08:00,02/11/2026,10:00,12.5\n03/11/2026,14:05,03/11/2026,16:00,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"seconds since 1970", "start,stop,energy kWh\n1793606400,1793613600,12.5\n1793714700,1793721600,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"thousandths since 1970", "start,stop,energy kWh\n1793606400000,1793613600000,12.5\n1793714700000,1793721600000,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"unit in the cell", "start,stop,energy\n2026-11-02 08:00,2026-11-02 10:00,12.5 kWh\n2026-11-03 14:05,2026-11-03 16:00,7250 Wh\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"names in any case", "STARTED_AT,ENDED_AT,ENERGY_KWH\n2026-11-02T08:00:00Z,2026-11-02T10:00:00Z,12.5\n2026-11-03T14:05:00Z,2026-11-03T16:00:00Z,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"words run together", "StartTime,StopTime,EnergyKWh\n2026-11-02T08:00:00Z,2026-11-02T10:00:00Z,12.5\n2026-11-03T14:05:00Z,2026-11-03T16:00:00Z,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"watt-hours, whole", "start,stop,energy Wh\n2026-11-02 08:00,2026-11-02 10:00,12500\n2026-11-03 14:05,2026-11-03 16:00,7250\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"three digits after a lone mark in watt-hours", "start,stop,energy Wh\n2026-11-02 08:00,2026-11-02 10:00,12.500\n2026-11-03 14:05,2026-11-03 16:00,7.250\n", "0 of 0 kWh, 0 with a stop, 2 faulty"},
		{"registers", "start,stop,meter start Wh,meter stop Wh\n2026-11-02 08:00,2026-11-02 10:00,100000,112500\n2026-11-03 14:05,2026-11-03 16:00,112500,119750\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a refund", "start,stop,energy kWh\n2026-11-02 08:00,2026-11-02 10:00,12.5\n2026-11-02 08:00,2026-11-02 10:00,-12.5\n2026-11-03 14:05,2026-11-03 16:00,7.25\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a refund of nothing here", "start,stop,energy kWh\n2026-11-02 08:00,2026-11-02 10:00,12.5\n2026-11-02 18:00,2026-11-02 19:00,-3\n2026-11-03 14:05,2026-11-03 16:00,7.25\n", "2 of 19.75 kWh, 2 with a stop, 1 doubtful"},
		{"a refund in words", "session,type,start,stop,energy kWh,amount £\n1,charge,2026-11-02 08:00,2026-11-02 10:00,12.5,3.13\n1,Refund,2026-11-05 09:00,,0,3.13\n2,charge,2026-11-03 14:05,2026-11-03 16:00,7.25,1.81\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"roaming elsewhere", "start,stop,energy kWh,roaming\n2026-11-02 08:00,2026-11-02 10:00,12.5,no\n2026-11-02 18:00,2026-11-02 19:00,30,yes\n2026-11-03 14:05,2026-11-03 16:00,7.25,no\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"two outlets of one point at once", "start,stop,energy kWh,charge point,connector\n2026-11-02 08:00,2026-11-03 15:00,12.5,CP1,1\n2026-11-03 14:05,2026-11-03 16:00,7.25,CP1,2\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"two outlets that nothing tells apart", "start,stop,energy kWh,charge point\n2026-11-02 08:00,2026-11-03 15:00,12.5,CP1\n2026-11-03 14:05,2026-11-03 16:00,7.25,CP1\n", "0 of 0 kWh, 0 with a stop, 2 doubtful"},
		{"two outlets that the person tells of", "start,stop,energy kWh,charge point\n2026-11-02 08:00,2026-11-03 15:00,12.5,TWIN\n2026-11-03 14:05,2026-11-03 16:00,7.25,TWIN\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"three at once on two outlets", "start,stop,energy kWh,charge point\n2026-11-02 08:00,2026-11-02 10:00,12.5,TWIN\n2026-11-02 08:30,2026-11-02 10:00,3,TWIN\n2026-11-02 08:45,2026-11-02 10:00,3,TWIN\n2026-11-03 14:05,2026-11-03 16:00,7.25,TWIN\n", "2 of 10.25 kWh, 2 with a stop, 2 doubtful"},
		{"a stop that was lost, closed by the next", "start,stop,meter start kWh,meter stop kWh,charge point\n2026-11-02 08:00,,100,,CP1\n2026-11-03 14:05,2026-11-03 16:00,112.5,119.75,CP1\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a stop that was lost, and nothing after it", "start,stop,meter start kWh,meter stop kWh,charge point\n2026-11-02 08:00,2026-11-02 10:00,100,112.5,CP1\n2026-11-03 14:05,,112.5,,CP1\n", "1 of 12.5 kWh, 1 with a stop, 1 doubtful"},
		{"charging below the least current", "start,stop,energy kWh,charging min\n2026-11-02 08:00,2026-11-02 10:00,12.5,115\n2026-11-03 06:00,2026-11-03 12:00,3.2,300\n2026-11-03 14:05,2026-11-03 16:00,7.25,110\n", "2 of 19.75 kWh, 2 with a stop, 1 doubtful"},
		{"a workbook", book(t, "sessions.xlsx"), "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a workbook that counts from 1904, times apart", book(t, "apart-1904.xlsx"), "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a workbook of another library", book(t, "other.xlsx"), "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"an open document", book(t, "other.ods"), "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
		{"a total below", "start,stop,energy kWh\n2026-11-02 08:00,2026-11-02 10:00,12.5\n2026-11-03 14:05,2026-11-03 16:00,7.25\nTotal,,19.75\n", "2 of 19.75 kWh, 2 with a stop, 0 doubtful"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			l := newLedger(Settings{Zone: time.UTC, Made: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), Outlets: map[string]int{"TWIN": 2}})
			got := ""
			if err := l.ReadTable("record.csv", strings.NewReader(tt.text)); err != nil {
				got = "asked: " + err.Error()
			} else {
				l.Settle()
				n, stops, doubtful, sum := 0, 0, 0, Energy(0)
				l.Each(func(s *session) {
					switch s.State {
					case Sound:
						n, stops, sum = n+1, stops+1, sum+s.Energy
					case StopUnsaid:
						n, sum = n+1, sum+s.Energy
					case Doubtful:
						doubtful++
					}
				})
				got = fmt.Sprintf("%d of %s kWh, %d with a stop, %d doubtful", n, sum.Exact(), stops, doubtful)
				if faulty := l.Tallies[0].Faulty; faulty > 0 {
					got = fmt.Sprintf("%d of %s kWh, %d with a stop, %d faulty", n, sum.Exact(), stops, faulty)
				}
			}
			if tally := l.Tallies[0]; !tally.Complete() {
				t.Errorf("%+v: a line went nowhere", tally)
			}
			if got != tt.want {
				t.Errorf("got %s, want %s; notes %+v", got, tt.want, l.Notes)
			}
		})
	}
}

// book is a workbook that an independent library wrote.
func book(t *testing.T, name string) string {
	text, err := os.ReadFile("../sheet/testdata/books/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestTheBeginIsNoEnd: a session whose messages carry the register of its begin
// alone has no energy that is known; nought would be a sound session for nothing.
func TestTheBeginIsNoEnd(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		counted    int
		want       Energy
	}{
		{"begin alone, 2.0.1", `[2,"1","TransactionEvent",{"eventType":"Started","timestamp":"2026-11-03T00:00:00Z","seqNo":0,"transactionInfo":{"transactionId":"t1"},"evse":{"id":1},"meterValue":[{"timestamp":"2026-11-03T00:00:00Z","sampledValue":[{"value":500,"context":"Transaction.Begin"}]}]}]
[2,"2","TransactionEvent",{"eventType":"Ended","timestamp":"2026-11-03T02:00:00Z","seqNo":1,"transactionInfo":{"transactionId":"t1"}}]
`, 0, 0},
		{"begin repeated at the stop, 1.6", `[2,"1","StartTransaction",{"connectorId":1,"idTag":"A","timestamp":"2026-11-03T00:00:00Z"}]
[3,"1",{"transactionId":7}]
[2,"2","StopTransaction",{"transactionId":7,"timestamp":"2026-11-03T02:00:00Z","transactionData":[{"sampledValue":[{"value":"500","context":"Transaction.Begin"}]},{"timestamp":"2026-11-03T02:00:00Z","sampledValue":[{"value":"12500","context":"Transaction.End"}]}]}]
`, 1, 12 * KWh},
	} {
		l := newLedger(Settings{Zone: time.UTC, Made: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err := l.ReadMessages("record.jsonl", strings.NewReader(tt.text)); err != nil {
			t.Fatal(err)
		}
		l.Settle()
		n, sum := 0, Energy(0)
		l.counted(func(s *session) { n, sum = n+1, sum+s.Energy })
		if n != tt.counted || sum != tt.want {
			t.Errorf("%s: %d counted, %s; want %d, %s; notes %v", tt.name, n, sum, tt.counted, tt.want, l.Notes)
		}
	}
}
