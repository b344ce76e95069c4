package logbook_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"fieldfare/desk/logbook"
)

// work is the life of a child process: it writes entries PREFIX-000001 onward from
// LOGBOOK_FROM, every fifth with an imported file, and prints the number of each one
// acknowledged, until it has written LOGBOOK_COUNT or is killed.
func work(where string) {
	fail := func(err error) {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(3)
		}
	}
	if limit, _ := strconv.ParseUint(os.Getenv("LOGBOOK_FSIZE"), 10, 64); limit > 0 {
		signal.Ignore(syscall.SIGXFSZ)
		fail(syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: limit, Max: limit}))
	}
	l, err := logbook.Open(context.Background(), where, time.Now)
	fail(err)
	from, _ := strconv.Atoi(os.Getenv("LOGBOOK_FROM"))
	count, _ := strconv.Atoi(os.Getenv("LOGBOOK_COUNT"))
	for n := from; count == 0 || n < from+count; n++ {
		o, e := numbered(os.Getenv("LOGBOOK_PREFIX"), n)
		if o != nil {
			_, err = l.Import(context.Background(), *o, e)
		} else {
			_, err = l.Append(context.Background(), e)
		}
		fail(err)
		fmt.Println(n)
	}
	fail(l.Close())
}

// numbered makes entry n, always the same for the same n.
func numbered(prefix string, n int) (*logbook.Original, logbook.Entry) {
	id := fmt.Sprintf("%s-%06d", prefix, n)
	var t testing.T // only to satisfy the makers, which cannot fail here
	if n%5 == 0 {
		o, e := flown(&t, id, noise(40_000, uint64(n)))
		return &o, e
	}
	return nil, remark(&t, id, strings.Repeat("words ", n%200+1))
}

func child(where, prefix string, from, count int, more ...string) *exec.Cmd {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "LOGBOOK_WORKER="+where, "LOGBOOK_PREFIX="+prefix, "LOGBOOK_FROM="+strconv.Itoa(from), "LOGBOOK_COUNT="+strconv.Itoa(count))
	c.Env = append(c.Env, more...)
	return c
}

// rounds is few in every run and 200 in a soak (FIELDFARE_SOAK=1).
func rounds(few int) int {
	if os.Getenv("FIELDFARE_SOAK") != "" {
		return 200
	}
	return few
}

// A writer is killed at a random moment, again and again; each next one repeats the
// last acknowledged entry, as a client does that never saw the answer.
func TestKilledWriterLosesNothing(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		few := 10
		if strings.HasPrefix(where, "postgres") {
			few = 6
		}
		random := rand.New(rand.NewPCG(7, uint64(few)))
		acked, idle := 0, 0
		for round := range rounds(few) {
			c := child(where, "kill", max(1, acked), 0)
			out, err := c.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			var stderr strings.Builder
			c.Stderr = &stderr
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			timer := time.AfterFunc(time.Duration(20+random.IntN(260))*time.Millisecond, func() { c.Process.Kill() })
			before := acked
			for r := bufio.NewReader(out); ; {
				line, err := r.ReadString('\n')
				if err != nil {
					break // a half line is no acknowledgement
				}
				acked, _ = strconv.Atoi(strings.TrimSpace(line))
			}
			err = c.Wait()
			timer.Stop()
			if stderr.Len() > 0 {
				t.Fatalf("round %d: %s", round, stderr.String())
			}
			var exit *exec.ExitError
			if !errors.As(err, &exit) {
				t.Fatalf("round %d: the writer was to be killed, but: %v", round, err)
			}
			if acked == before {
				idle++
			}
			l, err := logbook.Open(ctx, where, clock()) // checks integrity
			if err != nil {
				t.Fatalf("round %d: %v", round, err)
			}
			if round%10 == 0 {
				verify(t, l)
			}
			l.Close()
		}
		l := open(t, where)
		v := verify(t, l)
		all, err := l.Since(ctx, 0, 1<<30)
		if err != nil || len(all) < acked || int(v.Entries) != len(all) {
			t.Fatalf("%d entries, %d acknowledged, %v", len(all), acked, err)
		}
		for i, e := range all { // no hole, nothing twice, each as it was made
			o, want := numbered("kill", i+1)
			if e.ID != want.ID || string(e.Body) != string(want.Body) {
				t.Fatalf("entry %d is %s", i+1, e.ID)
			}
			if o != nil && (i+1)%50 == 0 {
				if _, err := l.Original(ctx, o.SHA256); err != nil {
					t.Fatal(err)
				}
			}
		}
		if acked < 10 || idle > rounds(few)*4/5 {
			t.Errorf("the test did not test much: %d acknowledged, %d idle rounds", acked, idle)
		}
		t.Logf("%d kills, %d entries acknowledged, %d found, %d rounds killed before the first answer", rounds(few), acked, len(all), idle)
	})
}

// The server itself is killed; what it acknowledged must be there when it comes back.
func TestServerCrash(t *testing.T) {
	where := server.fresh(t)
	l := open(t, where)
	for i := range 40 {
		add(t, l, remark(t, fmt.Sprintf("crash-%04d", i), "x"))
	}
	data := filepath.Join(server.dir, "data")
	if out, err := server.command(filepath.Join(server.bin, "pg_ctl"), "-D", data, "-m", "immediate", "stop").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if _, err := l.Append(ctx, remark(t, "crash-down", "x")); err == nil {
		t.Error("written to a server that is down")
	}
	if out, err := server.command(filepath.Join(server.bin, "pg_ctl"), "-D", data, "-w", "-l", filepath.Join(server.dir, "log"), "-o", "-c listen_addresses='' -k "+server.dir, "start").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if v := verify(t, open(t, where)); v.Entries != 40 {
		t.Errorf("%+v", v)
	}
}

