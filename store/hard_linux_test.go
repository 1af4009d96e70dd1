package store

// What a record must outlive: the program killed, the power lost, a second
// program on the same file. How often is asked is small by itself; with
// CHARGEWRIGHT_FULL in the environment it is what bench/trust.txt records.

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"chargewright/job"
)

// often is how many times something is tried: usually, and in full.
func often(usually, full int) int {
	if os.Getenv("CHARGEWRIGHT_FULL") != "" {
		return full
	}
	return usually
}

// picture is the content of the photo of an act: of its own, some 60 KiB.
func picture(id string) []byte {
	sum := sha256.Sum256([]byte(id))
	return bytes.Repeat(sum[:], 1000+int(sum[0])*8)
}

func shot(id string) Act {
	return Act{ID: id, Job: "j", What: "photo", Who: "Ann", When: "2026-11-25T09:00:00Z", Arrived: "2026-11-25T09:00:01Z",
		Entries: []job.Entry{{Path: "supply/Ze", Value: id}}, Photo: &Photo{Element: "cut-out", Type: "image/png", Content: picture(id)}}.Stamped()
}

const childWord = "CHARGEWRIGHT_TEST_CHILD" // journal, name, and how many acts

// TestChildThatKeeps is what the others start as a program of its own: it keeps
// acts with photos, and says of each that it is kept and how long the log was then.
func TestChildThatKeeps(t *testing.T) {
	var file, name string
	var most int
	if _, err := fmt.Sscan(os.Getenv(childWord), &file, &name, &most); err != nil {
		t.Skip("started by other tests alone")
	}
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	for n := range most {
		id := fmt.Sprintf("%s-%d", name, n)
		if _, err := s.Keep(t.Context(), shot(id)); err != nil {
			t.Fatal(err)
		}
		size := int64(0)
		if info, err := os.Stat(file + "-wal"); err == nil {
			size = info.Size()
		}
		fmt.Printf("kept %s %d\n", id, size)
	}
}

// child is such a program, with what it said it kept.
type child struct {
	*exec.Cmd
	kept chan [2]string
}

func started(t *testing.T, file, name string, most int) child {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^TestChildThatKeeps$", "-test.count=1")
	c.Env = append(os.Environ(), fmt.Sprintf("%s=%s %s %d", childWord, file, name, most))
	out, err := c.StdoutPipe()
	if err == nil {
		err = c.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	kept := make(chan [2]string, 100_000)
	go func() {
		defer close(kept)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if words := strings.Fields(lines.Text()); len(words) == 3 && words[0] == "kept" {
				kept <- [2]string{words[1], words[2]}
			}
		}
	}()
	return child{c, kept}
}

// holds says what is not as it was acknowledged in a journal.
func holds(t *testing.T, file string, kept []string) {
	t.Helper()
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatalf("it does not open: %v", err)
	}
	defer s.Close()
	if why := s.OnlyRead(); why != "" {
		t.Fatal(why)
	}
	for _, id := range kept {
		if p, err := s.Photo(t.Context(), id); err != nil || !bytes.Equal(p.Content, picture(id)) {
			t.Fatalf("%s was acknowledged, and its photo is not there as it was: %v", id, err)
		}
	}
	acts, err := s.Acts(t.Context(), "j", 0)
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, a := range acts {
		there[a.ID] = len(a.Entries) == 1 && a.Entries[0].Value == a.ID
	}
	for _, id := range kept {
		if !there[id] {
			t.Fatalf("%s was acknowledged, and is not there whole", id)
		}
	}
	if found, err := s.Audit(t.Context()); err != nil || found.Wrong != nil {
		t.Fatalf("%v, %v", found.Wrong, err)
	}
}

// TestKills: the program is killed at any moment while photos are kept. What it
// acknowledged is there, with its photo, and the chain is whole.
func TestKills(t *testing.T) {
	kills, draw, total := often(6, 400), rand.New(rand.NewPCG(4, 400)), 0
	var file string
	var kept []string
	for n := range kills {
		if n%20 == 0 {
			file, kept = filepath.Join(t.TempDir(), "journal.sqlite"), nil
		}
		c := started(t, file, fmt.Sprintf("k%d", n), 1_000_000)
		first, said := <-c.kept
		if !said {
			t.Fatalf("kill %d: it kept nothing", n)
		}
		kept = append(kept, first[0])
		time.Sleep(time.Duration(draw.IntN(60)) * time.Millisecond)
		c.Process.Kill()
		for one := range c.kept {
			kept = append(kept, one[0])
		}
		c.Wait()
		if n%20 == 19 || n == kills-1 {
			total += len(kept)
		}
		holds(t, file, kept)
	}
	t.Logf("%d kills, %d acts with photos acknowledged, none lost", kills, total)
}

