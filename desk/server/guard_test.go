package server

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// shut is a server without a shoot: what stands before every handler is the same.
func shut(t *testing.T) *Server {
	t.Helper()
	s := &Server{Dir: t.TempDir(), now: time.Now, life: t.Context(), Shared: true, Address: "192.168.7.2:8417"}
	s.door = newDoor(func() time.Time { return s.now() })
	return s
}

type request struct {
	method, path, host, from, body string
	header                         map[string]string
}

func try(h http.Handler, q request) *http.Response {
	if q.method == "" {
		q.method = "GET"
	}
	r := httptest.NewRequest(q.method, "http://"+q.host+q.path, strings.NewReader(q.body))
	r.Host, r.RemoteAddr = q.host, q.from
	for k, v := range q.header {
		r.Header.Set(k, v)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

const (
	here    = "127.0.0.1:50000"
	phone   = "192.168.7.30:50000"
	hostLAN = "192.168.7.2:8417"
)

func own(more ...string) map[string]string {
	h := map[string]string{ownHeader: "1", "Content-Type": "application/json"}
	for i := 0; i+1 < len(more); i += 2 {
		h[more[i]] = more[i+1]
	}
	return h
}

// TestHost: a name that someone else's name server points at us gets no answer (DNS rebinding).
func TestHost(t *testing.T) {
	s := shut(t)
	h := s.Handler()
	for host, want := range map[string]int{
		"127.0.0.1:8417": 200, "localhost:8417": 200, "[::1]:8417": 200, hostLAN: 200,
		"evil.example:8417": 421, "192.168.7.2.evil.example": 421, "8.8.8.8": 421, "": 421,
	} {
		if got := try(h, request{path: "/api/session", host: host, from: here}).StatusCode; got != want {
			t.Errorf("Host %q: %d, want %d", host, got, want)
		}
	}
	s.Shared = false
	if got := try(h, request{path: "/api/session", host: hostLAN, from: here}).StatusCode; got != 421 {
		t.Errorf("a server that is not shared answers to %s: %d", hostLAN, got)
	}
}

// TestForeignPages: neither a form nor a script of another site changes or reads anything.
func TestForeignPages(t *testing.T) {
	h := shut(t).Handler()
	for name, x := range map[string]struct {
		q    request
		want int
	}{
		"no header of ours":    {request{method: "POST", path: "/api/undo", header: map[string]string{"Content-Type": "application/json"}}, 403},
		"another origin":       {request{method: "POST", path: "/api/undo", header: own("Origin", "http://evil.example")}, 403},
		"an opaque origin":     {request{method: "POST", path: "/api/undo", header: own("Origin", "null")}, 403},
		"another port":         {request{method: "POST", path: "/api/undo", header: own("Origin", "http://127.0.0.1:9")}, 403},
		"cross-site read":      {request{path: "/api/state", header: map[string]string{"Sec-Fetch-Site": "cross-site"}}, 403},
		"same-site write":      {request{method: "POST", path: "/api/undo", header: own("Sec-Fetch-Site", "same-site")}, 403},
		"a link from outside":  {request{path: "/frame", header: map[string]string{"Sec-Fetch-Site": "cross-site"}}, 0},
		"our own page's read":  {request{path: "/api/session", header: map[string]string{"Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:8417"}}, 200},
		"our own page's write": {request{method: "POST", path: "/api/stop", body: "{}", header: own("Sec-Fetch-Site", "same-origin", "Origin", "http://127.0.0.1:8417")}, 200},
	} {
		x.q.host, x.q.from = "127.0.0.1:8417", here
		got := try(h, x.q)
		if x.want != 0 && got.StatusCode != x.want || x.want == 0 && got.StatusCode == 403 {
			text, _ := io.ReadAll(got.Body)
			t.Errorf("%s: %d, want %d: %s", name, got.StatusCode, x.want, text)
		}
		if got.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: other origins are let in", name)
		}
	}
}

func TestPolicy(t *testing.T) {
	got := try(shut(t).Handler(), request{path: "/", host: "127.0.0.1", from: here}).Header
	csp := got.Get("Content-Security-Policy")
	for _, part := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "connect-src 'self'", "frame-ancestors 'none'"} {
		if !strings.Contains(csp, part) {
			t.Errorf("the policy lacks %q: %s", part, csp)
		}
	}
	for _, loose := range []string{"unsafe", "http:", "https:", "*"} {
		if strings.Contains(csp, loose) {
			t.Errorf("the policy holds %q: %s", loose, csp)
		}
	}
	if got.Get("X-Content-Type-Options") != "nosniff" {
		t.Error("types are guessed")
	}
}

