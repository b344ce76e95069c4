package server

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// flight writes a slate's path as a recorder would, two metres higher, with a minute of hover before and
// after, by a clock that runs behind.
func flight(t *testing.T, s *Server, slate string, cue time.Time, behind time.Duration) []byte {
	t.Helper()
	a := s.state.Assessor
	p := a.Take(slate).Path.Samples
	var b bytes.Buffer
	b.WriteString("time,latitude,longitude,altitude (m),heading,gimbal pan,gimbal tilt,voltage (V),current (A)\n")
	for u := -60.0; u <= p[len(p)-1].T+60; u += 0.2 {
		i := 0
		for i+1 < len(p) && p[i+1].T <= u {
			i++
		}
		g := a.Shoot.Frame().ToLatLon(p[i].Pos)
		fmt.Fprintf(&b, "%s,%.8f,%.8f,%.3f,%.3f,%.3f,%.3f,44.4,20\n", cue.Add(time.Duration(u*1e9)-behind).UTC().Format("2006-01-02T15:04:05.000Z"), g.Lat.Deg(), g.Lon.Deg(), p[i].Pos.Z+2, p[i].Yaw.Deg(), p[i].Pan.Deg(), p[i].Tilt.Deg())
	}
	return b.Bytes()
}

// TestAfterLanding asks one server for the log room, the papers and the films.
func TestAfterLanding(t *testing.T) {
	s, web := started(t)
	for _, x := range []struct {
		name string
		test func(*testing.T, *Server, *httptest.Server)
	}{{"log room", testLogRoom}, {"papers", testPapers}, {"film", testFilm}} {
		t.Run(x.name, func(t *testing.T) { x.test(t, s, web) })
	}
}

func logged(t *testing.T, base, id, kind string, body any) {
	t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	out, status := ask[Logged](t, "POST", base+"/api/log", map[string]any{"entries": []logbook.Entry{{ID: id, Kind: logbook.Kind(kind), At: time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC), By: "MF", Body: text}}})
	if status != 200 || len(out.Results) != 1 || out.Results[0].Seq == 0 {
		t.Fatalf("%s: %d %+v", id, status, out)
	}
}

func bringIn(t *testing.T, base string, data []byte, query url.Values) (Import, int, string) {
	t.Helper()
	return upload[Import](t, base+"/api/recording?"+query.Encode(), data)
}

