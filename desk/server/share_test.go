package server

import (
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/house"
)

// sharing is a server without a shoot, shared over TLS at 127.0.0.1 as the command line does it.
func sharing(t *testing.T) (s *Server, phone *http.Client) {
	t.Helper()
	s = shut(t)
	own, _, err := house.Open(t.TempDir(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.Secure, s.House, s.Address, s.Strict = true, own, l.Addr().String(), true
	web := &http.Server{Handler: s.Handler(), TLSConfig: own.TLS()}
	landing := &http.Server{Handler: s.Landing()}
	secure, plain := Split(l)
	here, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go web.Serve(here) // the laptop's own, by the same server
	time.Sleep(20 * time.Millisecond)
	go web.ServeTLS(secure, "", "")
	go landing.Serve(plain)
	t.Cleanup(func() { web.Close(); landing.Close() })
	authority, err := x509.ParseCertificate(own.Certificate())
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(authority)
	return s, &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true}, Timeout: 10 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

func send(t *testing.T, phone *http.Client, method, url, body string, header map[string]string) *http.Response {
	t.Helper()
	r, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range header {
		r.Header.Set(k, v)
	}
	answer, err := phone.Do(r)
	if err != nil {
		t.Fatalf("%s %s: %v", method, url, err)
	}
	t.Cleanup(func() { answer.Body.Close() })
	return answer
}

// TestSharedOverTLS: a phone that trusts the house joins over TLS; all that guards the page still does.
func TestSharedOverTLS(t *testing.T) {
	s, phone := sharing(t)
	if got := send(t, phone, "GET", s.Root()+"/api/state", "", nil).StatusCode; got != 401 {
		t.Errorf("a stranger: %d", got)
	}
	if _, err := http.Get(s.Root() + "/"); err == nil {
		t.Error("a phone that does not trust the house gets through")
	}
	lead := s.door.code(Lead)
	cookie := send(t, phone, "POST", s.Root()+"/api/join", fmt.Sprintf(`{"code":%q,"name":"Maud"}`, lead), own("Origin", s.Root())).Cookies()
	if len(cookie) != 1 || !cookie[0].Secure || !cookie[0].HttpOnly || cookie[0].SameSite != http.SameSiteStrictMode {
		t.Fatalf("cookies: %+v", cookie)
	}
	with := func(more ...string) map[string]string {
		return own(append(more, "Cookie", cookie[0].Name+"="+cookie[0].Value)...)
	}
	answer := send(t, phone, "POST", s.Root()+"/api/invite", `{"role":"crew"}`, with())
	var invitation Invitation
	if err := json.NewDecoder(answer.Body).Decode(&invitation); err != nil || answer.StatusCode != 200 {
		t.Fatal(answer.StatusCode, err)
	}
	if !strings.HasPrefix(invitation.URL, "https://"+s.Address) || invitation.Trust == nil || invitation.Trust.Fingerprint != s.House.Fingerprint() ||
		invitation.Trust.URL != "http://"+s.Address+"/" || len(invitation.Trust.QR) < 21 {
		t.Errorf("invitation: %+v", invitation)
	}
	for name, x := range map[string]struct {
		header map[string]string
		want   int
	}{
		"our own page":                    {with("Origin", s.Root()), 200},
		"a page in plain text at our own": {with("Origin", "http://"+s.Address), 403},
		"another site":                    {with("Origin", "https://evil.example"), 403},
		"no header of ours":               {map[string]string{"Content-Type": "application/json", "Cookie": cookie[0].Name + "=" + cookie[0].Value}, 403},
	} {
		if got := send(t, phone, "POST", s.Root()+"/api/stop", "{}", x.header).StatusCode; got != x.want {
			t.Errorf("%s: %d, want %d", name, got, x.want)
		}
	}
	r, err := http.NewRequest("GET", s.Root()+"/api/session", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Host = "evil.example"
	rebound, err := phone.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	rebound.Body.Close()
	if rebound.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("a rebound name: %d", rebound.StatusCode)
	}
}

// TestLanding: in plain text there is the house certificate and the way to it, and nothing of the shoot.
func TestLanding(t *testing.T) {
	s, phone := sharing(t)
	plain := "http://" + s.Address
	answer := send(t, phone, "GET", plain+certificatePath, "", nil)
	der, err := io.ReadAll(answer.Body)
	if err != nil || answer.Header.Get("Content-Type") != "application/x-x509-ca-cert" || string(der) != string(s.House.Certificate()) {
		t.Errorf("the certificate: %v, %d bytes, %v", err, len(der), answer.Header)
	}
	sum := sha256.Sum256([]byte(landingLook))
	for _, path := range []string{"/", "/field", "/api/state", "/api/log", "/api/map"} {
		answer := send(t, phone, "GET", plain+path, "", nil)
		body, err := io.ReadAll(answer.Body)
		text := string(body)
		if err != nil || !strings.Contains(text, s.House.Fingerprint()) || !strings.Contains(text, s.Root()+"/field") || !strings.Contains(text, "Planning aid only.") ||
			!strings.Contains(text, "only if the fingerprint agrees") || strings.Contains(text, "<script") || strings.Contains(text, "milk") {
			t.Errorf("%s: %v\n%s", path, err, text)
		}
		if csp := answer.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || !strings.Contains(csp, base64.StdEncoding.EncodeToString(sum[:])) || !strings.Contains(text, landingLook) {
			t.Errorf("%s: the policy does not fit the page's look: %s", path, csp)
		}
	}
	if got := send(t, phone, "POST", plain+"/api/join", `{"code":"X","name":"x"}`, own()).StatusCode; got != http.StatusUpgradeRequired {
		t.Errorf("joining in plain text: %d", got)
	}
	s.House = nil
	if answer := send(t, phone, "GET", plain+"/light", "", nil); answer.StatusCode != 308 || answer.Header.Get("Location") != s.Root()+"/light" {
		t.Errorf("with a certificate that phones trust: %d to %s", answer.StatusCode, answer.Header.Get("Location"))
	}
}

// TestSplit: a phone that says nothing holds up nobody.
func TestSplit(t *testing.T) {
	s, phone := sharing(t)
	mute, err := net.Dial("tcp", s.Address)
	if err != nil {
		t.Fatal(err)
	}
	defer mute.Close()
	start := time.Now()
	if got := send(t, phone, "GET", s.Root()+"/api/session", "", nil).StatusCode; got != 200 {
		t.Error(got)
	}
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("it took %v", took)
	}
}
