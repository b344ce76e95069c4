package logbook_test

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"fieldfare/desk/logbook"
)

func TestMain(m *testing.M) {
	if where := os.Getenv("LOGBOOK_WORKER"); where != "" {
		work(where)
		return
	}
	code := m.Run()
	server.stop()
	os.Exit(code)
}

var noon = time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC)

// clock counts one second for every time it is asked.
func clock() func() time.Time {
	var n atomic.Int64
	return func() time.Time { return noon.Add(time.Duration(n.Add(1)) * time.Second) }
}

func open(t testing.TB, where string) *logbook.Log {
	t.Helper()
	l, err := logbook.Open(context.Background(), where, clock())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// onBoth runs a test against a fresh book in each store.
func onBoth(t *testing.T, test func(t *testing.T, fresh func() string)) {
	t.Run("sqlite", func(t *testing.T) {
		dir, n := t.TempDir(), 0
		test(t, func() string { n++; return filepath.Join(dir, fmt.Sprintf("log book %d.db", n)) })
	})
	t.Run("postgres", func(t *testing.T) { test(t, func() string { return server.fresh(t) }) })
}

// server is a PostgreSQL of the tests' own, from Debian's package, in a folder of its
// own, reached by a socket only.
var server postgres

type postgres struct {
	once   sync.Once
	err    error
	dir    string
	bin    string
	cred   *syscall.Credential
	schema atomic.Int64
}

func (p *postgres) fresh(t testing.TB) string {
	t.Helper()
	p.once.Do(p.start)
	if p.err != nil {
		t.Skipf("\n\n*** POSTGRESQL WAS NOT TESTED: %v ***\n*** install Debian's package postgresql and run again ***\n", p.err)
	}
	schema := fmt.Sprintf("test_%d", p.schema.Add(1))
	if out, err := p.command(filepath.Join(p.bin, "psql"), "-h", p.dir, "-U", "postgres", "-qc", "CREATE SCHEMA "+schema).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return "postgres:///postgres?" + url.Values{"host": {p.dir}, "user": {"postgres"}, "search_path": {schema}}.Encode()
}

func (p *postgres) command(name string, args ...string) *exec.Cmd {
	c := exec.Command(name, args...)
	c.Dir = "/"
	if p.cred != nil {
		c.SysProcAttr = &syscall.SysProcAttr{Credential: p.cred}
	}
	return c
}

func (p *postgres) start() {
	find := func() bool {
		all, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
		if len(all) == 0 {
			return false
		}
		p.bin = filepath.Dir(all[len(all)-1])
		return true
	}
	if !find() {
		if os.Getuid() != 0 {
			p.err = fmt.Errorf("it is not installed, and only root can install it")
			return
		}
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
		defer cancel()
		if out, err := exec.CommandContext(ctx, "apt-get", "install", "-y", "--no-install-recommends", "postgresql").CombinedOutput(); err != nil || !find() {
			p.err = fmt.Errorf("apt-get install postgresql: %v: %s", err, bytes.TrimSpace(out))
			return
		}
	}
	if p.dir, p.err = os.MkdirTemp("", "pg"); p.err != nil {
		return
	}
	if os.Getuid() == 0 { // the server refuses to run as root
		u, err := user.Lookup("postgres")
		if err != nil {
			p.err = err
			return
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		p.cred = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if p.err = os.Chown(p.dir, uid, gid); p.err != nil {
			return
		}
	}
	data := filepath.Join(p.dir, "data")
	for _, c := range []*exec.Cmd{
		p.command(filepath.Join(p.bin, "initdb"), "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"),
		p.command(filepath.Join(p.bin, "pg_ctl"), "-D", data, "-w", "-l", filepath.Join(p.dir, "log"), "-o", "-c listen_addresses='' -k "+p.dir, "start"),
	} {
		if out, err := c.CombinedOutput(); err != nil {
			p.err = fmt.Errorf("%s: %v: %s", c.Path, err, out)
			return
		}
	}
}

func (p *postgres) stop() {
	if p.dir == "" {
		return
	}
	p.command(filepath.Join(p.bin, "pg_ctl"), "-D", filepath.Join(p.dir, "data"), "-m", "immediate", "stop").Run()
	os.RemoveAll(p.dir)
}