// upload posts a file as the page does; what cannot be read as an answer is a refusal.
func upload[T any](t *testing.T, url string, data []byte) (out T, status int, text string) {
	t.Helper()
	r, err := http.NewRequest("POST", url, bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/octet-stream")
	r.Header.Set(ownHeader, "1")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	_ = json.Unmarshal(body, &out) // a refusal is none
	return out, answer.StatusCode, string(body)
}

func fetch(t *testing.T, url string) (kind string, body []byte, status int) {
	t.Helper()
	answer, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if body, err = io.ReadAll(answer.Body); err != nil {
		t.Fatal(err)
	}
	return answer.Header.Get("Content-Type"), body, answer.StatusCode
}

// testLogRoom takes one sortie from its entries over its recording to its review, with the questions that a
// file leaves open, and asks for everything else that the log room shows.
func testLogRoom(t *testing.T, s *Server, web *httptest.Server) {
	cue := time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)
	const slate = "4B"
	path := s.state.Assessor.Take(slate).Path.Samples
	end := cue.Add(time.Duration(path[len(path)-1].T * 1e9))
	logged(t, web.URL, "sortie-0001", "sortie", logbook.Sortie{Sortie: "2026-09-22/1", Aircraft: "HB-1", Pilot: "Ana", Pack: "P1", ShotClass: logbook.WideOpen, TakeOff: cue.Add(-time.Minute), Landing: end.Add(time.Minute)})
	logged(t, web.URL, "take-000001", "take", logbook.Take{Sortie: "2026-09-22/1", Slate: slate, Take: 1, From: cue, To: end, Planned: cue.Add(-time.Hour)})
	data := flight(t, s, slate, cue, 2*time.Hour)

	for _, path := range []string{"/api/review", "/api/review.svg", "/api/review.pdf"} {
		if _, text, status := fetch(t, web.URL+path+"?sortie=2026-09-22%2F1"); status != 409 {
			t.Errorf("%s without a recording: %d %s", path, status, text)
		}
		if _, _, status := fetch(t, web.URL+path+"?sortie=7"); status != 404 {
			t.Errorf("%s of no sortie: %d", path, status)
		}
	}
	say := url.Values{"sortie": {"2026-09-22/1"}, "name": {`C:\rec\flight 1.csv`}, "by": {"MF"}, "job": {"j1"}}
	ear := s.hub.listen()
	defer s.hub.leave(ear)
	got, status, text := bringIn(t, web.URL, data, say)
	q := got.Question
	if status != 200 || q == nil || q.Ask != "columns" || len(q.Header) != 9 || len(q.Rows) != 4 || len(q.Guess) != 9 || q.Guess[3].Unit != "m" || len(q.Roles) < 9 || got.Brought != nil {
		t.Fatalf("a CSV is asked about first: %d %s", status, text)
	}
	say.Set("columns", q.Choices[0])
	got, status, text = bringIn(t, web.URL, data, say)
	if b := got.Brought; status != 200 || b == nil || b.ClockOffsetS < 7199.7 || b.ClockOffsetS > 7200.3 || !strings.Contains(b.OffsetFrom, "+2 h") || b.Receipt.Repeat || got.Caution == "" {
		t.Fatalf("%d %s", status, text)
	}
	if again, _, text := bringIn(t, web.URL, data, say); again.Brought == nil || !again.Brought.Receipt.Repeat {
		t.Errorf("the same file twice: %s", text)
	}
	heard := false
	for len(ear) > 0 {
		e := <-ear
		heard = heard || e.Kind == "progress" && e.Job == "j1" && e.Done == e.Of && e.Of == int64(len(data))
	}
	if !heard {
		t.Error("no progress was told")
	}
	for name, x := range map[string]struct {
		data  []byte
		query url.Values
		say   string
	}{
		"no such sortie": {data, url.Values{"sortie": {"9"}, "name": {"a"}, "by": {"MF"}}, `no sortie \"9\"`},
		"nobody writes":  {data[:len(data)-1], url.Values{"sortie": {"2026-09-22/1"}, "name": {"a"}, "columns": {q.Choices[0]}}, "who writes?"},
		"a bad offset":   {data, url.Values{"sortie": {"2026-09-22/1"}, "name": {"a"}, "by": {"MF"}, "offset": {"soon"}}, `"location":"offset"`},
		"an entity bomb": {[]byte(`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "b">]><gpx>&a;</gpx>`), url.Values{"sortie": {"2026-09-22/1"}, "name": {"a"}, "by": {"MF"}}, "gpx:"},
		"nothing":        {nil, url.Values{"sortie": {"2026-09-22/1"}, "name": {"a"}, "by": {"MF"}}, "status"},
	} {
		if _, status, text := bringIn(t, web.URL, x.data, x.query); status < 400 || status > 422 || !strings.Contains(text, x.say) {
			t.Errorf("%s: %d %s", name, status, text)
		}
	}
	for name, x := range map[string]struct {
		data []byte
		ask  string
	}{
		"another day":        {bytes.ReplaceAll(data, []byte("2026-09-22T"), []byte("2026-06-01T")), "offset"},
		"a mirrored ground":  {bytes.ReplaceAll(data, []byte(",46."), []byte(",-46.")), "file"},
		"times without zone": {bytes.ReplaceAll(data, []byte("Z,46."), []byte(",46.")), "zone"},
	} {
		if got, status, text := bringIn(t, web.URL, x.data, say); status != 200 || got.Question == nil || got.Question.Ask != x.ask {
			t.Errorf("%s: asked %d %s, want to be asked about %s", name, status, text, x.ask)
		}
	}
	mixed := bytes.Replace(data, []byte(",44.4,"), []byte(`,"44,4",`), 1)
	if _, status, text := bringIn(t, web.URL, mixed, say); status != 422 || !strings.Contains(text, "decimal") {
		t.Errorf("mixed decimals: %d %s", status, text)
	}
	if _, status, _ := bringIn(t, web.URL, make([]byte, largestRecording+1), say); status != 413 {
		t.Errorf("a recording too large: %d", status)
	}

	sorties, _ := ask[Sorties](t, "GET", web.URL+"/api/sorties", nil)
	if len(sorties.Sorties) != 1 || sorties.Sorties[0].Takes != 1 || sorties.Sorties[0].Recording == nil || sorties.Sorties[0].Recording.Name != "flight 1.csv" {
		t.Errorf("%+v", sorties)
	}
	if kind, back, status := fetch(t, web.URL+"/api/originals/"+got.Brought.SHA256); status != 200 || kind != "application/octet-stream" || !bytes.Equal(back, data) {
		t.Errorf("the original came back otherwise: %d %s, %d bytes", status, kind, len(back))
	}
	r, _ := ask[Reviewed](t, "GET", web.URL+"/api/review?sortie=2026-09-22%2F1", nil)
	if len(r.Report.Takes) != 1 {
		t.Fatalf("%+v", r.Report)
	}
	k := r.Report.Takes[0]
	if k.Up.Mean < 1.9 || k.Up.Mean > 2.1 || k.LightRatio == nil || len(k.Rows) < 50 || len(k.Compared) < 6 || r.Report.EnergyUsedWh == nil || r.Report.EnergyRatio == nil || r.Report.Caution == "" || k.Size == nil {
		t.Errorf("%+v", k)
	}
	kind, svg, _ := fetch(t, web.URL+"/api/review.svg?sortie=2026-09-22%2F1")
	if kind != "image/svg+xml" || xml.Unmarshal(svg, new(struct{})) != nil || !bytes.Contains(svg, []byte(">4B/1<")) || !bytes.Contains(svg, []byte("take as planned")) {
		t.Errorf("map: %s %d bytes", kind, len(svg))
	}
	if kind, pdf, _ := fetch(t, web.URL+"/api/review.pdf?sortie=2026-09-22%2F1"); kind != "application/pdf" || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("paper: %s", kind)
	}

	scored, status := ask[Scored](t, "POST", web.URL+"/api/score", map[string]any{"sortie": "2026-09-22/1", "class": "near objects", "by": "MF", "device": "t"})
	if status != 200 || len(scored.Marks) != 1 || scored.Marks[0].Passed == "unknown" || scored.Person != "Ana" || scored.Caution == "" {
		t.Errorf("%d %+v", status, scored)
	}
	if _, status := ask[map[string]any](t, "POST", web.URL+"/api/score", map[string]any{"sortie": "2026-09-22/1", "class": "easy", "by": "MF", "device": "t"}); status != 422 {
		t.Error(status)
	}

	ladders, _ := ask[Ladders](t, "GET", web.URL+"/api/ladder", nil)
	found, asked := false, 0
	for _, p := range ladders.People {
		if p.Person == "Ana" {
			found = true
			if len(p.Rungs) != 6 || p.Rungs[1].FlownS < 120 || p.Rungs[1].Held != "no" || p.Next == nil || p.Next.Class != logbook.WideOpen {
				t.Errorf("%+v", p)
			}
		}
		asked += len(p.Asked)
	}
	if asked == 0 {
		t.Errorf("nobody has a logged hour in the classes of this shoot, and nothing is asked: %+v", ladders)
	}
	if !found || ladders.Basis == "" || ladders.Caution != check.Safety {
		t.Errorf("%+v", ladders)
	}
	packs, _ := ask[PackForecast](t, "GET", web.URL+"/api/packs", nil)
	if len(packs.Packs) < 2 || packs.Packs[0].Severity != "unknown" || packs.Caution == "" {
		t.Errorf("packs never measured are unknown: %+v", packs)
	}
	for i := range 6 {
		off := cue.Add(time.Duration(i+1) * 20 * time.Minute)
		planned, used := 50.0, 55+0.2*float64(i%3)
		logged(t, web.URL, fmt.Sprintf("more-%05d", i), "sortie", logbook.Sortie{Sortie: fmt.Sprint("m", i), Aircraft: "HB-1", Pilot: "Ana", Pack: fmt.Sprint("P", i%2), TakeOff: off, Landing: off.Add(12 * time.Minute), EnergyPlannedWh: &planned, EnergyUsedWh: &used, Permits: []string{"P-7"}})
	}
	lessons, _ := ask[Learnt](t, "GET", web.URL+"/api/lessons", nil)
	if len(lessons.Proposals) != 2 || lessons.Proposals[0].New < 1.09 || lessons.Proposals[0].New > 1.12 || lessons.Proposals[0].Low >= lessons.Proposals[0].High {
		t.Errorf("%+v", lessons)
	}
	taken, status := ask[Learnt](t, "POST", web.URL+"/api/lessons", map[string]any{"accept": []string{"power_factor:HB-1"}, "by": "MF", "device": "t"})
	if status != 200 || len(taken.Accepted) != 1 || taken.Proposals[0].Old != lessons.Proposals[0].New {
		t.Errorf("%d %+v", status, taken)
	}
	if _, status := ask[map[string]any](t, "POST", web.URL+"/api/lessons", map[string]any{"accept": []string{"x:y"}, "by": "MF", "device": "t"}); status != 422 {
		t.Error(status)
	}
	for what, column := range map[string]string{"hours": "person", "aircraft": "aircraft", "permits": "permit", "upkeep": "work", "day": "table"} {
		kind, text, status := fetch(t, web.URL+"/api/reports/csv?what="+what)
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if status != 200 || err != nil || len(rows) < 2 || !strings.HasPrefix(kind, "text/csv") || !strings.Contains(strings.Join(rows[0], " "), column) || rows[0][len(rows[0])-1] != "caution" {
			t.Errorf("%s: %d %v %q", what, status, err, rows)
		}
		if kind, pdf, _ := fetch(t, web.URL+"/api/reports/pdf?what="+what); kind != "application/pdf" || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
			t.Errorf("%s: %s", what, kind)
		}
		tables, _ := ask[Tables](t, "GET", web.URL+"/api/report?what="+what, nil)
		if len(tables.Tables) == 0 || tables.Tables[0].Caution == "" {
			t.Errorf("%s: %+v", what, tables)
		}
	}
	if _, _, status := fetch(t, web.URL+"/api/reports/csv?what=wages"); status != 422 {
		t.Error(status)
	}
	testPractice(t, s, web)
}

