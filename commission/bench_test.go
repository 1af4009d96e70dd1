package commission

import (
	"context"
	"testing"
	"time"
)

// BenchmarkExchange is one question of the central system and its answer, over
// a true socket on loopback.
func BenchmarkExchange(b *testing.B) {
	c := opened(b, CentralOptions{})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		_ = NewPretend(NewClock(wednesday, 1), PretendOptions{Central: c.Address(), Identity: "CP1"}).Run(ctx)
	}()
	s := c.Station("CP1")
	if _, ok := s.until(ctx, 0, 10*time.Second, func(e Event) bool { return e.What == Booted }); !ok {
		b.Fatal("the point did not join")
	}
	for b.Loop() {
		if status, err := s.speaks().set(ctx, s, "HeartbeatInterval", "300"); err != nil || status != "Accepted" {
			b.Fatal(status, err)
		}
	}
}

// BenchmarkPilotTrace reads 6 ms of a control pilot, sampled at 1 MHz.
func BenchmarkPilotTrace(b *testing.B) {
	text := trace(6, -12, 53.33, 1000, 4e-6)
	for b.Loop() {
		if _, err := ReadPilotTrace("trace.csv", text); err != nil {
			b.Fatal(err)
		}
	}
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
