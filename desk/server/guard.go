package server

import (
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"
)

// What every request must pass before anything looks at it: the right host (a foreign name that was
// rebound to our address is turned away), no other site's page behind it, a fair rate, a fair size.

// ownHeader is set by our page on every change; a page of another origin cannot set it without our leave.
const ownHeader = "Fieldfare-Page"

// policy lets the page load nothing from elsewhere. Maps draw in a worker and keep pictures as blobs.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data: blob:; " +
	"connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"

const (
	largestBody     = 2 << 20
	requestsPerS    = 60.0 // a map sheet asks for dozens of tiles at once
	requestsBurst   = 400.0
	streamsEach     = 8   // open news streams of one address
	connectionsEach = 64  // of one address
	connectionsAll  = 512 // of all
)

// guard stands before every other handler.
func (s *Server) guard(next http.Handler) http.Handler {
	limit := rates{perS: requestsPerS, burst: requestsBurst, now: s.now}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(), microphone=(), camera=(self)")
		switch {
		case !limit.allow(client(r)):
			h.Set("Retry-After", "2")
			http.Error(w, "too many requests: wait a moment", http.StatusTooManyRequests)
		case !s.hostAllowed(r.Host):
			http.Error(w, "this server does not answer to the name "+strconvQuote(r.Host), http.StatusMisdirectedRequest)
		case foreign(r):
			http.Error(w, "asked for by a page of another site", http.StatusForbidden)
		case changes(r) && r.Header.Get(ownHeader) == "":
			http.Error(w, "changes need the header "+ownHeader, http.StatusForbidden)
		default:
			largest := int64(largestBody)
			switch r.URL.Path {
			case "/api/recording":
				largest = largestRecording
			case "/api/bring":
				largest = largestFeatures
			}
			r.Body = http.MaxBytesReader(w, r.Body, largest)
			next.ServeHTTP(w, r)
		}
	})
}

func strconvQuote(s string) string {
	if len(s) > 80 {
		s = s[:80]
	}
	return "\"" + strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, s) + "\""
}

func changes(r *http.Request) bool {
	return r.Method != http.MethodGet && r.Method != http.MethodHead
}

// scheme is how the request came: a page in plain text at our address may be anyone's on this network.
func scheme(r *http.Request) string {
	if r.TLS != nil {
		return "https"
	}
	return "http"
}

// foreign tells whether another site's page is behind the request.
func foreign(r *http.Request) bool {
	if origin := r.Header.Get("Origin"); origin != "" {
		u, err := url.Parse(origin)
		if err != nil || u.Host != r.Host || u.Scheme != scheme(r) {
			return true
		}
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return false
	}
	return changes(r) || strings.HasPrefix(r.URL.Path, "/api/")
}

// hostAllowed lets in addresses, this machine's own name for itself, and nothing that a name
// server somewhere could point at us.
func (s *Server) hostAllowed(host string) bool {
	name, _, err := net.SplitHostPort(host)
	if err != nil {
		name = host
	}
	name = strings.Trim(name, "[]")
	if name == "localhost" {
		return true
	}
	ip := net.ParseIP(name)
	if ip == nil {
		return false
	}
	if ip.IsLoopback() {
		return true
	}
	return s.Shared && (ip.IsPrivate() || ip.IsLinkLocalUnicast())
}

// client is the address behind a request.
func client(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

func fromHere(r *http.Request) bool {
	ip := net.ParseIP(client(r))
	return ip != nil && ip.IsLoopback()
}

// rates lets each address make so many requests a second.
type rates struct {
	perS, burst float64
	now         func() time.Time

	mu  sync.Mutex
	all map[string]*bucket
}

type bucket struct {
	left float64
	at   time.Time
}

func (l *rates) allow(who string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	if l.all == nil || len(l.all) > 4096 {
		l.all = map[string]*bucket{}
	}
	b := l.all[who]
	if b == nil {
		b = &bucket{l.burst, now}
		l.all[who] = b
	}
	b.left = min(l.burst, b.left+now.Sub(b.at).Seconds()*l.perS)
	b.at = now
	if b.left < 1 {
		return false
	}
	b.left--
	return true
}

// counter bounds how many of something each address has open.
type counter struct {
	mu  sync.Mutex
	all map[string]int
	sum int
}

// take counts one more and says whether that is still within the bounds; 0 is no bound.
func (c *counter) take(who string, each, most int) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.all == nil {
		c.all = map[string]int{}
	}
	if each > 0 && c.all[who] >= each || most > 0 && c.sum >= most {
		return false
	}
	c.all[who]++
	c.sum++
	return true
}

func (c *counter) give(who string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.sum--
	if c.all[who]--; c.all[who] <= 0 {
		delete(c.all, who)
	}
}

// Limited lets only so many connections be open at once, in all and from one address.
func Limited(l net.Listener) net.Listener {
	return &limited{Listener: l, each: connectionsEach, most: connectionsAll}
}

type limited struct {
	net.Listener
	open       counter
	each, most int
}

func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		who, _, _ := net.SplitHostPort(c.RemoteAddr().String())
		if l.open.take(who, l.each, l.most) {
			return &counted{Conn: c, done: func() { l.open.give(who) }}, nil
		}
		_ = c.Close() // nothing was said on it
	}
}

type counted struct {
	net.Conn
	once sync.Once
	done func()
}

func (c *counted) Close() error {
	c.once.Do(c.done)
	return c.Conn.Close()
}
