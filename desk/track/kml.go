package track

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// readKML reads Track elements (OGC KML 2.3, and the earlier gx: extension, whose
// names are the same), time-stamped Points, and LineStrings, which carry no times.
func (t *Track) readKML(ctx context.Context, data []byte, opt Options) error {
	return t.walkKML(newWalker(ctx, bytes.NewReader(data), int64(len(data)), data, opt), opt)
}

func (t *Track) walkKML(w *walker, opt Options) error {
	var whens []Point
	var coords, angles, stamps []string
	mode, seen, segment := "", false, -1
	var pointAt string // coordinates of the placemark's Point
	for {
		tok, err := w.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if start, ok := tok.(xml.StartElement); ok {
			switch start.Name.Local {
			case "kml":
				seen = true
			case "Placemark":
				pointAt, stamps = "", nil
			case "Track", "LineString":
				segment++
				whens, coords, angles, mode = nil, nil, nil, ""
			}
			continue
		}
		end := tok.(xml.EndElement).Name.Local
		parent := ""
		if len(w.path) > 0 {
			parent = w.path[len(w.path)-1]
		}
		text := strings.TrimSpace(w.text.String())
		switch {
		case end == "name" && parent == "Placemark" && t.Name == "":
			t.Name = text
		case end == "altitudeMode":
			mode = text
		case end == "when" && parent == "Track":
			var p Point
			if err := t.setTime(&p, text, w.at, opt.Zone); err != nil {
				return err
			}
			whens = append(whens, p)
		case end == "when" && parent == "TimeStamp":
			stamps = append(stamps, text)
		case end == "coord" && parent == "Track":
			coords = append(coords, text)
		case end == "angles" && parent == "Track":
			angles = append(angles, text)
		case end == "coordinates" && parent == "Point":
			pointAt = text
		case end == "coordinates" && parent == "LineString":
			coords = strings.Fields(text)
		case end == "Track":
			if len(whens) != len(coords) {
				return w.wrap(fmt.Errorf("a Track has %d times but %d coordinates", len(whens), len(coords)))
			}
			for i, c := range coords {
				p := whens[i]
				p.Segment = segment
				if i < len(angles) {
					p.kmlAngles(angles[i])
				}
				if err := t.kmlPoint(p, strings.Fields(c), mode, w.at()); err != nil {
					return err
				}
			}
			whens, coords, angles = nil, nil, nil
		case end == "LineString":
			t.find("caution", "a line without times: only its shape is known", w.at(), "export the recording as a KML Track")
			for _, c := range coords {
				if err := t.kmlPoint(Point{Segment: segment}, strings.Split(c, ","), mode, w.at()); err != nil {
					return err
				}
			}
			coords = nil
		case end == "Placemark" && pointAt != "" && len(stamps) == 1:
			p := Point{Segment: max(segment, 0)}
			if err := t.setTime(&p, stamps[0], w.at, opt.Zone); err != nil {
				return err
			}
			if err := t.kmlPoint(p, strings.Split(pointAt, ","), mode, w.at()); err != nil {
				return err
			}
		}
		w.text.Reset()
	}
	if !seen {
		return errors.New("no kml element")
	}
	return nil
}

// kmlPoint adds longitude, latitude and height, in that order as KML has them.
func (t *Track) kmlPoint(p Point, parts []string, mode, at string) error {
	if len(parts) < 2 {
		t.find("caution", "coordinates with fewer than two numbers were left out", at, "")
		return nil
	}
	var ok1, ok2 bool
	p.LonDeg, ok1 = number(parts[0])
	p.LatDeg, ok2 = number(parts[1])
	if !ok1 || !ok2 {
		t.find("caution", "coordinates that are not numbers were left out", at, "KML writes longitude,latitude,height with decimal points")
		return nil
	}
	if len(parts) > 2 {
		switch mode {
		case "absolute":
			p.set(Height, &p.HeightM, parts[2], 1)
		case "relativeToGround":
			p.set(AboveGround, &p.AboveGroundM, parts[2], 1)
		default: // clampToGround is KML's default and makes the height meaningless
			if v, ok := number(parts[2]); ok && v != 0 {
				p.set(Height, &p.HeightM, parts[2], 1)
				t.find("unknown", "heights are written, but the altitude mode says to ignore them; taken as above sea level", at, "check one height against the ground")
			}
		}
	}
	return t.add(p, at)
}

// kmlAngles reads "heading tilt roll" in degrees.
func (p *Point) kmlAngles(text string) {
	parts := strings.Fields(text)
	if len(parts) > 0 {
		if v, ok := number(parts[0]); ok {
			p.Yaw, p.Has = degrees(v), p.Has|Yaw
		}
	}
}

// readKMZ reads the first .kml file at the root of the archive, as OGC 12-007r2
// annex C has it, else the first one anywhere.
func (t *Track) readKMZ(ctx context.Context, data []byte, opt Options) error {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return fmt.Errorf("the archive cannot be opened: %w", err)
	}
	if len(z.File) > 10_000 {
		return fmt.Errorf("the archive holds %d files, which no recording needs", len(z.File))
	}
	var doc *zip.File
	for _, f := range z.File {
		if strings.EqualFold(path.Ext(f.Name), ".kml") && (doc == nil || strings.Contains(doc.Name, "/") && !strings.Contains(f.Name, "/")) {
			doc = f
		}
	}
	if doc == nil {
		return errors.New("the archive holds no .kml file")
	}
	r, err := doc.Open()
	if err != nil {
		return fmt.Errorf("%s: %w", doc.Name, err)
	}
	defer r.Close()
	// The sizes in the header are the sender's claim; count what really comes out.
	allowed := min(int64(MaxBytes), max(1<<20, maxZipRatio*int64(len(data))))
	limited := &bounded{r: r, left: allowed}
	head := make([]byte, 4)
	n, _ := io.ReadFull(limited, head)
	w := newWalker(ctx, io.MultiReader(bytes.NewReader(head[:n]), limited), int64(min(doc.UncompressedSize64, uint64(allowed))), head[:n], opt)
	if err := t.walkKML(w, opt); err != nil {
		return fmt.Errorf("%s: %w", doc.Name, err)
	}
	return nil
}

// bounded is a reader that fails, rather than ends, at its limit.
type bounded struct {
	r    io.Reader
	left int64
}

func (b *bounded) Read(p []byte) (int, error) {
	if b.left <= 0 {
		return 0, errors.New("the archive unpacks to far more than a recording needs and looks like a bomb; it was not unpacked further")
	}
	if int64(len(p)) > b.left {
		p = p[:b.left]
	}
	n, err := b.r.Read(p)
	b.left -= int64(n)
	return n, err
}
