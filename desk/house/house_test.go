package house_test

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"fieldfare/desk/house"
)

func opened(t *testing.T, dir string, now time.Time) (*house.House, bool) {
	t.Helper()
	h, fresh, err := house.Open(dir, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	return h, fresh
}

// pool trusts the authority as a phone does on which it was installed.
func pool(t *testing.T, h *house.House) *x509.CertPool {
	t.Helper()
	c, err := x509.ParseCertificate(h.Certificate())
	if err != nil {
		t.Fatal(err)
	}
	p := x509.NewCertPool()
	p.AddCert(c)
	return p
}

var start = time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)

func TestOpenKeepsOneAuthority(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "config", "fieldfare")
	h, fresh := opened(t, dir, start)
	if !fresh || len(h.Fingerprint()) != 95 {
		t.Errorf("fresh %v, fingerprint %q", fresh, h.Fingerprint())
	}
	again, fresh := opened(t, dir, start.Add(400*24*time.Hour))
	if fresh || again.Fingerprint() != h.Fingerprint() {
		t.Error("a year later it is another")
	}
	late, fresh := opened(t, dir, h.Ends().Add(-20*24*time.Hour))
	if !fresh || late.Fingerprint() == h.Fingerprint() || !late.Ends().After(h.Ends()) {
		t.Error("shortly before its end it is not made anew")
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 {
		t.Fatal(entries, err)
	}
	path := filepath.Join(dir, house.FileName)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("others may see it: %v", info.Mode())
	}
}

// TestOpenTogether: two programs that start at once end with the same authority.
func TestOpenTogether(t *testing.T) {
	dir := t.TempDir()
	var all [8]string
	var wait sync.WaitGroup
	for i := range all {
		wait.Go(func() {
			h, _, err := house.Open(dir, func() time.Time { return start })
			if err != nil {
				t.Error(err)
				return
			}
			all[i] = h.Fingerprint()
		})
	}
	wait.Wait()
	for _, f := range all {
		if f != all[0] {
			t.Fatal("two authorities")
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	for name, x := range map[string]struct {
		text string
		mode os.FileMode
		want string
	}{
		"rubbish":         {"not PEM", 0o600, "delete the file"},
		"read by others":  {"", 0o644, "others may read it"},
		"nobody may read": {"", 0o620, "others may read it"},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, house.FileName)
		opened(t, dir, start)
		if x.text != "" {
			if err := os.WriteFile(path, []byte(x.text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Chmod(path, x.mode); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		if _, _, err := house.Open(dir, time.Now); err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: %v", name, err)
		}
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s: the file was written over", name)
		}
	}
}

// TestConstraints: the authority can vouch for private addresses and for nothing else (RFC 5280, section 4.2.1.10). Go's
// verifier is one judge, openssl, where it is installed, the other.
func TestConstraints(t *testing.T) {
	h, _ := opened(t, t.TempDir(), start)
	at := start.Add(time.Hour)
	for _, ip := range []string{"192.168.7.2", "10.1.2.3", "172.20.0.9", "169.254.3.3", "127.0.0.1", "::1", "fd12::9", "fe80::1"} {
		c, err := h.Leaf(net.ParseIP(ip))
		if err != nil {
			t.Fatal(ip, err)
		}
		if _, err := c.Leaf.Verify(x509.VerifyOptions{Roots: pool(t, h), DNSName: "[" + ip + "]", CurrentTime: at}); err != nil {
			t.Errorf("%s: %v", ip, err)
		}
		if days := c.Leaf.NotAfter.Sub(start).Hours() / 24; days < 29 || days > 31 {
			t.Errorf("%s: lives %.0f days", ip, days)
		}
	}
	for _, ip := range []string{"8.8.8.8", "172.32.0.1", "2001:db8::1"} {
		if _, err := h.Leaf(net.ParseIP(ip)); err == nil {
			t.Errorf("a certificate for %s", ip)
		}
	}
	for name, template := range house.Thefts() {
		der, err := house.Steal(h, template, start)
		if err != nil {
			t.Fatal(err)
		}
		stolen, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := stolen.Verify(x509.VerifyOptions{Roots: pool(t, h), CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageAny}}); err == nil {
			t.Errorf("a stolen key vouches for %s", name)
		}
		openssl(t, h, der, name, false)
	}
	good, err := h.Leaf(net.ParseIP("192.168.7.2"))
	if err != nil {
		t.Fatal(err)
	}
	openssl(t, h, good.Certificate[0], "a private address", true)
}

func openssl(t *testing.T, h *house.House, der []byte, what string, want bool) {
	t.Helper()
	tool, err := exec.LookPath("openssl")
	if err != nil {
		t.Log("openssl is not installed: one judge alone")
		return
	}
	dir := t.TempDir()
	for name, b := range map[string][]byte{"ca.der": h.Certificate(), "leaf.der": der} {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(tool, "x509", "-inform", "DER", "-in", filepath.Join(dir, name), "-out", filepath.Join(dir, name+".pem")).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	out, err := exec.Command(tool, "verify", "-x509_strict", "-attime", "1788253200", "-CAfile", filepath.Join(dir, "ca.der.pem"), filepath.Join(dir, "leaf.der.pem")).CombinedOutput()
	if (err == nil) != want {
		t.Errorf("openssl on %s: %v\n%s", what, err, out)
	}
}

// TestHandshake: a phone that trusts the authority gets through, one that does not turns away; a certificate that ends soon is renewed.
func TestHandshake(t *testing.T) {
	now := start
	h, _, err := house.Open(t.TempDir(), func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	l, err := tls.Listen("tcp", "127.0.0.1:0", h.TLS())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go func() { _ = c.(*tls.Conn).Handshake(); c.Close() }()
		}
	}()
	dial := func(roots *x509.CertPool) (string, error) {
		c, err := tls.Dial("tcp", l.Addr().String(), &tls.Config{RootCAs: roots, Time: func() time.Time { return now }})
		if err != nil {
			return "", err
		}
		defer c.Close()
		return c.ConnectionState().PeerCertificates[0].SerialNumber.String(), nil
	}
	first, err := dial(pool(t, h))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := dial(x509.NewCertPool()); err == nil {
		t.Error("a phone without the authority gets through")
	}
	now = now.Add(15 * 24 * time.Hour)
	if second, err := dial(pool(t, h)); err != nil || second != first {
		t.Errorf("after two weeks: %v, the same %v", err, second == first)
	}
	now = now.Add(7 * 24 * time.Hour)
	if third, err := dial(pool(t, h)); err != nil || third == first {
		t.Errorf("a week before its end it is not renewed: %v", err)
	}
}
