package paper_test

import (
	"bytes"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
)

func sheet(title string) *paper.Sheet {
	return paper.New(paper.Options{Title: "test", Job: title, Caution: "Planning aid only.", Source: []byte("x"), Version: "v1", Dated: time.Date(2026, 9, 22, 0, 0, 0, 0, time.UTC)})
}

func TestLettersThatTheFontsLack(t *testing.T) {
	for _, text := range []string{"夜の谷", "وادي", "תרגיל", "हिन्दी"} {
		for name, put := range map[string]func(s *paper.Sheet){
			"paragraph": func(s *paper.Sheet) { s.Text(paper.Style{Pt: 9}, text) },
			"title":     func(s *paper.Sheet) { s.Title(text) },
			"band":      func(s *paper.Sheet) { s.Band(text) },
			"table":     func(s *paper.Sheet) { s.Table(paper.Table{Weights: []float64{1}, Rows: [][]string{{text}}}) },
			"block":     func(s *paper.Sheet) { s.Block(paper.Style{Pt: 8}, 20, 20, 50, text) },
			"bookmark":  func(s *paper.Sheet) { s.Entry(text, 0) },
			"picture":   func(s *paper.Sheet) { s.Pen(0, 0).Words(draw.Lettering{SizeMM: 3}, draw.Dot{X: 20, Y: 20}, text) },
		} {
			s := sheet("job")
			s.Section("Page")
			put(s)
			out, err := s.Bytes()
			if err == nil || out != nil || !strings.Contains(err.Error(), "U+") || !strings.Contains(err.Error(), text) {
				t.Errorf("%s with %s: got %d bytes, %v; want an error that names letters and text", name, text, len(out), err)
			}
		}
	}
	s := sheet("Ждём рассвета, Αυγή, naïve façade, 12° 3 × 4 ½")
	s.Section("Ждём рассвета, Αυγή")
	if _, err := s.Bytes(); err != nil {
		t.Errorf("Cyrillic and Greek: %v", err)
	}
}

// A hostile job: words longer than the page, empty tables, very tall pictures, hundreds of entries.
func TestHostileContent(t *testing.T) {
	make1 := func() []byte {
		s := sheet("job")
		s.Section("Page")
		contents := s.PDF.GetY()
		long := strings.Repeat("m", 3000)
		s.Text(paper.Style{Pt: 9}, long)
		s.Band(strings.Repeat("STOP ", 200))
		s.Table(paper.Table{Weights: []float64{1, 1}, Head: []string{long[:200], ""}, Rows: [][]string{{long, "x"}, nil, {""}}})
		s.Table(paper.Table{Weights: []float64{1}})
		s.Block(paper.Style{Pt: 8}, 20, 20, 1, "narrow column")
		for k := range 12 { // of equal width
			img := image.NewGray(image.Rect(0, 0, 2, 2))
			img.Pix[0] = uint8(20 * k)
			s.Picture(20, 20, 10, 10, img)
		}
		for range 400 {
			s.Entry("entry", 1)
		}
		s.Contents(1, contents, 2)
		out, err := s.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	a := make1()
	for range 3 {
		if !bytes.Equal(a, make1()) {
			t.Fatal("equal content gives different bytes")
		}
	}
	qpdf, err := exec.LookPath("qpdf")
	if err != nil {
		t.Skip("NOT CHECKED: qpdf is not installed (`make tools-test`)")
	}
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, a, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(qpdf, "--check", file).CombinedOutput(); err != nil {
		t.Errorf("qpdf: %v\n%s", err, out)
	}
}
