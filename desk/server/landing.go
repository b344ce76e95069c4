package server

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"net/http"

	"fieldfare/plan/check"
)

// The page that a phone finds in plain text at the shared address: how to come to trust this machine, and the way on.

//go:embed landing.html
var landingText string

//go:embed landing.css
var landingLook string

var landingPage = template.Must(template.New("landing").Parse(landingText))

// certificatePath is where phones get the house certificate.
const certificatePath = "/house.crt"

// Landing answers plain requests at the shared address. It tells nothing of the shoot.
func (s *Server) Landing() http.Handler {
	sum := sha256.Sum256([]byte(landingLook))
	policy := "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
	limit := rates{perS: requestsPerS, burst: requestsBurst, now: s.now}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		switch {
		case !limit.allow(client(r)):
			http.Error(w, "too many requests: wait a moment", http.StatusTooManyRequests)
		case !s.hostAllowed(r.Host):
			http.Error(w, "this server does not answer to the name "+strconvQuote(r.Host), http.StatusMisdirectedRequest)
		case changes(r):
			http.Error(w, "nothing is changed in plain text: go to "+s.Root(), http.StatusUpgradeRequired)
		case s.House == nil: // a certificate that phones trust already
			http.Redirect(w, r, s.Root()+r.URL.EscapedPath(), http.StatusPermanentRedirect)
		case r.URL.Path == certificatePath:
			h.Set("Content-Type", "application/x-x509-ca-cert")
			h.Set("Content-Disposition", `attachment; filename="fieldfare-house.crt"`)
			w.Write(s.House.Certificate())
		default:
			h.Set("Content-Type", "text/html; charset=utf-8")
			_ = landingPage.Execute(w, map[string]any{ // a phone that went away needs no answer
				"Look": template.CSS(landingLook), "Fingerprint": s.House.Fingerprint(), "Certificate": certificatePath,
				"Ends": s.House.Ends().Format("2 January 2006"), "Secure": s.Root() + "/field", "Safety": check.Safety,
			})
		}
	})
}
