package server

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"net"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/skip2/go-qrcode"
)

// Role is what a visitor may do: a lead edits, crew tick and log.
type Role string

// Roles. A stranger has none.
const (
	Lead     Role = "lead"
	Crew     Role = "crew"
	Stranger Role = ""
)

const (
	sessionCookie = "fieldfare"
	sessionLasts  = 18 * time.Hour // a shooting day
	codeLasts     = 15 * time.Minute
	joinsPerMin   = 6.0
	wrongCodes    = 20 // then every open code is void
)

// door hands out one-time codes and keeps the sessions that they opened.
type door struct {
	now func() time.Time

	mu       sync.Mutex
	codes    map[string]pass             // by code
	sessions map[[sha256.Size]byte]entry // by the hash of the cookie: the cookie itself is not kept
	wrong    int
	tries    rates
}

type pass struct {
	role  Role
	until time.Time
}

type entry struct {
	role  Role
	name  string
	until time.Time
}

func newDoor(now func() time.Time) *door {
	return &door{now: now, codes: map[string]pass{}, sessions: map[[sha256.Size]byte]entry{}, tries: rates{perS: joinsPerMin / 60, burst: joinsPerMin, now: now}}
}

// code makes a fresh one-time code of 40 random bits.
func (d *door) code(role Role) string {
	b := make([]byte, 5)
	rand.Read(b)
	code := base32.NewEncoding("ABCDEFGHJKMNPQRSTVWXYZ0123456789").EncodeToString(b)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.sweep()
	d.codes[code] = pass{role, d.now().Add(codeLasts)}
	return code
}

func (d *door) sweep() {
	now := d.now()
	for c, p := range d.codes {
		if now.After(p.until) {
			delete(d.codes, c)
		}
	}
	for h, e := range d.sessions {
		if now.After(e.until) {
			delete(d.sessions, h)
		}
	}
}

// join takes a code, once, and returns the cookie's value.
func (d *door) join(code, name string) (token string, role Role, ok bool) {
	code = strings.ToUpper(strings.TrimSpace(code))
	d.mu.Lock()
	defer d.mu.Unlock()
	d.sweep()
	for c, p := range d.codes {
		if subtle.ConstantTimeCompare([]byte(c), []byte(code)) == 1 {
			delete(d.codes, c)
			token = rand.Text()
			d.sessions[sha256.Sum256([]byte(token))] = entry{p.role, name, d.now().Add(sessionLasts)}
			d.wrong = 0
			return token, p.role, true
		}
	}
	if d.wrong++; d.wrong >= wrongCodes {
		d.codes, d.wrong = map[string]pass{}, 0
	}
	return "", Stranger, false
}

func (d *door) who(r *http.Request) (Role, string) {
	cookie, err := r.Cookie(sessionCookie)
	if err != nil {
		return Stranger, ""
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	e, ok := d.sessions[sha256.Sum256([]byte(cookie.Value))]
	if !ok || d.now().After(e.until) {
		return Stranger, ""
	}
	return e.role, e.name
}

type roleKey struct{}

// role is that of the request's visitor. Whoever sits at this machine leads.
func (s *Server) role(r *http.Request) (Role, string) {
	if fromHere(r) && !s.Strict {
		return Lead, ""
	}
	return s.door.who(r)
}

// crewMay are the changes that crew may make.
var crewMay = map[string]bool{"/api/log": true, "/api/recording": true}

// admit lets strangers see the page and join, crew look, tick and log, and leads everything.
func (s *Server) admit(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		role, _ := s.role(r)
		path := r.URL.Path
		open := !strings.HasPrefix(path, "/api/") || path == "/api/join" || path == "/api/session"
		switch {
		case open:
		case role == Stranger:
			http.Error(w, "join first: ask the lead for a code", http.StatusUnauthorized)
			return
		case role == Crew && (changes(r) && !crewMay[path] || path == "/api/source"):
			http.Error(w, "only a lead may change the plan", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), roleKey{}, role)))
	})
}

// Session is who the visitor is.
type Session struct {
	Role   string `json:"role" enum:"lead,crew,"`
	Name   string `json:"name"`
	Shared bool   `json:"shared" doc:"the server is open to the local network"`
}

// Invitation is a one-time code to join with.
type Invitation struct {
	Code  string    `json:"code"`
	URL   string    `json:"url"`
	Role  string    `json:"role"`
	Until time.Time `json:"until"`
	QR    []string  `json:"qr" nullable:"false" doc:"rows of 0 and 1"`
	Trust *Trust    `json:"trust" doc:"null: phones need nothing"`
}

