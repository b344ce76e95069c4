package previs

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"

	"fieldfare/model/lens"
	"fieldfare/plan/shoot"
)

// Form is a file that frames are written to.
type Form string

// The forms, by the ending of the file's name; no ending stands for a folder of PNG files.
const (
	Movie    Form = ".mp4"  // H.264 through ffmpeg
	Animated Form = ".apng" // animated PNG (W3C PNG, third edition)
	Picture  Form = ".png"  // one frame
	Folder   Form = ""      // numbered PNG files
)

// FormOf returns the form that a file's name asks for.
func FormOf(path string) (Form, error) {
	switch f := Form(strings.ToLower(filepath.Ext(path))); f {
	case Movie, Animated, Picture, Folder:
		return f, nil
	}
	return "", fmt.Errorf("%s: its ending is not known here; use .mp4, .apng or .png, or a name without an ending for a folder of PNG files", path)
}

// reel takes frames in order.
type reel interface {
	add(*image.RGBA) error
	// finish completes the file; until then nothing stands at its path.
	finish() error
	// drop removes what was written.
	drop()
}

// Film draws every frame of a shot into a file or folder at path. Progress is told before each frame.
// When ctx ends or a write fails, no part of the file is left, and what stood there before still does.
func Film(ctx context.Context, s *Shot, path string, progress func(done, of int)) error {
	form, err := FormOf(path)
	if err != nil {
		return err
	}
	n := s.Frames()
	var r reel
	switch form {
	case Movie:
		r, err = newMovie(ctx, path, s.Camera.PixelsW, s.Camera.PixelsH, s.RateHz())
	case Animated:
		r, err = newAnimated(path, n, s.RateHz())
	case Folder:
		r, err = newFolder(path)
	default:
		return fmt.Errorf("%s holds one frame: draw it with At and SavePicture", path)
	}
	if err != nil {
		return err
	}
	if err := roll(ctx, s, r, n, progress); err != nil {
		r.drop()
		return err
	}
	if err := r.finish(); err != nil {
		r.drop()
		return err
	}
	return nil
}

