// Package house keeps the crew's own certificate authority, with which the shared page is served over TLS on a local
// network that no public authority vouches for.
//
// The authority is made once for a machine and kept in one file that its owner alone may read. It can vouch for addresses of
// private networks only: a name constraint, which phones hold it to, bars every name and every public address, so that
// whoever stole it could not pass for any site of the internet. Certificates for this machine's addresses are made
// when they are needed, live a month, are never written down, and are renewed while they serve.
//
// Source: X.509 certificates, name constraints and key identifiers by RFC 5280; private addresses by RFC 1918, RFC 3927,
// RFC 4193 and RFC 4291; ECDSA on P-256 by FIPS 186-5; the reserved name "invalid" by RFC 6761.
//
// Validity: phones that honour name constraints of an installed authority. One that does not is still asked to trust it for
// nothing that this program does not do; it is then only as safe as the file.
//
// Not modelled: revocation (delete the file, and the authority from the phones), intermediate authorities.
package house

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	// FileName is the authority's file in its folder: certificate and key.
	FileName = "house.pem"

	authorityLasts = 3 * 365 * 24 * time.Hour
	// Remade this long before it ends: a shoot that begins with a valid authority ends with one.
	authorityMargin = 30 * 24 * time.Hour
	leafLasts       = 30 * 24 * time.Hour
	leafMargin      = 10 * 24 * time.Hour
	clocksDiffer    = 24 * time.Hour // phones whose clock is behind
)

// House is the crew's own authority.
type House struct {
	now       func() time.Time
	authority *x509.Certificate
	key       *ecdsa.PrivateKey

	mu     sync.Mutex
	leaves map[string]*tls.Certificate // by address
}

// Dir is where the authority is kept: fieldfare in the user's configuration folder.
func Dir() (string, error) {
	config, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder for the house certificate: %w", err)
	}
	return filepath.Join(config, "fieldfare"), nil
}

// Open reads the authority in a folder, or makes one where there is none or where it ends soon; fresh says so: phones must then
// be given it.
func Open(dir string, now func() time.Time) (h *House, fresh bool, err error) {
	path := filepath.Join(dir, FileName)
	h, err = read(path, now)
	switch {
	case err == nil && now().Before(h.authority.NotAfter.Add(-authorityMargin)):
		return h, false, nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, false, fmt.Errorf("house certificate %s: %w; delete the file to have a new one made, and install that on the phones", path, err)
	}
	old := err == nil
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, false, fmt.Errorf("no folder for the house certificate: %w", err)
	}
	text, err := found(now())
	if err != nil {
		return nil, false, err
	}
	if err := keep(path, text, old); err != nil {
		return nil, false, fmt.Errorf("the house certificate cannot be kept: %w", err)
	}
	h, err = read(path, now) // another process may have been first: its file stands
	return h, true, err
}

// found makes an authority: its certificate and key as PEM.
func found(now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	host, _ := os.Hostname() // a name to know it by among the phone's certificates; "" will do
	template := &x509.Certificate{
		SerialNumber:          serial(),
		Subject:               pkix.Name{CommonName: strings.TrimSpace("fieldfare house certificate " + host)},
		NotBefore:             now.Add(-clocksDiffer),
		NotAfter:              now.Add(authorityLasts),
		KeyUsage:              x509.KeyUsageCertSign,
		BasicConstraintsValid: true,
		IsCA:                  true,
		MaxPathLenZero:        true,
		// Addresses of private networks and nothing else: one name that can never be anyone's bars all others.
		PermittedDNSDomainsCritical: true,
		PermittedIPRanges:           private(),
		PermittedDNSDomains:         []string{"fieldfare.invalid"},
		PermittedEmailAddresses:     []string{"fieldfare.invalid"},
		PermittedURIDomains:         []string{"fieldfare.invalid"},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	err = errors.Join(pem.Encode(&text, &pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.Encode(&text, &pem.Block{Type: "PRIVATE KEY", Bytes: secret}))
	return text.Bytes(), err
}

// private are the networks that nobody on the internet can be reached at.
func private() []*net.IPNet {
	var all []*net.IPNet
	for _, text := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"} {
		_, n, err := net.ParseCIDR(text)
		if err != nil {
			panic("house: " + err.Error()) // the list is fixed above
		}
		all = append(all, n)
	}
	return all
}

func serial() *big.Int {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails
	b[0] &= 0x7f        // positive, at most 20 bytes: RFC 5280, section 4.1.2.2
	return new(big.Int).SetBytes(b)
}

// keep writes the file whole or not at all; one that is there already stands unless it is to be replaced.
func keep(path string, text []byte, replace bool) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".house-*") // for its owner alone
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }() // gone already where it was renamed
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if replace {
		err = os.Rename(f.Name(), path)
	} else if err = os.Link(f.Name(), path); errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if d, err := os.Open(filepath.Dir(path)); err == nil { // so that the name outlives a power cut, where folders can be synced
		_ = d.Sync()
		_ = d.Close()
	}
	return nil
}

