package track

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
)

// records listens to the decoder and keeps the record messages only.
type records struct {
	t    *Track
	n    int
	err  error
	tick func() error
}

// OnMesg turns one FIT record message into a point. Positions are semicircles, 2^31 to
// 180 degrees; times are whole seconds.
func (r *records) OnMesg(mesg proto.Message) {
	if r.err != nil || mesg.Num != typedef.MesgNumRecord {
		return
	}
	if r.n++; r.n&0xfff == 0 {
		if r.err = r.tick(); r.err != nil {
			return
		}
	}
	m := mesgdef.NewRecord(&mesg)
	at := fmt.Sprintf("record %d", r.n)
	if m.PositionLat == basetype.Sint32Invalid || m.PositionLong == basetype.Sint32Invalid {
		r.t.find("note", "records without a position were left out", at, "")
		return
	}
	p := Point{LatDeg: float64(m.PositionLat) * 180 / (1 << 31), LonDeg: float64(m.PositionLong) * 180 / (1 << 31)}
	if !m.Timestamp.IsZero() {
		p.UnixS, p.Has = unixS(m.Timestamp), p.Has|Timed
	}
	put := func(bit Fields, to *float64, v float64) {
		if !math.IsNaN(v) {
			*to, p.Has = v, p.Has|bit
		}
	}
	put(Height, &p.HeightM, m.AltitudeScaled())
	put(Height, &p.HeightM, m.EnhancedAltitudeScaled())
	put(Speed, &p.SpeedMS, m.SpeedScaled())
	put(Speed, &p.SpeedMS, m.EnhancedSpeedScaled())
	if v := m.BatterySocScaled(); !math.IsNaN(v) {
		put(Charge, &p.ChargeFraction, v/100)
	}
	r.err = r.t.add(p, at)
}

// readFIT reads the record messages of a FIT file, and of files chained after it.
func (t *Track) readFIT(ctx context.Context, data []byte, opt Options) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the file is broken: %v", r)
		}
	}()
	in := bytes.NewReader(data)
	rec := &records{t: t, tick: func() error {
		opt.Progress(int64(len(data)-in.Len()), int64(len(data)))
		return ctx.Err()
	}}
	d := decoder.New(in, decoder.WithMesgListener(rec), decoder.WithBroadcastOnly())
	for d.Next() {
		if _, err := d.DecodeWithContext(ctx); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if len(t.Points) == 0 {
				return fmt.Errorf("the file is broken: %w", err)
			}
			t.find("caution", "the file breaks off or fails its checksum; what came before is kept ("+err.Error()+")", fmt.Sprintf("record %d", rec.n), "copy the file from the recorder again")
			break
		}
		if rec.err != nil {
			return rec.err
		}
	}
	if rec.n == 0 {
		return errors.New("the file holds no record messages: it is not an activity")
	}
	return rec.err
}