// roll draws one frame while the one before it is written.
func roll(ctx context.Context, s *Shot, r reel, n int, progress func(done, of int)) error {
	frames, failed := make(chan *image.RGBA), make(chan error, 1)
	go func() {
		var err error
		for f := range frames {
			if err == nil {
				if err = r.add(f); err != nil {
					failed <- err
				}
			}
		}
		close(failed)
	}()
	draw := func() error {
		defer close(frames)
		for i := range n {
			if progress != nil {
				progress(i, n)
			}
			f, err := s.Frame(i)
			if err != nil {
				return err
			}
			select {
			case frames <- f:
			case err := <-failed:
				return err
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	}
	err := draw()
	for late := range failed {
		if err == nil {
			err = late
		}
	}
	if cancelled := ctx.Err(); cancelled != nil {
		return cancelled
	}
	if err == nil && progress != nil {
		progress(n, n)
	}
	return err
}

// SavePicture writes one frame as PNG; the file is there whole or not at all.
func SavePicture(path string, frame *image.RGBA) error {
	d, err := newDraft(path)
	if err != nil {
		return err
	}
	if err := png.Encode(d.file, frame); err != nil {
		d.drop()
		return shoot.Unwritten(path, err)
	}
	return d.finish()
}

// draft is a file that takes its name only when it is whole.
type draft struct {
	file *os.File
	path string
}

func newDraft(path string) (*draft, error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".part-*"+filepath.Ext(path))
	if err != nil {
		return nil, shoot.Unwritten(path, err)
	}
	return &draft{f, path}, nil
}

func (d *draft) finish() error {
	err := errors.Join(d.file.Chmod(0o644), d.file.Sync(), d.file.Close())
	if err == nil {
		err = os.Rename(d.file.Name(), d.path)
	}
	if err != nil {
		_ = os.Remove(d.file.Name())
		return shoot.Unwritten(d.path, err)
	}
	return nil
}

func (d *draft) drop() {
	_ = d.file.Close()
	_ = os.Remove(d.file.Name())
}

// folder is numbered PNG files; pngs are packed on every core.
type folder struct {
	path, part string
	n          int
	packing    chan struct{}
	failed     chan error
}

func newFolder(path string) (reel, error) {
	part, err := os.MkdirTemp(filepath.Dir(path), ".part-*")
	if err != nil {
		return nil, shoot.Unwritten(path, err)
	}
	return &folder{path: path, part: part, packing: make(chan struct{}, runtime.GOMAXPROCS(0)), failed: make(chan error, 1)}, nil
}

func (f *folder) add(frame *image.RGBA) error {
	f.n++
	name := filepath.Join(f.part, fmt.Sprintf("%05d.png", f.n))
	select {
	case err := <-f.failed:
		return err
	case f.packing <- struct{}{}:
	}
	go func() {
		defer func() { <-f.packing }()
		if err := SavePicture(name, frame); err != nil {
			select {
			case f.failed <- err:
			default:
			}
		}
	}()
	return nil
}

// settle waits for the frames being packed.
func (f *folder) settle() error {
	for range cap(f.packing) {
		f.packing <- struct{}{}
	}
	for range cap(f.packing) {
		<-f.packing
	}
	select {
	case err := <-f.failed:
		return err
	default:
		return nil
	}
}

func (f *folder) finish() error {
	if err := f.settle(); err != nil {
		return err
	}
	if err := os.Chmod(f.part, 0o755); err != nil {
		return shoot.Unwritten(f.path, err)
	}
	// A folder cannot be replaced in one step: the old one steps aside first.
	old := f.part + "-old"
	if err := os.Rename(f.path, old); err != nil && !errors.Is(err, os.ErrNotExist) {
		return shoot.Unwritten(f.path, err)
	}
	if err := os.Rename(f.part, f.path); err != nil {
		if back := os.Rename(old, f.path); back != nil && !errors.Is(back, os.ErrNotExist) {
			err = errors.Join(err, fmt.Errorf("the old frames lie at %s: %w", old, back))
		}
		return shoot.Unwritten(f.path, err)
	}
	return os.RemoveAll(old)
}

func (f *folder) drop() {
	_ = f.settle()
	_ = os.RemoveAll(f.part)
}

// movie pipes raw frames into ffmpeg.
type movie struct {
	*draft
	run  *exec.Cmd
	pipe io.WriteCloser
	said bytes.Buffer
	done bool
}

func newMovie(ctx context.Context, path string, w, h int, rateHz float64) (reel, error) {
	tool, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, fmt.Errorf("%s needs ffmpeg, which is not installed here: install it, or write .apng or a folder of PNG files", path)
	}
	d, err := newDraft(path)
	if err != nil {
		return nil, err
	}
	num, den := rational(rateHz)
	// Even sides for 4:2:0; BT.709 as the picture's size asks; no times and versions in the file.
	m := &movie{draft: d, run: exec.CommandContext(ctx, tool, "-hide_banner", "-loglevel", "error", "-nostdin", "-y",
		"-f", "rawvideo", "-pixel_format", "rgba", "-video_size", fmt.Sprintf("%dx%d", w, h), "-framerate", fmt.Sprintf("%d/%d", num, den), "-i", "pipe:0",
		"-vf", "pad=ceil(iw/2)*2:ceil(ih/2)*2,scale=out_color_matrix=bt709:out_range=tv", "-c:v", "libx264", "-preset", "veryfast", "-crf", "19", "-pix_fmt", "yuv420p",
		"-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709", "-color_range", "tv",
		"-map_metadata", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact", "-movflags", "+faststart", d.file.Name())}
	m.run.Stderr = &m.said
	if m.pipe, err = m.run.StdinPipe(); err == nil {
		err = m.run.Start()
	}
	if err != nil {
		d.drop()
		return nil, fmt.Errorf("cannot start ffmpeg: %w", err)
	}
	return m, nil
}

func (m *movie) add(frame *image.RGBA) error {
	if _, err := m.pipe.Write(frame.Pix); err != nil {
		_ = m.wait() // it ended early: what it said tells more
		return m.complain(err)
	}
	return nil
}

func (m *movie) wait() (err error) {
	if !m.done {
		m.done = true
		_ = m.pipe.Close() // Wait tells whether the film is whole
		err = m.run.Wait()
	}
	return err
}

func (m *movie) complain(err error) error {
	if said := strings.TrimSpace(m.said.String()); said != "" {
		return fmt.Errorf("cannot write %s: ffmpeg: %s", m.path, strings.ReplaceAll(said, "\n", "; "))
	}
	return fmt.Errorf("cannot write %s: ffmpeg: %w", m.path, err)
}

func (m *movie) finish() error {
	if err := m.wait(); err != nil {
		return m.complain(err)
	}
	return m.draft.finish()
}

func (m *movie) drop() {
	if !m.done && m.run.Process != nil {
		_ = m.run.Process.Kill()
	}
	_ = m.wait()
	m.draft.drop()
}

// rational writes a frame rate as a fraction: the television rates over 1001, others to a millionth.
func rational(rateHz float64) (num, den int) {
	if n := math.Round(rateHz * 1001); math.Abs(rateHz*1001-n) < 0.6 && math.Abs(rateHz-math.Round(rateHz)) > 1e-6 {
		if whole := math.Round(n / 1000); math.Abs(whole*1000/1001-rateHz) < 2e-3 {
			return int(whole) * 1000, 1001
		}
	}
	if n := math.Round(rateHz); math.Abs(n-rateHz) < 1e-6 {
		return int(n), 1
	}
	return int(math.Round(rateHz * 1e6)), 1e6
}

// Fit reads a size as "1280x720" and returns the width of the largest picture within it that has the camera's own
// shape.
func Fit(size string, c lens.Camera) (widthPx int, err error) {
	w, h, ok := strings.Cut(strings.ToLower(size), "x")
	width, errW := strconv.Atoi(strings.TrimSpace(w))
	height, errH := strconv.Atoi(strings.TrimSpace(h))
	if !ok || errW != nil || errH != nil || width < 16 || height < 16 || width > 16384 || height > 16384 {
		return 0, fmt.Errorf("size %q: write width and height in pixels from 16 to 16384, as in 1280x720", size)
	}
	width -= width % 2
	for Sized(c, width).PixelsH > height {
		width -= 2
	}
	return max(16, width), nil
}
