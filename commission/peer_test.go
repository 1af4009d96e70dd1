package commission

import (
	"bufio"
	"chargewright/meter"
	"chargewright/ocpp"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

const peer = "testdata/peer"

// independent wants the independent ends to be there; the test command
// installs them. A short run does without.
func independent(t *testing.T) {
	t.Helper()
	_, noNode := exec.LookPath("node")
	_, noPeers := os.Stat(peer + "/node_modules")
	switch {
	case noNode == nil && noPeers == nil:
	case testing.Short():
		t.Skip("the independent ends are left out with -short")
	case noNode != nil:
		t.Fatal("node is not installed: apt-get install nodejs npm, or run test.sh; go test -short leaves this out")
	default:
		t.Fatal("the independent ends are not installed: npm install in commission/testdata/peer, or run test.sh; go test -short leaves this out")
	}
}

// TestIndependentPoint has a charge point on an independent OCPP library, in
// its strict mode, boot, authorise, charge and obey a limit, in every version.
// Source of the schemas: those published by the Open Charge Alliance, as the
// library carries them.
func TestIndependentPoint(t *testing.T) {
	independent(t)
	t.Parallel()
	for _, v := range []ocpp.Version{ocpp.V16, ocpp.V201, ocpp.V21} {
		t.Run(string(v), func(t *testing.T) {
			central, err := ocpp.Open(ocpp.NewClock(time.Now(), 1), ocpp.CentralOptions{Known: []string{"KNOWN"}})
			if err != nil {
				t.Fatal(err)
			}
			defer central.Close()
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
			defer cancel()
			cmd := exec.CommandContext(ctx, "node", "point.js", strings.TrimSuffix(central.Address(), "/"), "CP1", string(v), "KNOWN", "NOBODY")
			cmd.Dir = peer
			var said strings.Builder
			cmd.Stderr = &said
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			s := central.Station("CP1")
			started, ok := s.Until(ctx, 0, 15*time.Second, func(e ocpp.Event) bool { return e.What == ocpp.Started })
			if !ok || !started.Allowed {
				_ = cmd.Process.Kill()
				_ = cmd.Wait()
				t.Fatalf("no allowed session began: %+v\n%s", started, said.String())
			}
			status, err := s.Speaks().Limit(ctx, s, ocpp.Limit{ID: 1, Level: 1, Purpose: ocpp.OneSession, Current: 10, Transaction: started.Transaction})
			if err != nil || !status.Accepted() {
				t.Errorf("limit = %q, %v, want Accepted", status, err)
			}
			if _, ok := s.Until(ctx, s.Mark(), 5*time.Second, func(e ocpp.Event) bool { return e.Sample != nil && e.Sample.Current[0].Or(0) == 10 }); !ok {
				t.Error("the current did not come down to 10 A")
			}
			if status, err := s.Speaks().Stop(ctx, s, started.Transaction); err != nil || !status.Accepted() {
				t.Errorf("stop = %q, %v, want Accepted", status, err)
			}
			if err := cmd.Wait(); err != nil {
				t.Errorf("the independent point: %v\n%s", err, said.String())
			}
			var refused, known bool
			for _, e := range s.Since(0) {
				refused = refused || e.What == ocpp.Authorised && e.Token == "NOBODY" && !e.Allowed
				known = known || e.What == ocpp.Authorised && e.Token == "KNOWN" && e.Allowed
			}
			if !refused || !known {
				t.Errorf("unknown card refused: %v, known card allowed: %v", refused, known)
			}
		})
	}
}

// schemas reads the published schemas of a version as the independent library
// carries them.
func schemas(t *testing.T, file string) *jsonschema.Compiler {
	t.Helper()
	text, err := os.Open(peer + "/node_modules/ocpp-rpc/lib/schemas/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	all, err := jsonschema.UnmarshalJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	for _, one := range all.([]any) {
		if err := c.AddResource(one.(map[string]any)["$id"].(string), one); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

// TestEveryMessageKeepsToItsSchema holds each message of a whole run, of both
// ends, against the JSON schemas of the Open Charge Alliance.
func TestEveryMessageKeepsToItsSchema(t *testing.T) {
	independent(t)
	t.Parallel()
	files := map[ocpp.Version]string{ocpp.V16: "ocpp1_6.json", ocpp.V201: "ocpp2_0_1.json", ocpp.V21: "ocpp2_1.json"}
	for _, e := range sound() {
		t.Run(string(e.OCPP), func(t *testing.T) {
			c := schemas(t, files[e.OCPP])
			actions := map[string]string{}
			checked := map[string]int{}
			for _, s := range e.Steps {
				for _, m := range s.Messages {
					if m.Raw == "" {
						continue
					}
					f, err := ocpp.ReadFrame([]byte(m.Raw))
					if err != nil {
						t.Fatal(err)
					}
					name := ""
					asks, says := ".req", ".conf"
					if e.OCPP == ocpp.V21 {
						asks, says = "Request", "Response"
					}
					switch f.Kind {
					case ocpp.Call:
						actions[m.From+f.ID] = f.Action
						name = f.Action + asks
					case ocpp.Result:
						asker := map[string]string{ocpp.FromPoint: ocpp.FromCentral, ocpp.FromCentral: ocpp.FromPoint}[m.From]
						if name = actions[asker+f.ID] + says; name == says {
							continue // asked before this step
						}
					default:
						t.Errorf("a refusal in a sound run: %s", m.Raw)
						continue
					}
					schema, err := c.Compile("urn:" + name)
					if err != nil {
						t.Fatalf("no schema for %s: %v", name, err)
					}
					var payload any
					if payload, err = jsonschema.UnmarshalJSON(strings.NewReader(string(f.Payload))); err != nil {
						t.Fatal(err)
					}
					if err := schema.Validate(payload); err != nil {
						t.Errorf("%s of the %s: %v\n%s", name, m.From, err, m.Raw)
					}
					checked[name]++
				}
			}
			if len(checked) < 20 {
				t.Errorf("%d kinds of message were checked, want 20 or more: %v", len(checked), checked)
			}
		})
	}
}

// TestIndependentMeter reads a Modbus server of an independent library, in both
// word orders and as scaled integers. The bit patterns are those of IEEE 754.
func TestIndependentMeter(t *testing.T) {
	independent(t)
	t.Parallel()
	float := func(n float32, low bool) []uint16 {
		b := math.Float32bits(n)
		if low {
			return []uint16{uint16(b), uint16(b >> 16)}
		}
		return []uint16{uint16(b >> 16), uint16(b)}
	}
	var high, low []uint16
	for _, n := range []float32{230.1, 231.2, 229.8, 31.9, 0.4, -15.5, 7340, 92, -3562, 3870, 41.25} {
		high, low = append(high, float(n, false)...), append(low, float(n, true)...)
	}
	int32s := func(n int32) []uint16 { return []uint16{uint16(uint32(n) >> 16), uint16(uint32(n))} }
	negative := int16(-1550)
	scaled := []uint16{2301, 2312, 2298, 3190, 40, uint16(negative)}
	for _, n := range []int32{7340, 92, -3562, 3870, 4125} {
		scaled = append(scaled, int32s(n)...)
	}
	for name, words := range map[string][]uint16{"float-high-word-first": high, "float-low-word-first": low, "scaled-integers": scaled} {
		t.Run(name, func(t *testing.T) {
			address := independentMeter(t, words)
			m, err := meter.Open(address, name, 7)
			if err != nil {
				t.Fatal(err)
			}
			defer m.Close()
			got, err := m.Read(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			near := func(what string, got, want, room float64) {
				if math.Abs(got-want) > room {
					t.Errorf("%s = %v, want %v", what, got, want)
				}
			}
			near("voltage L2", float64(got.Voltage[1].Or(0)), 231.2, 0.001)
			near("current L1", float64(got.Current[0].Or(0)), 31.9, 0.001)
			near("current L3", float64(got.Current[2].Or(0)), -15.5, 0.001)
			near("power L3", float64(got.Power[2].Or(0)), -3562, 0.001)
			near("power", float64(got.Total.Or(0)), 3870, 0.001)
			near("energy", float64(got.Energy.Or(0)), 41250, 0.001)
			found, err := m.Scan(context.Background(), 6, 7, func(uint8, string) {})
			if err != nil || len(found) != 1 || found[0] != 7 {
				t.Errorf("Scan(6, 7) = %v, %v, want 7 alone", found, err)
			}
		})
	}
	for given, has := range map[string][]uint16{"float-high-word-first": low, "float-low-word-first": high} {
		t.Run("by the wrong map "+given, func(t *testing.T) {
			m, err := meter.Open(independentMeter(t, has), given, 7)
			if err != nil {
				t.Fatal(err)
			}
			defer m.Close()
			var cannot *meter.ImpossibleError
			if got, err := m.Read(context.Background()); !errors.As(err, &cannot) || len(cannot.Try) == 0 || !strings.Contains(cannot.Try[0].String(), "word first") {
				t.Errorf("Read() = %+v, %v; want that it cannot be, and the other word order", got, err)
			}
		})
	}
	t.Run("a register that is not there", func(t *testing.T) {
		m, err := meter.Open(independentMeter(t, []uint16{1, 2}), "float-high-word-first", 7)
		if err != nil {
			t.Fatal(err)
		}
		defer m.Close()
		if _, err := m.Read(context.Background()); err == nil || !strings.Contains(err.Error(), "no such register") {
			t.Errorf("Read() = %v, want that the register is not there", err)
		}
	})
}

// independentMeter starts the independent Modbus server and returns its address.
func independentMeter(t *testing.T, words []uint16) string {
	t.Helper()
	list, err := json.Marshal(words)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "meter.js", string(list))
	cmd.Dir = peer
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatal("the independent meter did not start")
	}
	return "tcp://127.0.0.1:" + strings.TrimSpace(lines.Text())
}