// Trust is what a phone needs once, before it can join over TLS with the house's own certificate.
type Trust struct {
	URL         string   `json:"url" doc:"plain page that offers the certificate"`
	Fingerprint string   `json:"fingerprint" doc:"SHA-256 of the certificate, to compare with what the phone shows"`
	QR          []string `json:"qr" nullable:"false" doc:"rows of 0 and 1"`
}

type joinInput struct {
	Body struct {
		Code string `json:"code" maxLength:"40"`
		Name string `json:"name" maxLength:"80"`
	}
}

type joinOutput struct {
	SetCookie http.Cookie `header:"Set-Cookie"`
	Body      Session
}

type inviteInput struct {
	Body struct {
		Role string `json:"role" enum:"lead,crew"`
	}
}

func (s *Server) sessionRoutes(api huma.API) {
	// The visitor is told by the request, which huma's handlers do not see: a middleware passes it on.
	api.UseMiddleware(func(c huma.Context, next func(huma.Context)) {
		next(huma.WithValue(c, addressKey{}, c.RemoteAddr()))
	})
	huma.Get(api, "/api/session", func(ctx context.Context, in *struct {
		Cookie http.Cookie `cookie:"fieldfare"`
	}) (*answer[Session], error) {
		r := &http.Request{Header: http.Header{}, RemoteAddr: address(ctx)}
		if in.Cookie.Value != "" {
			r.AddCookie(&in.Cookie)
		}
		role, name := s.role(r)
		return with(Session{string(role), name, s.Shared}), nil
	})
	huma.Post(api, "/api/join", func(ctx context.Context, in *joinInput) (*joinOutput, error) {
		host, _, _ := net.SplitHostPort(address(ctx))
		if !s.door.tries.allow(host) {
			return nil, huma.Error429TooManyRequests("too many tries: wait a minute")
		}
		token, role, ok := s.door.join(in.Body.Code, strings.TrimSpace(in.Body.Name))
		if !ok {
			return nil, huma.Error403Forbidden("this code is not valid any more: ask the lead for a fresh one")
		}
		s.hub.send(event{Kind: "joined", Text: in.Body.Name})
		return &joinOutput{
			SetCookie: http.Cookie{Name: sessionCookie, Value: token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure, MaxAge: int(sessionLasts.Seconds())},
			Body:      Session{string(role), in.Body.Name, s.Shared},
		}, nil
	})
	huma.Post(api, "/api/invite", func(_ context.Context, in *inviteInput) (*answer[Invitation], error) {
		if !s.Shared {
			return nil, huma.Error409Conflict("this server answers on this machine alone: start it with --share to let phones join")
		}
		code := s.door.code(Role(in.Body.Role))
		out := Invitation{Code: code, Role: in.Body.Role, Until: s.now().Add(codeLasts), URL: s.Root() + "/field#join=" + code}
		var err error
		if out.QR, err = squares(out.URL); err != nil {
			return nil, huma.Error500InternalServerError(err.Error())
		}
		if s.House != nil {
			out.Trust = &Trust{URL: "http://" + s.Address + "/", Fingerprint: s.House.Fingerprint()}
			if out.Trust.QR, err = squares(out.Trust.URL); err != nil {
				return nil, huma.Error500InternalServerError(err.Error())
			}
		}
		return with(out), nil
	})
}

// squares is a text as a QR code, in rows of 0 and 1.
func squares(text string) ([]string, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return nil, err
	}
	rows := []string{}
	for _, row := range q.Bitmap() {
		var line strings.Builder
		for _, dark := range row {
			line.WriteByte("01"[map[bool]int{false: 0, true: 1}[dark]])
		}
		rows = append(rows, line.String())
	}
	return rows, nil
}

// Root is where phones reach the page.
func (s *Server) Root() string {
	if s.Secure {
		return "https://" + s.Address
	}
	return "http://" + s.Address
}

type addressKey struct{}

func address(ctx context.Context) string {
	text, _ := ctx.Value(addressKey{}).(string)
	return text
}

// LocalAddress is this machine's address on the local network: the first private one, of IPv4 where there is one.
func LocalAddress() (found net.IP, ok bool) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, false
	}
	for _, a := range all {
		n, isNet := a.(*net.IPNet)
		if !isNet || !n.IP.IsPrivate() {
			continue
		}
		if n.IP.To4() != nil {
			return n.IP, true
		}
		if found == nil {
			found = n.IP
		}
	}
	return found, found != nil
}
