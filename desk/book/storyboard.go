package book

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"slices"

	"fieldfare/desk/previs"
	"fieldfare/plan/assess"
)

// story is one encoded frame of a slate's storyboard.
type story struct {
	label string
	jpeg  []byte
	w, h  int // pixels
}

const (
	storyPx      = 400 // 60 mm at 170 dots an inch
	storyQuality = 82
)

// storyboard draws start, middle and end of every slate that is printed, on every core. A slate
// without a path or a camera has none.
func (p *printer) storyboard(ctx context.Context) error {
	p.stories = map[string][]story{}
	if p.Plain {
		return nil
	}
	scene := previs.NewScene(p.Assessor)
	frames := make([][]story, len(p.Check.Slates))
	if err := assess.Each(ctx, len(frames), func(i int) (err error) {
		x := &p.Check.Slates[i]
		if !p.wants("slates") && !slices.Contains(p.Only, x.Slate) {
			return nil
		}
		t := p.Assessor.Take(x.Slate)
		if _, camera := t.Camera(); !camera || t.Unsolved != nil {
			return nil
		}
		if frames[i], err = p.story(scene, i); err != nil {
			return fmt.Errorf("slate %s has no storyboard: %w", x.Slate, err)
		}
		return nil
	}); err != nil {
		return err
	}
	for i := range frames {
		p.stories[p.Check.Slates[i].Slate] = frames[i]
	}
	return nil
}

func (p *printer) story(scene *previs.Scene, i int) ([]story, error) {
	x := &p.Check.Slates[i]
	start, middle, end, err := scene.Storyboard(p.Assessor, x.Slate, p.moment(x.Slate, x.At), storyPx)
	if err != nil {
		return nil, err
	}
	length := p.Assessor.Take(x.Slate).Path.DurationS()
	var all []story
	labels := []string{"start, 0 s", fmt.Sprintf("middle, %.1f s", length/2), fmt.Sprintf("end, %.1f s", length)}
	for k, img := range []image.Image{start, middle, end} {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: storyQuality}); err != nil {
			return nil, err
		}
		all = append(all, story{labels[k], b.Bytes(), img.Bounds().Dx(), img.Bounds().Dy()})
	}
	return all, nil
}