// TestRoles: strangers join and no more, crew look and log, leads edit; a code opens one session.
func TestRoles(t *testing.T) {
	s := shut(t)
	h := s.Handler()
	status := func(method, path, cookie, body string) int {
		header := own()
		if cookie != "" {
			header["Cookie"] = sessionCookie + "=" + cookie
		}
		return try(h, request{method: method, path: path, host: hostLAN, from: phone, body: body, header: header}).StatusCode
	}
	for _, path := range []string{"/api/state", "/api/site", "/api/heights.f32", "/api/events", "/api/log", "/api/book.pdf", "/api/tiles/1/1/1", "/api/openapi.json",
		"/api/sorties", "/api/review?sortie=1", "/api/review.pdf?sortie=1", "/api/originals/00", "/api/ladder", "/api/lessons", "/api/packs", "/api/reports/pdf?what=hours", "/api/answer", "/api/travel.pdf", "/api/bundle.zip", "/api/film"} {
		if got := status("GET", path, "", ""); got != 401 {
			t.Errorf("a stranger asks for %s: %d", path, got)
		}
	}
	if got := status("POST", "/api/invite", "", `{"role":"lead"}`); got != 401 {
		t.Errorf("a stranger invites: %d", got)
	}
	if got := status("GET", "/api/state", "made-up", ""); got != 401 {
		t.Errorf("a made-up cookie: %d", got)
	}

	invite := func(role string) string {
		answer := try(h, request{method: "POST", path: "/api/invite", host: "127.0.0.1", from: here, body: fmt.Sprintf(`{"role":%q}`, role), header: own()})
		var got Invitation
		if err := json.NewDecoder(answer.Body).Decode(&got); err != nil || answer.StatusCode != 200 || len(got.QR) < 21 || !strings.HasSuffix(got.URL, "#join="+got.Code) {
			t.Fatalf("invitation: %d %v %+v", answer.StatusCode, err, got)
		}
		return got.Code
	}
	join := func(code string) (string, *http.Cookie, int) {
		answer := try(h, request{method: "POST", path: "/api/join", host: hostLAN, from: phone, body: fmt.Sprintf(`{"code":%q,"name":"Maud"}`, code), header: own()})
		for _, c := range answer.Cookies() {
			return c.Value, c, answer.StatusCode
		}
		return "", nil, answer.StatusCode
	}
	code := invite("crew")
	crew, cookie, got := join(strings.ToLower(code))
	if got != 200 || cookie == nil || !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Path != "/" {
		t.Fatalf("joining: %d %+v", got, cookie)
	}
	if _, _, got := join(code); got != 403 {
		t.Errorf("a code was taken twice: %d", got)
	}
	if got := status("GET", "/api/stop", crew, ""); got == 401 || got == 403 {
		t.Errorf("crew are kept out: %d", got)
	}
	for _, path := range []string{"/api/edit", "/api/add", "/api/source", "/api/undo", "/api/redo", "/api/stop", "/api/invite", "/api/replan", "/api/calmer", "/api/practice", "/api/bring", "/api/score", "/api/lessons", "/api/film", "/api/film/cancel"} {
		if got := status("POST", path, crew, "{}"); got != 403 {
			t.Errorf("crew change %s: %d", path, got)
		}
	}
	if got := status("POST", "/api/log", crew, `{"entries":[{"id":"abcdefgh1","kind":"remark","at":"2026-09-22T08:00:00Z","by":"MF","body":{"text":"wind drops"}}]}`); got == 403 || got == 401 {
		t.Errorf("crew may not log: %d", got)
	}
	if got := status("POST", "/api/recording?sortie=1&name=a.gpx", crew, "x"); got == 403 || got == 401 {
		t.Errorf("crew may not bring a recording: %d", got)
	}
	lead, _, _ := join(invite("lead"))
	if got := status("POST", "/api/stop", lead, "{}"); got != 200 {
		t.Errorf("a lead may not stop the work: %d", got)
	}

	// Codes and sessions end.
	old := invite("crew")
	s.now = func() time.Time { return time.Now().Add(codeLasts + time.Minute) }
	if _, _, got := join(old); got != 403 {
		t.Errorf("an old code: %d", got)
	}
	s.now = func() time.Time { return time.Now().Add(sessionLasts + time.Hour) }
	if got := status("GET", "/api/state", crew, ""); got != 401 {
		t.Errorf("an old session: %d", got)
	}
}

