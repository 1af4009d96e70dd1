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
	"net/url"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/simonvetter/modbus"
)

// Meter is a meter read over Modbus TCP (tcp://), RTU carried over TCP
// (rtuovertcp://) or RTU on a serial line (rtu://). It is only ever read.
type Meter struct {
	mu     sync.Mutex
	client *modbus.ModbusClient
	unit   uint8
	at     []Register
	last   Reading
}

// meterPatience is how long a meter may take over one answer: engineering
// judgement; slow meters behind a gateway need about one second.
const meterPatience = 2 * time.Second

// Open opens a meter by its address, register map (a built-in name or a
// CSV file) and Modbus address.
func Open(address, registers string, unit uint8) (*Meter, error) {
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
	return Reach(address, at, unit)
}

// Reach opens a meter by its address, registers and Modbus address.
func Reach(address string, at []Register, unit uint8) (*Meter, error) {
	how, err := reached(address)
	if err != nil {
		return nil, err
	}
	client, err := modbus.NewClient(how)
	if err != nil {
		return nil, fmt.Errorf("the meter's address %q: %w", where(address), err)
	}
	if err := client.Open(); err != nil {
		return nil, fmt.Errorf("reach the meter at %s: %w", where(address), err)
	}
	m := &Meter{client: client, unit: unit, at: at}
	return m, client.SetUnitId(unit)
}

// Close lets the meter go.
func (m *Meter) Close() { _ = m.client.Close() }

// where is an address as it may be said and kept: what stands before its host or
// after it may be a password, and no meter asks for one.
func where(address string) string {
	address = address[:strings.IndexAny(address+"?", "?#")]
	scheme, host, named := strings.Cut(address, "://")
	if !named {
		scheme, host = "", address
	}
	host = host[strings.LastIndex(host, "@")+1:]
	if named {
		return scheme + "://" + host
	}
	return host
}

// reached says how a meter is reached by its address. A serial line is named by
// its device, with speed, parity and stop bits where they are not the usual ones.
//
//	rtu:///dev/ttyUSB0?speed=9600&parity=even&stop=1
//	rtu://COM3
//
//	source  Modbus over serial line 2.4.1 and 2.5.1: 19200 bit/s, even parity and
//	        one stop bit are the default, two where there is no parity; most
//	        meters come with 9600 bit/s and none (common practice, no source)
func reached(address string) (*modbus.ClientConfiguration, error) {
	how := &modbus.ClientConfiguration{URL: where(address), Timeout: meterPatience, Logger: log.New(io.Discard, "", 0)}
	if strings.HasPrefix(address, "tcp://") || strings.HasPrefix(address, "rtuovertcp://") {
		return how, nil
	}
	device, serial := strings.CutPrefix(address, "rtu://")
	device, query, _ := strings.Cut(device, "?")
	if !serial || device == "" {
		return nil, fmt.Errorf("the meter's address is %q: tcp://address:port, rtuovertcp://address:port, or rtu:// and the name of a serial line, is wanted",
			where(address))
	}
	how.URL, how.Speed, how.DataBits, how.Parity = "rtu://"+device, 9600, 8, modbus.PARITY_NONE
	said, err := url.ParseQuery(query)
	if err != nil {
		return nil, fmt.Errorf("the meter's address %q says after ? what cannot be read: speed, parity and stop are wanted", where(address))
	}
	for name, values := range said {
		n, err := strconv.ParseUint(values[0], 10, 32)
		parity, known := map[string]uint{"none": modbus.PARITY_NONE, "even": modbus.PARITY_EVEN, "odd": modbus.PARITY_ODD}[values[0]]
		switch {
		case name == "speed" && err == nil && n >= 300 && n <= 1_000_000:
			how.Speed = uint(n)
		case name == "stop" && err == nil && (n == 1 || n == 2):
			how.StopBits = uint(n)
		case name == "parity" && known:
			how.Parity = parity
		case name == "speed" || name == "stop" || name == "parity":
			return nil, fmt.Errorf("the meter's address has %s=%s: speed in bit/s, parity none, even or odd, stop 1 or 2 are wanted", name, values[0])
		default:
			return nil, fmt.Errorf("the meter's address %q says something else after ? than speed in bit/s, parity none, even or odd, stop 1 or 2", where(address))
		}
	}
	return how, nil
}

// Read reads every register of the map. What cannot be comes back as an
// *ImpossibleError, with the nearest layout that could.
func (m *Meter) Read(ctx context.Context) (Reading, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	out, err := m.read(ctx)
	if err != nil {
		return out, err
	}
	why := out.impossible()
	if why == nil {
		if why = out.since(m.last); why == nil {
			m.last = out
			return out, nil
		}
		return Reading{}, &ImpossibleError{Reading: out, Why: why}
	}
	return Reading{}, &ImpossibleError{out, why, nearest(m.at, m.hold(m.at))}
}

// hold reads what stands at and around the registers of a map, of both kinds, as
// far as it is there.
func (m *Meter) hold(at []Register) registers {
	out := registers{false: {}, true: {}}
	for holding, kind := range map[bool]modbus.RegType{false: modbus.INPUT_REGISTER, true: modbus.HOLDING_REGISTER} {
		for _, r := range at {
			from, n := r.At, types[r.Type]
			if from > 0 {
				from, n = from-1, n+1
			}
			for _, n := range []uint16{n + 1, n, types[r.Type]} { // the last may be the last there is
				if _, there := out[holding][r.At+types[r.Type]]; there {
					break
				}
				if n == types[r.Type] {
					from = r.At
				}
				words, err := m.client.ReadRegisters(from, n, kind)
				for k, w := range words {
					out[holding][from+uint16(k)] = w
				}
				if err == nil || errors.Is(err, modbus.ErrRequestTimedOut) {
					break
				}
			}
		}
	}
	return out
}

// Layouts tries every register map that is built in, and what is near it, and
// returns the layouts under which the meter's reading can be, by map.
func (m *Meter) Layouts(ctx context.Context) (map[string][]Layout, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := map[string][]Layout{}
	for _, name := range RegisterMaps() {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		at, err := RegisterMap(name)
		if err != nil {
			return out, err
		}
		if found := nearest(at, m.hold(at)); len(found) > 0 {
			out[name] = found
		}
	}
	return out, nil
}

func (m *Meter) read(ctx context.Context) (Reading, error) {
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