func testPractice(t *testing.T, s *Server, web *httptest.Server) {
	want := map[string]any{"person": "Ana", "class": "wide and open", "place": s.state.Assessor.Shoot.Site.Origin.String(), "date": "2026-09-20", "write": false}
	p, status := ask[Practising](t, "POST", web.URL+"/api/practice", want)
	if status != 200 || p.Written || !strings.HasPrefix(p.Command, "fieldfare practice ") || !strings.Contains(p.Command, "--class 'wide and open'") || len(p.Moves) != 4 || p.Findings == nil {
		t.Fatalf("%d %+v", status, p)
	}
	if _, err := os.Stat(p.Dir); err == nil {
		t.Fatal("written though only asked")
	}
	want["write"] = true
	if p, status = ask[Practising](t, "POST", web.URL+"/api/practice", want); status != 200 || !p.Written {
		t.Fatalf("%d %+v", status, p)
	}
	defer os.RemoveAll(p.Dir)
	if filepath.Dir(p.Dir) != filepath.Dir(s.Dir) {
		t.Errorf("it stands in %s", p.Dir)
	}
	if sh, err := shoot.Load(p.Dir); err != nil || len(sh.Slates) != 4 {
		t.Errorf("the practice shoot does not load: %v", err)
	}
	if _, status := ask[map[string]any](t, "POST", web.URL+"/api/practice", want); status != 422 {
		t.Errorf("written over: %d", status)
	}
	want["place"], want["date"], want["class"] = "the meadow", "soon", "easy"
	refused, status := ask[map[string]any](t, "POST", web.URL+"/api/practice", want)
	if text := fmt.Sprint(refused); status != 422 || !strings.Contains(text, "location:place") || !strings.Contains(text, "location:date") || !strings.Contains(text, "location:class") {
		t.Errorf("%d %v", status, refused)
	}
}

