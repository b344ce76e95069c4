package previs_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/previs"
	"fieldfare/model/lens"
)

func painted(n int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 60, 40))
	for y := range 40 {
		for x := range 60 {
			img.SetRGBA(x, y, color.RGBA{uint8(4 * x), uint8(6 * y), uint8(40 * n), 255})
		}
	}
	return img
}

// The chunks of an animated PNG, by the W3C's PNG specification (third edition): order, counts, sequence, checksums, delays.
// The first frame is a picture that any PNG reader shows.
func TestAnimationIsWellFormed(t *testing.T) {
	var b bytes.Buffer
	a := previs.NewAnimation(&b, 3, 24000.0/1001)
	for n := range 3 {
		if err := a.Add(painted(n)); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.End(); err != nil {
		t.Fatal(err)
	}
	first, err := png.Decode(bytes.NewReader(b.Bytes()))
	if err != nil || first.At(59, 39) != painted(0).At(59, 39) {
		t.Fatal("the first frame is not a still picture of itself: ", err)
	}
	data := b.Bytes()[8:]
	var order []string
	sequence := uint32(0)
	for len(data) > 0 {
		long := binary.BigEndian.Uint32(data)
		name, body := string(data[4:8]), data[8:8+long]
		if binary.BigEndian.Uint32(data[8+long:]) != crc32.ChecksumIEEE(data[4:8+long]) {
			t.Errorf("%s: wrong checksum", name)
		}
		if len(order) == 0 || order[len(order)-1] != name {
			order = append(order, name)
		}
		switch name {
		case "acTL":
			if n := binary.BigEndian.Uint32(body); n != 3 {
				t.Errorf("acTL counts %d frames, want 3", n)
			}
		case "fcTL":
			if num, den := binary.BigEndian.Uint16(body[20:]), binary.BigEndian.Uint16(body[22:]); num != 1001 || den != 24000 {
				t.Errorf("a frame lasts %d/%d s, want 1001/24000", num, den)
			}
			fallthrough
		case "fdAT":
			if n := binary.BigEndian.Uint32(body); n != sequence {
				t.Errorf("%s has number %d, want %d", name, n, sequence)
			}
			sequence++
		}
		data = data[12+long:]
	}
	if got := strings.Join(order, " "); got != "IHDR acTL fcTL IDAT fcTL fdAT fcTL fdAT IEND" {
		t.Errorf("chunks %s", got)
	}
}

// ffmpeg, an outside reader, sees every frame of an animated PNG with its colours.
func TestOutsideReaderPlaysTheAnimation(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed")
	}
	path := filepath.Join(t.TempDir(), "a.apng")
	var b bytes.Buffer
	a := previs.NewAnimation(&b, 3, 25)
	for n := range 3 {
		a.Add(painted(n))
	}
	if err := errors.Join(a.End(), os.WriteFile(path, b.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
	raw, err := exec.Command(ffmpeg, "-v", "error", "-i", path, "-f", "rawvideo", "-pix_fmt", "rgba", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []byte
	for n := range 3 {
		want = append(want, painted(n).Pix...)
	}
	if !bytes.Equal(raw, want) {
		t.Errorf("%d bytes of frames came back, %d went in, or their colours differ", len(raw), len(want))
	}
}

type brokenDisk struct{ left int }

func (d *brokenDisk) Write(b []byte) (int, error) {
	if d.left -= len(b); d.left < 0 {
		return 0, errors.New("no space left on device")
	}
	return len(b), nil
}

func TestAnimationTellsOfAFullDisk(t *testing.T) {
	a := previs.NewAnimation(&brokenDisk{100}, 2, 25)
	if err := errors.Join(a.Add(painted(0)), a.Add(painted(1)), a.End()); err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Errorf("got %v", err)
	}
}

// A film that is cancelled leaves nothing, and what stood there before stays.
func TestCancelledFilmLeavesNothing(t *testing.T) {
	shot := demoShot(t, "1A", "10:00", 64)
	for _, name := range []string{"film.apng", "frames", "film.mp4"} {
		if name == "film.mp4" {
			if _, err := exec.LookPath("ffmpeg"); err != nil {
				continue
			}
		}
		dir := t.TempDir()
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("before"), 0o644); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		err := previs.Film(ctx, shot, path, func(done, of int) {
			if done == 5 {
				cancel()
			}
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
		inside, _ := os.ReadDir(dir)
		if kept, err := os.ReadFile(path); err != nil || string(kept) != "before" || len(inside) != 1 {
			t.Errorf("%s: %d files are left, the old one reads %q", name, len(inside), kept)
		}
	}
}

func TestFilms(t *testing.T) {
	shot := demoShot(t, "1C", "10:00", 64)
	dir := t.TempDir()
	n := shot.Frames()
	if want := int(shot.Path.DurationS()*25+1e-6) + 1; n != want {
		t.Fatalf("%d frames, want %d", n, want)
	}
	told := 0
	if err := previs.Film(context.Background(), shot, filepath.Join(dir, "frames"), func(done, of int) { told = done }); err != nil {
		t.Fatal(err)
	}
	files, _ := filepath.Glob(filepath.Join(dir, "frames", "*.png"))
	if len(files) != n || told != n {
		t.Errorf("%d pictures and %d told of, want %d", len(files), told, n)
	}
	if _, err := exec.LookPath("ffmpeg"); err == nil {
		path := filepath.Join(dir, "film.mp4")
		if err := previs.Film(context.Background(), shot, path, nil); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("ffprobe", "-v", "error", "-count_frames", "-show_entries", "stream=codec_name,width,height,r_frame_rate,nb_read_frames", "-of", "csv=p=0", path).Output()
		if want := "h264,64,34,25/1," + itoa(n); err != nil || strings.TrimSpace(string(out)) != want {
			t.Errorf("ffprobe reads %q, want %q (%v)", out, want, err)
		}
	}
	err := previs.Film(context.Background(), shot, filepath.Join(dir, "nowhere", "film.apng"), nil)
	if err == nil || !strings.Contains(err.Error(), "film.apng") {
		t.Errorf("a folder that does not exist: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, ".part*")); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
}

func itoa(n int) string {
	var b []byte
	for ; n > 0; n /= 10 {
		b = append([]byte{byte('0' + n%10)}, b...)
	}
	return string(b)
}

// Non-drop timecode as SMPTE ST 12-1 counts it.
func TestTimecode(t *testing.T) {
	for _, x := range []struct {
		frame int
		rate  float64
		want  string
	}{{0, 25, "00:00:00:00"}, {24, 25, "00:00:00:24"}, {25, 25, "00:00:01:00"}, {90000, 25, "01:00:00:00"}, {24, 24000.0 / 1001, "00:00:01:00"}, {1799, 30000.0 / 1001, "00:00:59:29"}} {
		if got := previs.Timecode(x.frame, x.rate); got != x.want {
			t.Errorf("frame %d at %g: %s, want %s", x.frame, x.rate, got, x.want)
		}
	}
}

func TestRatesAsFractions(t *testing.T) {
	for _, x := range []struct {
		rate     float64
		num, den int
	}{{25, 25, 1}, {23.976, 24000, 1001}, {24000.0 / 1001, 24000, 1001}, {29.97, 30000, 1001}, {59.94, 60000, 1001}, {60, 60, 1}, {12.5, 12500000, 1000000}} {
		if num, den := previs.Rational(x.rate); num != x.num || den != x.den {
			t.Errorf("%g: %d/%d, want %d/%d", x.rate, num, den, x.num, x.den)
		}
	}
}

func TestSizes(t *testing.T) {
	wide := lens.Camera{FocalM: 0.025, SensorWidthM: 0.0244, SensorHeightM: 0.0129, PixelsW: 4096, PixelsH: 2160}
	tall := lens.Camera{FocalM: 0.025, SensorWidthM: 0.018, SensorHeightM: 0.018, PixelsW: 100, PixelsH: 100, Squeeze: 2}
	for _, x := range []struct {
		size string
		c    lens.Camera
		w, h int
	}{{"1280x720", wide, 1280, 676}, {"1280x300", wide, 568, 300}, {"800 x 800", tall, 800, 400}} {
		w, err := previs.Fit(x.size, x.c)
		if got := previs.Sized(x.c, w); err != nil || got.PixelsW != x.w || got.PixelsH != x.h {
			t.Errorf("%s: %d × %d (%v), want %d × %d", x.size, got.PixelsW, got.PixelsH, err, x.w, x.h)
		}
	}
	for _, bad := range []string{"", "1280", "axb", "1x1", "99999x10", "-20x30"} {
		if _, err := previs.Fit(bad, wide); err == nil {
			t.Errorf("%q was taken for a size", bad)
		}
	}
	for _, bad := range []string{"a.gif", "a.mov"} {
		if _, err := previs.FormOf(bad); err == nil {
			t.Errorf("%q was taken for a form", bad)
		}
	}
}
