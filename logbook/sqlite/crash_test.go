package sqlite_test

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"headstock/logbook"
	"headstock/logbook/sqlite"
)

// The test binary is its own victim: with these in its environment it writes entries to a
// logbook and says each one on its output once Append has returned, until it is killed.
const (
	victimLog = "HEADSTOCK_TEST_VICTIM_LOG"
	victimNo  = "HEADSTOCK_TEST_VICTIM_NUMBER"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(victimLog); path != "" {
		write(path, os.Getenv(victimNo))
		return
	}
	os.Exit(m.Run())
}

func write(path, number string) {
	n, err := strconv.ParseUint(number, 10, 32)
	if err != nil {
		panic(err)
	}
	s, err := sqlite.Open(path)
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	for i := 0; ; i++ {
		kind := logbook.Measurement
		if i%3 == 2 {
			kind = logbook.Defect
		}
		e, err := s.Append(entry(uint32(n), i, kind))
		if err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		fmt.Println("kept", e.ID, e.Hash)
	}
}

// A writer is killed (SIGKILL) 500 times at moments drawn by chance: while it opens the
// file, makes its tables, writes, commits or waits for the other of the two that write to
// the same file. Every entry it had acknowledged is there with the content it had, none is
// half there, and the chain holds. What stops is the program, not the machine: that a
// commit reaches the disk itself is SQLite's synchronous FULL, and is not tried here.
func TestKilledWriterLosesNothing(t *testing.T) {
	lives, each := 500, 50
	if testing.Short() {
		lives, each = 40, 20
	}
	seed := uint64(20261001)
	t.Logf("seed %d", seed)
	dir := t.TempDir()
	var acknowledged, idle int
	for file := range lives / each {
		path := filepath.Join(dir, fmt.Sprintf("log-%d.db", file))
		var lock sync.Mutex
		kept := map[string]string{} // id to hash
		var both sync.WaitGroup
		for w := range 2 {
			chance := rand.New(rand.NewPCG(seed, uint64(2*file+w)))
			both.Go(func() {
				for life := range each / 2 {
					number := 1000*file + 100*w + life + 1
					acks, err := oneLife(path, number, time.Duration(chance.IntN(90_000))*time.Microsecond)
					if err != nil {
						t.Error(err)
						return
					}
					lock.Lock()
					if len(acks) == 0 {
						idle++
					}
					for id, hash := range acks {
						kept[id] = hash
					}
					lock.Unlock()
				}
			})
		}
		both.Wait()
		s := open(t, path)
		r := whole(t, s)
		there := map[string]string{}
		list, err := s.List(logbook.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			there[e.ID.String()] = e.Hash
		}
		for id, hash := range kept {
			if there[id] != hash {
				t.Errorf("%s: acknowledged entry %s is not there as it was", path, id)
			}
		}
		// beyond those acknowledged there can be one a life: committed, and killed before it was said
		if extra := r.Entries - len(kept); extra < 0 || extra > each {
			t.Errorf("%s: %d entries, %d acknowledged", path, r.Entries, len(kept))
		}
		acknowledged += len(kept)
		s.Close()
	}
	t.Logf("%d lives, %d entries acknowledged, %d lives killed before their first", lives, acknowledged, idle)
	if acknowledged < lives || idle < lives/50 || idle > lives*9/10 {
		t.Errorf("the moments were badly chosen: %d acknowledged, %d lives without an entry", acknowledged, idle)
	}
}

// oneLife starts a writer, kills it after a while and returns what it had acknowledged.
func oneLife(path string, number int, after time.Duration) (map[string]string, error) {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), victimLog+"="+path, victimNo+"="+strconv.Itoa(number))
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	timer := time.AfterFunc(after, func() { cmd.Process.Kill() })
	defer timer.Stop()
	acks := map[string]string{}
	lines := bufio.NewReader(out)
	for {
		line, err := lines.ReadString('\n')
		if err != nil {
			break // a line without its end was not said
		}
		var id, hash string
		if _, err := fmt.Sscanf(line, "kept %s %s", &id, &hash); err != nil {
			cmd.Process.Kill()
			cmd.Wait()
			return nil, fmt.Errorf("writer %d: %s", number, line)
		}
		acks[id] = hash
	}
	cmd.Wait()
	return acks, nil
}
