package metar_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"sort"
	"strings"
	"testing"

	"fieldfare/model/air"
	"fieldfare/model/metar"
)

// decoded is a report as flat text, so that two decoders can be compared group by group.
type decoded map[string]string

func (d decoded) conditions(c metar.Conditions, at string) {
	if w := c.Wind; w != nil && w.MeanMS.Known {
		from := "VRB"
		switch {
		case w.Calm:
			from = "0"
		case w.From.Known:
			from = fmt.Sprintf("%.0f", w.From.Value*180/math.Pi)
		}
		d[at+"wind"] = fmt.Sprintf("%s %.2f", from, w.MeanMS.Value)
		if w.GustMS.Known {
			d[at+"wind"] += fmt.Sprintf(" G%.2f", w.GustMS.Value)
		}
		if w.VaryFrom.Known {
			d[at+"sector"] = fmt.Sprintf("%.0f-%.0f", w.VaryFrom.Value*180/math.Pi, w.VaryTo.Value*180/math.Pi)
		}
	}
	if v := c.Visibility; v != nil && v.M.Known {
		bound := ""
		if v.Below {
			bound = "<"
		} else if v.Above {
			bound = ">"
		}
		d[at+"visibility"] = fmt.Sprintf("%s%.2f", bound, v.M.Value)
		if v.LeastM.Known {
			d[at+"least"] = fmt.Sprintf("%.2f%s", v.LeastM.Value, v.LeastToward)
		}
	}
	if c.CAVOK {
		d[at+"cavok"] = "yes"
	}
	var weather, cloud []string
	for _, p := range c.Weather {
		weather = append(weather, p.Code)
	}
	if c.NoWeather {
		weather = append(weather, "NSW")
	}
	for _, l := range c.Cloud {
		base := ""
		if l.BaseM.Known {
			base = fmt.Sprintf("%03.0f", l.BaseM.Value/30.48)
		}
		cloud = append(cloud, l.Cover+base+l.Type)
	}
	if c.Sky != "" {
		cloud = append(cloud, c.Sky)
	}
	if weather != nil {
		d[at+"weather"] = strings.Join(weather, " ")
	}
	if cloud != nil {
		d[at+"cloud"] = strings.Join(cloud, " ")
	}
	if c.VerticalVisibilityM.Known {
		d[at+"vertical"] = fmt.Sprintf("%.0f", c.VerticalVisibilityM.Value/0.3048)
	}
}

func (d decoded) flag(name string, set bool) {
	if set {
		d[name] = "yes"
	}
}

func clock(c *metar.Clock) string { return fmt.Sprintf("%02d%02d%02d", c.Day, c.Hour, c.Minute) }

func celsius(r air.Reading) string { return fmt.Sprintf("%.0f", r.Value-zero+0) }

func decodeReport(t *testing.T, text string) decoded {
	r, err := metar.ParseReport(text)
	if err != nil {
		return decoded{"error": err.Error()}
	}
	d := decoded{"station": r.Station, "kind": r.Kind, "time": clock(&r.Time)}
	d.flag("auto", r.Automatic)
	d.flag("corrected", r.Corrected)
	d.flag("nosig", r.NoChange)
	d.conditions(r.Conditions, "")
	if r.TemperatureK.Known {
		d["temperature"] = celsius(r.TemperatureK)
	}
	if r.DewPointK.Known {
		d["dew"] = celsius(r.DewPointK)
	}
	if r.QNHPa.Known {
		d["pressure"] = fmt.Sprintf("%.1f", r.QNHPa.Value/100)
	}
	for i, v := range r.Runways {
		bound := ""
		if v.Below {
			bound = "M"
		} else if v.Above && !v.MostM.Known {
			bound = "P"
		}
		d[fmt.Sprintf("runway%d", i)] = fmt.Sprintf("%s %s%.2f", v.Name, bound, v.LeastM.Value)
		if v.MostM.Known {
			d[fmt.Sprintf("runway%d", i)] += fmt.Sprintf(" %.2f", v.MostM.Value)
		}
	}
	for i, c := range r.Trends {
		at := fmt.Sprintf("change%d.", i)
		d[at+"kind"] = c.Kind
		for name, when := range map[string]*metar.Clock{"FM": c.From, "TL": c.Until, "AT": c.At} {
			if when != nil {
				d[at+name] = clock(when)[2:]
			}
		}
		d.conditions(c.Conditions, at)
	}
	if len(r.Unread) > 0 {
		d["unread"] = strings.Join(r.Unread, " ")
	}
	return d
}