func read(path string, now func() time.Time) (*House, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("others may read it (%v): whoever has it can pass for this machine; if nobody has, chmod 600 it", info.Mode().Perm())
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	pair, err := tls.X509KeyPair(text, text)
	if err != nil {
		return nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || !pair.Leaf.IsCA || len(pair.Leaf.PermittedIPRanges) == 0 {
		return nil, errors.New("is not one that this program made")
	}
	return &House{now: now, authority: pair.Leaf, key: key, leaves: map[string]*tls.Certificate{}}, nil
}

// Certificate returns the authority's certificate as phones install it (DER).
func (h *House) Certificate() []byte { return h.authority.Raw }

// Ends is when the authority's certificate ends.
func (h *House) Ends() time.Time { return h.authority.NotAfter }

// Fingerprint is the SHA-256 of the certificate, in pairs: "3F A2 …". It is what a phone shows of it too.
func (h *House) Fingerprint() string {
	sum := sha256.Sum256(h.authority.Raw)
	text := strings.ToUpper(hex.EncodeToString(sum[:]))
	var pairs []string
	for pair := range slices.Chunk([]byte(text), 2) {
		pairs = append(pairs, string(pair))
	}
	return strings.Join(pairs, " ")
}

// TLS serves with a certificate for whatever address of this machine a phone has reached.
func (h *House) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, GetCertificate: func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		at, ok := hello.Conn.LocalAddr().(*net.TCPAddr)
		if !ok {
			return nil, fmt.Errorf("no address in %v", hello.Conn.LocalAddr())
		}
		return h.Leaf(at.IP)
	}}
}

// Leaf returns a certificate for an address, fresh when the last one ends soon.
func (h *House) Leaf(ip net.IP) (*tls.Certificate, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.now()
	if had := h.leaves[ip.String()]; had != nil && now.Before(had.Leaf.NotAfter.Add(-leafMargin)) {
		return had, nil
	}
	if !slices.ContainsFunc(private(), func(n *net.IPNet) bool { return n.Contains(ip) }) {
		return nil, fmt.Errorf("%v is not an address of a private network", ip)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	ends := now.Add(leafLasts)
	if ends.After(h.authority.NotAfter) {
		ends = h.authority.NotAfter
	}
	template := &x509.Certificate{
		SerialNumber: serial(),
		Subject:      pkix.Name{CommonName: "fieldfare at " + ip.String()}, // the blank keeps judges from taking it for a host's name
		IPAddresses:  []net.IP{ip},
		NotBefore:    now.Add(-clocksDiffer),
		NotAfter:     ends,
		KeyUsage:     x509.KeyUsageDigitalSignature,
		ExtKeyUsage:  []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, h.authority, key.Public(), h.key)
	if err != nil {
		return nil, err
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	made := &tls.Certificate{Certificate: [][]byte{der, h.authority.Raw}, PrivateKey: key, Leaf: leaf}
	if len(h.leaves) > 64 {
		clear(h.leaves)
	}
	h.leaves[ip.String()] = made
	return made, nil
}