// TestTwoServersOnOneJournal: two programs add to one file at once. All that
// either acknowledged is there, and the chain through both is whole.
func TestTwoServersOnOneJournal(t *testing.T) {
	rounds, each := often(1, 20), 40
	for n := range rounds {
		file := filepath.Join(t.TempDir(), "journal.sqlite")
		s, err := Open(t.Context(), file) // made once, before both
		if err != nil {
			t.Fatal(err)
		}
		s.Close()
		one, two := started(t, file, fmt.Sprintf("one%d", n), each), started(t, file, fmt.Sprintf("two%d", n), each)
		var kept []string
		for _, c := range []child{one, two} {
			for k := range c.kept {
				kept = append(kept, k[0])
			}
			if err := c.Wait(); err != nil {
				t.Fatalf("round %d: a server ends with %v", n, err)
			}
		}
		if len(kept) != 2*each {
			t.Fatalf("round %d: %d kept of %d", n, len(kept), 2*each)
		}
		holds(t, file, kept)
	}
	t.Logf("%d rounds of two servers, %d acts each", rounds, each)
}

// TestPowerLoss imitates the power lost at any moment, by what then stands on
// the disk. The program is stopped between two of its instructions and its files
// are copied; of what it had not yet synced, some reaches the copy and some does
// not:
//
//   - the log (WAL) is synced when an act is acknowledged. What was written to it
//     since is cut off anywhere, or has holes;
//   - the database is written from the log, and the log is begun anew only after
//     that was synced. While the log is the same one, any page written meanwhile
//     may still be as it was before.
//
// source  SQLite's own description of its log, "WAL-mode file format" 4
func TestPowerLoss(t *testing.T) {
	losses, draw := often(8, 400), rand.New(rand.NewPCG(5, 500))
	dir := t.TempDir()
	var c child
	var file string
	var kept []string
	var synced int64
	var before, beforeLog []byte
	torn, reverted := 0, 0
	for n := range losses {
		if n%40 == 0 {
			if c.Cmd != nil {
				c.Process.Kill()
				c.Wait()
			}
			file, kept, synced, before, beforeLog = filepath.Join(dir, fmt.Sprintf("journal-%d.sqlite", n)), nil, 0, nil, nil
			c = started(t, file, fmt.Sprintf("p%d", n), 1_000_000)
			first := <-c.kept
			kept = append(kept, first[0])
			fmt.Sscan(first[1], &synced)
		}
		time.Sleep(time.Duration(draw.IntN(40)) * time.Millisecond)
		if err := c.Process.Signal(syscall.SIGSTOP); err != nil {
			t.Fatal(err)
		}
		stopped(t, c.Process.Pid)
		time.Sleep(2 * time.Millisecond) // what it said before is read
		for more := true; more; {
			select {
			case one := <-c.kept:
				kept = append(kept, one[0])
				fmt.Sscan(one[1], &synced)
			default:
				more = false
			}
		}
		base, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		log, err := os.ReadFile(file + "-wal")
		if err != nil {
			t.Fatal(err)
		}
		lostLog, lostBase := bytes.Clone(log), bytes.Clone(base)
		begunAnew := len(log) < 32 || len(beforeLog) < 32 || !bytes.Equal(log[16:24], beforeLog[16:24]) // its salts
		if int64(len(log)) > synced && !begunAnew {
			torn++
			if cut := synced + draw.Int64N(int64(len(log))-synced+1); draw.IntN(2) == 0 {
				lostLog = lostLog[:cut]
			} else {
				for at := cut; at < int64(len(log)); at += 4096 {
					if draw.IntN(2) == 0 {
						clear(lostLog[at:min(at+4096, int64(len(log)))])
					}
				}
			}
		}
		if !begunAnew && len(before) > 0 && !bytes.Equal(before, base[:min(len(before), len(base))]) {
			page := int(binary.BigEndian.Uint16(base[16:18]))
			for at := 0; at+page <= min(len(before), len(base)); at += page {
				if draw.IntN(2) == 0 && !bytes.Equal(before[at:at+page], base[at:at+page]) {
					copy(lostBase[at:], before[at:at+page])
					reverted++
				}
			}
		}
		image := filepath.Join(dir, fmt.Sprintf("loss-%d.sqlite", n))
		for name, content := range map[string][]byte{image: lostBase, image + "-wal": lostLog} {
			if err := os.WriteFile(name, content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		holds(t, image, kept)
		for _, name := range []string{image, image + "-wal", image + "-shm"} {
			os.Remove(name)
		}
		before, beforeLog = base, log
		if err := c.Process.Signal(syscall.SIGCONT); err != nil {
			t.Fatal(err)
		}
	}
	c.Process.Kill()
	c.Wait()
	t.Logf("the power lost %d times, %d times with writes of the log dropped, %d pages of the database as they were before: nothing acknowledged lost", losses, torn, reverted)
}

// stopped waits until a program stands still (proc(5), state T).
func stopped(t *testing.T, pid int) {
	t.Helper()
	for range 2000 {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			t.Fatal(err)
		}
		if _, after, ok := strings.Cut(string(text), ") "); ok && strings.HasPrefix(after, "T") {
			return
		}
		time.Sleep(time.Millisecond)
	}
	t.Fatal("it goes on though it was stopped")
}
