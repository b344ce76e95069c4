package house

import (
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"math/big"
	"net"
	"net/url"
	"time"
)

// Thefts are certificates that a thief of the key would like to have.
func Thefts() map[string]*x509.Certificate {
	return map[string]*x509.Certificate{
		"a name":                  {DNSNames: []string{"bank.example"}},
		"a public address":        {IPAddresses: []net.IP{net.ParseIP("203.0.113.7")}},
		"a public IPv6":           {IPAddresses: []net.IP{net.ParseIP("2001:db8::7")}},
		"a mailbox":               {EmailAddresses: []string{"chief@bank.example"}},
		"a page":                  {URIs: []*url.URL{{Scheme: "https", Host: "bank.example"}}},
		"an authority of its own": {IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign, DNSNames: []string{"bank.example"}},
	}
}

// Steal signs a certificate with the authority's key.
func Steal(h *House, template *x509.Certificate, now time.Time) ([]byte, error) {
	template.SerialNumber, template.Subject = big.NewInt(7), pkix.Name{CommonName: "theft"}
	template.NotBefore, template.NotAfter = now.Add(-time.Hour), now.Add(48*time.Hour)
	return x509.CreateCertificate(rand.Reader, template, h.authority, h.key.Public(), h.key)
}
