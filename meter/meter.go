//go:build !js

// Package meter reads an energy meter over Modbus. A register map, built in or
// the reader's own, says where each value stands; what is read is a reading by
// line. A meter is never written to, and nothing here is judged.
//
// Its parts: a meter, its registers, a reading.
package meter

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/simonvetter/modbus"
)

// Meter is a meter read over Modbus TCP (tcp://) or RTU carried over TCP
// (rtuovertcp://). It is only ever read.
type Meter struct {
	mu     sync.Mutex
	client *modbus.ModbusClient
	unit   uint8
	at     []Register
}

// meterPatience is how long a meter may take over one answer: engineering
// judgement; slow meters behind a gateway need about one second.
const meterPatience = 2 * time.Second

// Open opens a meter by its address, register map (a built-in name or a
// CSV file) and Modbus address.
func Open(url, registers string, unit uint8) (*Meter, error) {
	at, err := RegisterMap(registers)
	if strings.HasSuffix(registers, ".csv") {
		var text []byte
		if text, err = os.ReadFile(registers); err != nil {
			return nil, fmt.Errorf("cannot read the register map: %w", err)
		}
		at, err = ReadRegisterMap(registers, text)
	}
	if err != nil {
		return nil, err
	}
	return Reach(url, at, unit)
}

// Reach opens a meter by its address, registers and Modbus address.
func Reach(url string, at []Register, unit uint8) (*Meter, error) {
	if !strings.HasPrefix(url, "tcp://") && !strings.HasPrefix(url, "rtuovertcp://") {
		return nil, fmt.Errorf("the meter's address is %q: tcp://address:port, or rtuovertcp://address:port, is wanted", url)
	}
	client, err := modbus.NewClient(&modbus.ClientConfiguration{URL: url, Timeout: meterPatience, Logger: log.New(io.Discard, "", 0)})
	if err != nil {
		return nil, fmt.Errorf("the meter's address %q: %w", url, err)
	}
	if err := client.Open(); err != nil {
		return nil, fmt.Errorf("reach the meter at %s: %w", url, err)
	}
	m := &Meter{client: client, unit: unit, at: at}
	return m, client.SetUnitId(unit)
}

// Close lets the meter go.
func (m *Meter) Close() { _ = m.client.Close() }

// Read reads every register of the map.
func (m *Meter) Read(ctx context.Context) (Reading, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := Reading{At: time.Now()}
	for _, r := range m.at {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		words, err := m.words(r)
		if err != nil {
			return out, fmt.Errorf("%s at register %d of meter %d: %w", r.What, r.At, m.unit, plainModbus(err))
		}
		if n, ok := r.decode(words); ok {
			out.put(r, n)
		}
	}
	return out, nil
}

func (m *Meter) words(r Register) ([]uint16, error) {
	kind := modbus.INPUT_REGISTER
	if r.Holding {
		kind = modbus.HOLDING_REGISTER
	}
	return m.client.ReadRegisters(r.At, types[r.Type], kind)
}

// plainModbus says in plain words what a Modbus error means on site.
func plainModbus(err error) error {
	says := ""
	switch {
	case errors.Is(err, modbus.ErrRequestTimedOut):
		says = "no answer: is the Modbus address right, A and B the right way round, the speed the same at both ends?"
	case errors.Is(err, modbus.ErrIllegalDataAddress):
		says = "the meter has no such register: take the map of its own papers, and mind whether they count from 0 or 1"
	case errors.Is(err, modbus.ErrIllegalFunction):
		says = "the meter does not answer this function: change holding to input in the map, or the other way"
	case errors.Is(err, modbus.ErrGWPathUnavailable), errors.Is(err, modbus.ErrGWTargetFailedToRespond):
		says = "the gateway answers, the meter behind it does not"
	default:
		return err
	}
	return fmt.Errorf("%w: %s", err, says)
}

// Scan asks every Modbus address from one to another whether somebody answers
// and returns those that do. A refusal is an answer too.
func (m *Meter) Scan(ctx context.Context, from, to uint8, tell func(unit uint8, text string)) ([]uint8, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	defer func() { _ = m.client.SetUnitId(m.unit) }()
	if from < 1 || to > 247 || to < from { // Modbus over serial line 2.2
		return nil, fmt.Errorf("addresses %d to %d: Modbus has 1 to 247", from, to)
	}
	var found []uint8
	for unit := from; ; unit++ {
		if err := ctx.Err(); err != nil {
			return found, err
		}
		if err := m.client.SetUnitId(unit); err != nil {
			return found, err
		}
		_, err := m.words(m.at[0])
		switch {
		case err == nil:
			found = append(found, unit)
			tell(unit, "answers, and has the first register of the map")
		case errors.Is(err, modbus.ErrIllegalDataAddress), errors.Is(err, modbus.ErrIllegalFunction), errors.Is(err, modbus.ErrIllegalDataValue),
			errors.Is(err, modbus.ErrServerDeviceFailure), errors.Is(err, modbus.ErrServerDeviceBusy):
			found = append(found, unit)
			tell(unit, "answers, but not with this map: "+err.Error())
		}
		if unit == to {
			return found, nil
		}
	}
}
