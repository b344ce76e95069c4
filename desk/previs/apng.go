package previs

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/png"
	"io"

	"fieldfare/plan/shoot"
)

// animated writes an animated PNG as it goes: W3C, Portable Network Graphics (third edition), sections 4.9 and 11.3.6.
// Each frame is packed by image/png; its data chunks are wrapped again with sequence numbers.
type animated struct {
	*draft
	out      *bufio.Writer
	frames   int
	num, den uint16
	sequence uint32
	begun    bool
}

func newAnimated(path string, frames int, rateHz float64) (reel, error) {
	d, err := newDraft(path)
	if err != nil {
		return nil, err
	}
	a := newAnimation(d.file, frames, rateHz)
	a.draft = d
	return a, nil
}

// newAnimation needs the number of frames before the first. A frame lasts den/num seconds, each at most 65535.
func newAnimation(w io.Writer, frames int, rateHz float64) *animated {
	num, den := rational(rateHz)
	if num > 65535 {
		num, den = int(rateHz*1000+0.5), 1000
	}
	for num > 65535 {
		num, den = num/10, den/10
	}
	return &animated{out: bufio.NewWriterSize(w, 1<<16), frames: frames, num: uint16(num), den: uint16(den)}
}

const pngHead = "\x89PNG\r\n\x1a\n"

func (a *animated) chunk(name string, parts ...[]byte) error {
	long := 0
	sum := crc32.NewIEEE()
	sum.Write([]byte(name))
	for _, p := range parts {
		long += len(p)
		sum.Write(p)
	}
	var b [8]byte
	binary.BigEndian.PutUint32(b[:4], uint32(long))
	copy(b[4:], name)
	a.out.Write(b[:])
	for _, p := range parts {
		a.out.Write(p)
	}
	_, err := a.out.Write(binary.BigEndian.AppendUint32(nil, sum.Sum32()))
	return err // bufio keeps the first error
}

func (a *animated) next() []byte {
	n := binary.BigEndian.AppendUint32(nil, a.sequence)
	a.sequence++
	return n
}

func (a *animated) add(frame *image.RGBA) error {
	var packed bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(&packed, frame); err != nil {
		return a.wrap(err)
	}
	first := !a.begun
	a.begun = true
	if first {
		a.out.WriteString(pngHead)
	}
	for b := packed.Bytes()[len(pngHead):]; len(b) >= 12; {
		long := binary.BigEndian.Uint32(b)
		name, data := string(b[4:8]), b[8:8+long]
		b = b[12+long:]
		var err error
		switch name {
		case "IHDR":
			if first {
				if err = a.chunk("IHDR", data); err == nil {
					err = a.chunk("acTL", binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(a.frames)), 0))
				}
			}
			control := a.next()
			for _, v := range []uint32{uint32(frame.Rect.Dx()), uint32(frame.Rect.Dy()), 0, 0} {
				control = binary.BigEndian.AppendUint32(control, v)
			}
			control = binary.BigEndian.AppendUint16(control, a.den)
			control = binary.BigEndian.AppendUint16(control, a.num)
			err = errors.Join(err, a.chunk("fcTL", control, []byte{0, 0})) // nothing disposed, nothing blended
		case "IDAT":
			if first {
				err = a.chunk("IDAT", data)
			} else {
				err = a.chunk("fdAT", a.next(), data)
			}
		}
		if err != nil {
			return a.wrap(err)
		}
	}
	return nil
}

func (a *animated) wrap(err error) error {
	if a.draft == nil {
		return err
	}
	return shoot.Unwritten(a.path, err)
}

// end writes what closes the file.
func (a *animated) end() error {
	if err := a.chunk("IEND"); err != nil {
		return err
	}
	return a.out.Flush()
}

func (a *animated) finish() error {
	if err := a.end(); err != nil {
		return a.wrap(err)
	}
	return a.draft.finish()
}