// Two browsers through one server process, and two command lines, write at once.
func TestConcurrentWriters(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		l := open(t, where)
		var wg sync.WaitGroup
		for _, prefix := range []string{"cli-one", "cli-two"} {
			wg.Go(func() {
				if out, err := child(where, prefix, 1, 40).CombinedOutput(); err != nil {
					t.Errorf("%s: %v: %s", prefix, err, out)
				}
			})
		}
		for _, prefix := range []string{"browser-one", "browser-two"} {
			wg.Go(func() {
				for n := 1; n <= 40; n++ {
					for range 2 { // each post is repeated
						if _, err := l.Append(ctx, remark(t, fmt.Sprintf("%s-%04d", prefix, n), "x")); err != nil {
							t.Error(err)
						}
					}
				}
			})
		}
		seen, last := 0, int64(0)
		done := make(chan struct{})
		go func() { wg.Wait(); close(done) }()
		for finished := false; !finished; { // a reader that follows must miss nothing
			select {
			case <-done:
				finished = true
			case <-time.After(5 * time.Millisecond):
			}
			news, err := l.Since(ctx, last, 1000)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range news {
				if e.Seq != last+1 {
					t.Fatalf("number %d came after %d", e.Seq, last)
				}
				last = e.Seq
				seen++
			}
		}
		if v := verify(t, l); v.Entries != 160 || seen != 160 {
			t.Errorf("%d entries, %d seen by the follower, want 160", v.Entries, seen)
		}
	})
}

// The disk fills while a child writes: it must say so, and the book must be whole, with
// every acknowledged entry.
func TestDiskFull(t *testing.T) {
	full := func(t *testing.T, dir string, more ...string) {
		where := filepath.Join(dir, "log.db")
		c := child(where, "full", 1, 0, more...)
		var stderr strings.Builder
		c.Stderr = &stderr
		out, err := c.Output()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != 3 {
			t.Fatalf("the disk never filled: %v %s", err, stderr.String())
		}
		for _, want := range []string{"no room left", "nothing was written", "free space and repeat"} {
			if !strings.Contains(stderr.String(), want) {
				t.Errorf("message %q lacks %q", stderr.String(), want)
			}
		}
		acked := len(strings.Fields(string(out)))
		// Room is made: copy the book to another disk, log and all.
		room := t.TempDir()
		for _, end := range []string{"", "-wal"} {
			if err := copyFile(filepath.Join(room, "log.db"+end), where+end); err != nil && !errors.Is(err, os.ErrNotExist) {
				t.Fatal(err)
			}
		}
		l := open(t, filepath.Join(room, "log.db"))
		if v := verify(t, l); int(v.Entries) < acked || acked < 3 {
			t.Errorf("%d entries in the book, %d acknowledged", v.Entries, acked)
		}
		add(t, l, remark(t, "after-0001", "there is room again"))
		t.Logf("%d entries before the disk was full; %s", acked, strings.TrimSpace(stderr.String()))
	}
	t.Run("small file system", func(t *testing.T) {
		dir := t.TempDir()
		if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1m"); err != nil {
			t.Skip("no right to mount a small file system: ", err)
		}
		defer syscall.Unmount(dir, 0)
		full(t, dir)
	})
	t.Run("file size limit", func(t *testing.T) { full(t, t.TempDir(), "LOGBOOK_FSIZE=600000") })
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// Many open one new book in the same moment: it is made once.
func TestOpenedAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		where := fresh()
		var wg sync.WaitGroup
		for n := range 8 {
			wg.Go(func() {
				l, err := logbook.Open(ctx, where, clock())
				if err != nil {
					t.Error(err)
					return
				}
				defer l.Close()
				if _, err := l.Append(ctx, remark(t, fmt.Sprintf("entry-%04d", n), "x")); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if v := verify(t, open(t, where)); v.Entries != 8 {
			t.Errorf("%+v", v)
		}
	})
}

// The disk under the shared server's tables fills: the same message, nothing lost.
func TestServerDiskFull(t *testing.T) {
	where := server.fresh(t)
	dir, err := os.MkdirTemp("", "small")
	if err != nil {
		t.Fatal(err)
	}
	defer os.Remove(dir)
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=2m"); err != nil {
		t.Skip("no right to mount a small file system: ", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	if server.cred != nil {
		if err := os.Chown(dir, int(server.cred.Uid), int(server.cred.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	db, err := sql.Open("pgx", where)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("CREATE TABLESPACE small LOCATION '" + dir + "'"); err != nil {
		t.Fatal(err)
	}
	defer func() {
		db.Exec("DROP TABLE entry, original, logbook_step CASCADE")
		if _, err := db.Exec("DROP TABLESPACE small"); err != nil {
			t.Error(err)
		}
	}()
	l := open(t, where+"&default_tablespace=small")
	defer l.Close()
	n := 0
	for ; n < 200; n++ {
		o, e := numbered("full", 5*(n+1)) // with a file each
		if _, err = l.Import(ctx, *o, e); err != nil {
			break
		}
	}
	if !errors.Is(err, logbook.ErrFull) || !strings.Contains(err.Error(), "nothing was written") {
		t.Fatalf("after %d entries: %v", n, err)
	}
	if v := verify(t, l); int(v.Entries) != n || n < 3 {
		t.Errorf("%d entries in the book, %d acknowledged", v.Entries, n)
	}
	t.Logf("%d entries before the disk was full: %v", n, err)
}
