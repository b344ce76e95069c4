package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"fieldfare/desk/previs"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

type renderCmd struct {
	Dir    string   `arg:"" help:"Shoot folder." type:"path"`
	Slate  string   `arg:"" help:"Slate to draw, as 4B."`
	Output string   `short:"o" required:"" type:"path" help:"File to write: .mp4 (needs ffmpeg), .apng, .png for one frame; a name without an ending is a folder of PNG files."`
	At     string   `help:"When the take starts, local: '2026-09-22 10:30', or '10:30' on the first date. Left out: the slate's best light."`
	Frame  *float64 `help:"For one frame: seconds into the take. Left out: the middle."`
	Size   string   `default:"1280x720" help:"Largest picture in pixels; the shot keeps its own shape."`
	Burn   bool     `help:"Write slate, timecode and time of day into each frame."`
	Thirds bool     `help:"Lines at the thirds."`
	Safe   bool     `help:"Action and title safe areas."`
	Box    bool     `help:"Mark the subject."`
	Smear  bool     `help:"Smear moving frames as the shutter will."`
	Force  bool     `help:"Overwrite what exists."`
}

// rendered is the command's answer.
type rendered struct {
	File     string    `json:"file"`
	Slate    string    `json:"slate"`
	Title    string    `json:"title"`
	At       time.Time `json:"at"`
	Frames   int       `json:"frames"`
	RateHz   float64   `json:"rate_hz"`
	WidthPx  int       `json:"width_px"`
	HeightPx int       `json:"height_px"`
	ShutterS float64   `json:"shutter_s,omitempty"`
	Stops    []string  `json:"stops"`
	Caution  string    `json:"caution"`
}

func (c *renderCmd) Run(s *Session) error {
	form, err := previs.FormOf(c.Output)
	if err != nil {
		return err
	}
	if err := roomFor(c.Output, form, c.Force); err != nil {
		return err
	}
	if c.Frame != nil && form != previs.Picture {
		return fmt.Errorf("--frame draws one frame: give -o a name that ends in .png, not %s", filepath.Base(c.Output))
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	take := a.Take(c.Slate)
	if take == nil {
		return fmt.Errorf("no slate %q in this shoot", c.Slate)
	}
	at, err := c.start(s.Context, a.Shoot, take)
	if err != nil {
		return err
	}
	shot, err := c.shot(a, take, at)
	if err != nil {
		return err
	}
	result := rendered{File: c.Output, Slate: c.Slate, Title: take.Slate.Title, At: at, Frames: shot.Frames(), RateHz: float64(take.Slate.Rate),
		WidthPx: shot.Camera.PixelsW, HeightPx: shot.Camera.PixelsH, ShutterS: shot.SmearS, Stops: []string{}, Caution: SafetySentence}
	for _, f := range take.At(at).Findings {
		if f.Severity == assess.Stop {
			result.Stops = append(result.Stops, line(f))
		}
	}
	if form == previs.Picture {
		result.Frames = 1
		err = c.picture(shot)
	} else {
		if err = previs.Film(s.Context, shot, c.Output, progress(s.Err, c.Slate)); err != nil {
			fmt.Fprintln(s.Err) // ends the line of progress
		}
	}
	if errors.Is(err, context.Canceled) {
		return fmt.Errorf("cancelled; nothing was written to %s", c.Output)
	}
	if err != nil {
		return err
	}
	return s.emit(result, func(w io.Writer) {
		fmt.Fprintf(w, "%s: %s, %d × %d pixels", c.Output, count(result.Frames, "frame"), result.WidthPx, result.HeightPx)
		if result.Frames > 1 {
			fmt.Fprintf(w, " at %s", take.Slate.Rate)
		}
		fmt.Fprintf(w, "; slate %s at %s\n", c.Slate, at.Format("Mon 2 Jan 2006 15:04 MST"))
		for _, stop := range result.Stops {
			fmt.Fprintf(w, "%s\n", stop)
		}
		fmt.Fprintln(w, SafetySentence)
	})
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// roomFor refuses to write over what exists, unless asked to.
func roomFor(path string, form previs.Form, force bool) error {
	if form != previs.Folder {
		return vacant(path, force)
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil // the writer will say what is wrong with the place
	case !info.IsDir():
		return fmt.Errorf("%s is a file and frames want a folder; choose another name", path)
	case !force:
		return fmt.Errorf("%s exists; choose another name or add --force", path)
	}
	return onlyFrames(path)
}

// onlyFrames guards a folder that holds anything but frames from being replaced.
func onlyFrames(path string) error {
	inside, err := os.ReadDir(path)
	if err != nil {
		return err
	}
	for _, e := range inside {
		if match, _ := filepath.Match("[0-9][0-9][0-9][0-9][0-9].png", e.Name()); !match {
			return fmt.Errorf("%s holds %s, which is not a frame; --force replaces folders of frames only", path, e.Name())
		}
	}
	return nil
}

// start is when the take starts: as asked, or at its best light.
func (c *renderCmd) start(ctx context.Context, s *shoot.Shoot, t *assess.Take) (time.Time, error) {
	if c.At == "" {
		x, err := check.One(ctx, s, t)
		return x.At, err
	}
	var clock shoot.Clock
	if clock.UnmarshalText([]byte(c.At)) == nil {
		return clock.On(s.Dates[0], s.Location())
	}
	var m shoot.Moment
	if err := m.UnmarshalText([]byte(c.At)); err != nil {
		return time.Time{}, fmt.Errorf("--at: %w", err)
	}
	return m.In(s.Location())
}

func (c *renderCmd) shot(a *assess.Assessor, t *assess.Take, at time.Time) (*previs.Shot, error) {
	camera, ok := t.Camera()
	if !ok {
		return nil, fmt.Errorf("slate %s: rig %s carries no camera, so there is nothing to draw", c.Slate, t.Rig.Name)
	}
	width, err := previs.Fit(c.Size, camera)
	if err != nil {
		return nil, err
	}
	shot, err := previs.NewShot(previs.NewScene(a), a, c.Slate, at, width)
	if err != nil {
		return nil, err
	}
	shot.Labelled = c.Burn
	shot.Options.Thirds, shot.Options.SafeArea = c.Thirds, c.Safe
	if c.Box {
		shot.Options.Subject = t.Slate.Subject
	}
	if c.Smear {
		shot.SmearS = t.ShutterS()
		if card := t.At(at).Numbers.Picture.Card; card != nil {
			shot.SmearS = card.ShutterS
		}
	}
	return shot, nil
}

func (c *renderCmd) picture(shot *previs.Shot) error {
	last := float64(shot.Frames()-1) / shot.RateHz()
	t := last / 2
	if c.Frame != nil {
		if t = *c.Frame; !(t >= 0 && t <= last+1e-9) {
			return fmt.Errorf("--frame %g: the take runs from 0 to %.2f s", t, last)
		}
	}
	frame, err := shot.At(t)
	if err != nil {
		return err
	}
	return previs.SavePicture(c.Output, frame)
}

// progress tells each twentieth of the work on one line.
func progress(w io.Writer, slate string) func(done, of int) {
	told := -1
	return func(done, of int) {
		if step := done * 20 / max(1, of); step > told {
			told = step
			fmt.Fprintf(w, "\rslate %s: frame %d of %d", slate, done, of)
			if done == of {
				fmt.Fprintln(w)
			}
		}
	}
}