// TestGuessing: codes cannot be tried out, neither fast nor for long.
func TestGuessing(t *testing.T) {
	s := shut(t)
	h := s.Handler()
	slow := 0
	for range 12 {
		if try(h, request{method: "POST", path: "/api/join", host: hostLAN, from: phone, body: `{"code":"AAAAAAAA","name":"x"}`, header: own()}).StatusCode == 429 {
			slow++
		}
	}
	if slow < 5 {
		t.Errorf("only %d of 12 guesses were slowed down", slow)
	}
	code := s.door.code(Lead)
	for range wrongCodes {
		s.door.join("nothing", "x")
	}
	if _, _, ok := s.door.join(code, "x"); ok {
		t.Error("a code outlived many wrong ones")
	}
}

func TestLimits(t *testing.T) {
	s := shut(t)
	at := time.Now()
	s.now = func() time.Time { return at }
	h := s.Handler()
	refused := 0
	for range int(requestsBurst) + 50 {
		if try(h, request{path: "/api/session", host: hostLAN, from: phone}).StatusCode == 429 {
			refused++
		}
	}
	if refused < 40 {
		t.Errorf("%d requests too many were refused, want about 50", refused)
	}
	if got := try(h, request{path: "/api/session", host: hostLAN, from: "192.168.7.31:1"}).StatusCode; got != 200 {
		t.Errorf("one phone's haste slows another: %d", got)
	}
	at = at.Add(2 * time.Second)
	if got := try(h, request{path: "/api/session", host: hostLAN, from: phone}).StatusCode; got != 200 {
		t.Errorf("a phone stays locked out: %d", got)
	}
	big := `{"code":"` + strings.Repeat("A", largestBody+10) + `","name":""}`
	if got := try(h, request{method: "POST", path: "/api/join", host: hostLAN, from: "192.168.7.32:1", body: big, header: own()}).StatusCode; got < 400 || got >= 500 {
		t.Errorf("a body of %d bytes: %d", len(big), got)
	}
}

func TestConnections(t *testing.T) {
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := &limited{Listener: inner, each: 3}
	web := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, "ok") })}
	go web.Serve(l)
	defer web.Close()
	var open []net.Conn
	answered := 0
	for range 6 {
		c, err := net.Dial("tcp", inner.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		open = append(open, c)
		c.SetDeadline(time.Now().Add(5 * time.Second))
		fmt.Fprint(c, "GET / HTTP/1.1\r\nHost: x\r\n\r\n")
		if n, _ := c.Read(make([]byte, 16)); n > 0 {
			answered++
		}
	}
	if answered != 3 {
		t.Errorf("%d connections were answered, want 3", answered)
	}
	for _, c := range open {
		c.Close()
	}
	until(t, func() bool {
		l.open.mu.Lock()
		defer l.open.mu.Unlock()
		return l.open.sum == 0
	})
}

// TestStreams: one phone cannot hold every news stream.
func TestStreams(t *testing.T) {
	s := shut(t)
	web := httptest.NewServer(s.Handler())
	defer web.Close()
	got := 0
	for range streamsEach + 3 {
		answer, err := http.Get(web.URL + "/api/events")
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		if answer.StatusCode == 200 {
			got++
		}
	}
	if got != streamsEach {
		t.Errorf("%d streams opened, want %d", got, streamsEach)
	}
}