func decodeForecast(t *testing.T, text string) decoded {
	f, err := metar.ParseForecast(text)
	if err != nil {
		return decoded{"error": err.Error()}
	}
	d := decoded{"station": f.Station, "issued": clock(f.Issued), "from": clock(&f.From), "until": clock(&f.Until)}
	d.flag("amended", f.Amended)
	d.conditions(f.Conditions, "")
	if f.MaximumAt != nil {
		d["maximum"] = celsius(f.MaximumK) + " " + clock(f.MaximumAt)
	}
	if f.MinimumAt != nil {
		d["minimum"] = celsius(f.MinimumK) + " " + clock(f.MinimumAt)
	}
	unread := f.Unread
	for i, c := range f.Changes {
		at := fmt.Sprintf("change%d.", i)
		d[at+"kind"] = c.Kind
		if c.Probability > 0 {
			d[at+"kind"] += fmt.Sprint(c.Probability)
		}
		d[at+"from"] = clock(c.From)
		if c.Until != nil {
			d[at+"until"] = clock(c.Until)
		}
		d.conditions(c.Conditions, at)
		unread = append(unread, c.Unread...)
	}
	if len(unread) > 0 {
		d["unread"] = strings.Join(unread, " ")
	}
	return d
}

// TestAgainstPeer compares every group with npm metar-taf-parser (its version stands at the
// head of the files, made by make.mjs). Every disagreement must be listed and judged in
// disagreements.tsv, and every line there must still happen.
func TestAgainstPeer(t *testing.T) {
	judged := map[string]string{}
	file, err := os.ReadFile("testdata/authority/disagreements.tsv")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(file)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "\t")
		if len(cells) != 5 || cells[4] == "" {
			t.Fatalf("disagreements.tsv: %q has no judgement", line)
		}
		judged[strings.Join(cells[:4], "\t")] = cells[4]
	}
	happened := map[string]bool{}
	groups := 0
	for name, want := range map[string]struct {
		decode func(*testing.T, string) decoded
		least  int
	}{"reports.jsonl": {decodeReport, 300}, "forecasts.jsonl": {decodeForecast, 100}} {
		f, err := os.Open("testdata/authority/" + name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		lines := bufio.NewScanner(f)
		lines.Scan() // heading
		n := 0
		for ; lines.Scan(); n++ {
			var row struct {
				Text string
				Peer decoded
			}
			if err := json.Unmarshal(lines.Bytes(), &row); err != nil {
				t.Fatal(err)
			}
			ours := want.decode(t, row.Text)
			keys := map[string]bool{}
			for k := range ours {
				keys[k] = true
			}
			for k := range row.Peer {
				keys[k] = true
			}
			sorted := make([]string, 0, len(keys))
			for k := range keys {
				sorted = append(sorted, k)
			}
			sort.Strings(sorted)
			for _, k := range sorted {
				groups++
				if ours[k] == row.Peer[k] {
					continue
				}
				line := strings.Join([]string{row.Text, k, ours[k], row.Peer[k]}, "\t")
				happened[line] = true
				if judged[line] == "" {
					t.Errorf("not judged: %s", line)
				}
			}
		}
		if n < want.least {
			t.Errorf("%s has %d texts, want at least %d", name, n, want.least)
		}
	}
	for line := range judged {
		if !happened[line] {
			t.Errorf("judged, but no longer happens: %s", line)
		}
	}
	t.Logf("%d groups compared, %d disagree", groups, len(happened))
}

// texts reads the reports or forecasts that the peer was asked about.
func texts(b *testing.B, name string) (all []string) {
	file, err := os.ReadFile("testdata/authority/" + name)
	if err != nil {
		b.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(file)), "\n")[1:] {
		var row struct{ Text string }
		if err := json.Unmarshal([]byte(line), &row); err != nil {
			b.Fatal(err)
		}
		all = append(all, row.Text)
	}
	return all
}

func BenchmarkCorpusReports(b *testing.B) {
	all := texts(b, "reports.jsonl")
	for b.Loop() {
		for _, text := range all {
			if _, err := metar.ParseReport(text); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.N*len(all))/b.Elapsed().Seconds(), "texts/s")
}

func BenchmarkCorpusForecasts(b *testing.B) {
	all := texts(b, "forecasts.jsonl")
	for b.Loop() {
		for _, text := range all {
			if _, err := metar.ParseForecast(text); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.N*len(all))/b.Elapsed().Seconds(), "texts/s")
}