// testPapers asks for every paper of the page.
func testPapers(t *testing.T, s *Server, web *httptest.Server) {
	for _, format := range []string{"geojson", "kml", "kmz", "gpx", "csv", "ics", "json", "gltf?slate=4B"} {
		kind, data, status := fetch(t, web.URL+"/api/export/"+format)
		name, _, _ := strings.Cut(format, "?")
		if status != 200 || kind != mediaTypes[name] || len(data) < 500 {
			t.Errorf("%s: %d %q %d bytes", format, status, kind, len(data))
		}
	}
	if _, _, status := fetch(t, web.URL+"/api/export/gltf?slate=99"); status != 422 {
		t.Error(status)
	}
	ear := s.hub.listen()
	defer s.hub.leave(ear)
	a, status := ask[Feasible](t, "GET", web.URL+"/api/answer?from=2026-09-21&to=2026-09-23&lost=30%25&job=a1", nil)
	if status != 200 || a.Answer == nil {
		t.Fatal(status)
	}
	heard := false
	for len(ear) > 0 {
		e := <-ear
		heard = heard || e.Kind == "progress" && e.Job == "a1"
	}
	if !heard {
		t.Error("the answer told no progress")
	}
	if _, status := ask[map[string]any](t, "GET", web.URL+"/api/answer?lost=200%25&from=never", nil); status != 422 {
		t.Error(status)
	}
	for _, path := range []string{"answer.pdf?from=2026-09-21&to=2026-09-23&lost=30%25", "travel.pdf", "book.pdf?only=day&only=4B"} {
		if kind, data, status := fetch(t, web.URL+"/api/"+path); status != 200 || kind != "application/pdf" || !bytes.HasPrefix(data, []byte("%PDF-")) {
			t.Errorf("%s: %d %s %.80s", path, status, kind, data)
		}
	}
	travelling, _ := ask[Travelling](t, "GET", web.URL+"/api/travel", nil)
	if travelling.Papers == nil || travelling.Caution == "" {
		t.Errorf("%+v", travelling)
	}
	_, data, status := fetch(t, web.URL+"/api/bundle.zip")
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if status != 200 || err != nil {
		t.Fatal(status, err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
	}
	for _, want := range []string{"README.txt", "SHA256SUMS", "book.pdf", "kit-list.pdf", "permissions.json", "risk-assessment.pdf", "volumes.kml"} {
		if !strings.Contains(strings.Join(names, " "), want) {
			t.Errorf("the bundle lacks %s: %q", want, names)
		}
	}
}

func (f Film) settled() bool { return f.State != "running" }

func awaited(t *testing.T, base string) Film {
	t.Helper()
	for range 1200 {
		if f, _ := ask[Film](t, "GET", base+"/api/film", nil); f.settled() {
			return f
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the film does not end")
	return Film{}
}

// testFilm: drawn with progress, cancelled without a trace, one at a time, refused with reason. It closes the
// server, and with it the films.
func testFilm(t *testing.T, s *Server, web *httptest.Server) {
	start := func(form, size string) (Film, int) {
		return ask[Film](t, "POST", web.URL+"/api/film", map[string]any{"slate": "4B", "at": "", "form": form, "size": size, "burn": true, "thirds": true, "safe": false, "box": true, "smear": false})
	}
	ear := s.hub.listen()
	defer s.hub.leave(ear)
	if f, status := start("frames", "64x64"); status != 200 || f.State != "running" || f.Of < 100 || f.Caution == "" {
		t.Fatalf("%d %+v", status, f)
	}
	f := awaited(t, web.URL)
	if f.State != "done" || f.File == "" || f.Done != f.Of {
		t.Fatalf("%+v", f)
	}
	told, ended := 0, false
	for len(ear) > 0 {
		e := <-ear
		if e.Kind == "progress" && e.Job == f.Job {
			told++
		}
		ended = ended || e.Kind == "film" && e.Job == f.Job
	}
	if told < 10 || !ended {
		t.Errorf("progress told %d times, end told %v", told, ended)
	}
	kind, data, _ := fetch(t, web.URL+"/api/film/"+f.File)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil || kind != "application/zip" || int64(len(z.File)) != f.Of+1 || z.File[0].Name != "README.txt" {
		t.Fatalf("%s %v", kind, err)
	}
	if _, _, status := fetch(t, web.URL+"/api/film/..%2F..%2Fetc%2Fpasswd"); status != 404 {
		t.Error(status)
	}
	if _, status := start("apng", "1280x720"); status != 200 {
		t.Fatal(status)
	}
	if _, status := start("apng", "64x64"); status != 409 {
		t.Errorf("two at once: %d", status)
	}
	if _, status := ask[Film](t, "POST", web.URL+"/api/film/cancel", none{}); status != 200 {
		t.Error(status)
	}
	if f := awaited(t, web.URL); f.State != "cancelled" || f.File != "" {
		t.Errorf("%+v", f)
	}
	left, err := os.ReadDir(s.film.folder)
	if err != nil || len(left) != 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
	for _, size := range []string{"huge", "9000x9000"} {
		if _, status := start("apng", size); status != 422 {
			t.Errorf("%s: %d", size, status)
		}
	}
	folder := s.film.folder
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(folder); err == nil {
		t.Error("the films outlive the server")
	}
}
