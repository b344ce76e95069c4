package track

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/ianaindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// walker is an XML token reader that refuses document types, deep nesting and
// endless tokens, and reports progress by the bytes it has eaten.
type walker struct {
	*xml.Decoder
	meter *meter
	path  []string // local names of the open elements
	text  strings.Builder
	ctx   context.Context
	opt   Options
	total int64
	ticks int
}

func newWalker(ctx context.Context, r io.Reader, total int64, head []byte, opt Options) *walker {
	wide := len(head) > 3 && (head[0] == 0 || head[1] == 0 || (head[0] == 0xff && head[1] == 0xfe) || (head[0] == 0xfe && head[1] == 0xff))
	m := &meter{}
	if wide {
		endian := unicode.LittleEndian
		if head[0] == 0 {
			endian = unicode.BigEndian
		}
		m.r = transform.NewReader(r, unicode.BOMOverride(unicode.UTF16(endian, unicode.IgnoreBOM).NewDecoder()))
	} else {
		m.r = transform.NewReader(r, unicode.BOMOverride(transform.Nop))
	}
	d := xml.NewDecoder(m)
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		if wide || strings.EqualFold(label, "utf-8") {
			return in, nil
		}
		enc, err := ianaindex.IANA.Encoding(label)
		if err != nil || enc == nil {
			return nil, fmt.Errorf("encoding %q is not known: save the file as UTF-8", label)
		}
		return enc.NewDecoder().Reader(in), nil
	}
	return &walker{Decoder: d, meter: m, ctx: ctx, opt: opt, total: total}
}

// next returns the next start or end element; text since the last start is in w.text.
func (w *walker) next() (xml.Token, error) {
	for {
		w.meter.since = 0
		if w.ticks++; w.ticks&0xfff == 0 {
			if err := w.ctx.Err(); err != nil {
				return nil, err
			}
			w.opt.Progress(min(w.meter.n, w.total), w.total)
		}
		tok, err := w.Token()
		if err != nil {
			if err == io.EOF {
				return nil, err
			}
			return nil, w.wrap(err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			if len(w.path) >= maxDepth {
				return nil, w.wrap(fmt.Errorf("elements nested more than %d deep", maxDepth))
			}
			w.path = append(w.path, tok.Name.Local)
			w.text.Reset()
			return tok, nil
		case xml.EndElement:
			if len(w.path) > 0 {
				w.path = w.path[:len(w.path)-1]
			}
			return tok, nil
		case xml.CharData:
			if w.text.Len()+len(tok) > maxText {
				return nil, w.wrap(fmt.Errorf("one element holds more than %d MB of text", maxText>>20))
			}
			w.text.Write(tok)
		case xml.Directive:
			return nil, w.wrap(errors.New("document type and entity declarations are refused, as they can hide bombs: save the track again without them"))
		}
	}
}

// maxText bounds the text of one element: a KML line string of a long flight.
const maxText = 64 << 20

func (w *walker) wrap(err error) error {
	line, _ := w.InputPos()
	if strings.Contains(err.Error(), "invalid UTF-8") {
		err = errors.New("the bytes are not in the encoding that the file declares: save it as UTF-8")
	}
	return fmt.Errorf("line %d: %w", line, err)
}

func (w *walker) at() string {
	line, _ := w.InputPos()
	return fmt.Sprintf("line %d", line)
}

// meter counts bytes and stops a single token from growing without end.
type meter struct {
	r     io.Reader
	buf   [32 << 10]byte
	have  []byte
	n     int64
	since int
}

var errToken = fmt.Errorf("one tag or text runs over %d MB", maxText>>20)

func (m *meter) ReadByte() (byte, error) {
	if len(m.have) == 0 {
		n, err := m.r.Read(m.buf[:])
		if n == 0 {
			if err == nil {
				err = io.ErrNoProgress
			}
			return 0, err
		}
		m.have = m.buf[:n]
	}
	if m.since++; m.since > maxText {
		return 0, errToken
	}
	c := m.have[0]
	m.have = m.have[1:]
	m.n++
	return c, nil
}

func (m *meter) Read(p []byte) (int, error) {
	for i := range p {
		c, err := m.ReadByte()
		if err != nil {
			if i > 0 {
				return i, nil
			}
			return 0, err
		}
		p[i] = c
		if c == '\n' || c == '>' {
			return i + 1, nil
		}
	}
	return len(p), nil
}
