package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strconv"

	"fieldfare/desk/track"
)

// Way turns a recorded track into the timed track of a moving subject: the CSV that a shoot reads, with
// seconds from the first position.
func Way(t *track.Track) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"time [s]", "latitude [deg]", "longitude [deg]", "height [m]"})
	first, last, n := 0.0, 0.0, 0
	for _, p := range t.Points {
		if !p.Is(track.Timed) {
			continue
		}
		if n == 0 {
			first = p.UnixS
		} else if p.UnixS <= last {
			return nil, fmt.Errorf("position %d is not later than the one before: clean the recording first", n+1)
		}
		// Heights of receivers are worse than the terrain that a subject stands on: left out.
		w.Write([]string{strconv.FormatFloat(p.UnixS-first, 'f', 3, 64), strconv.FormatFloat(p.LatDeg, 'f', 8, 64), strconv.FormatFloat(p.LonDeg, 'f', 8, 64), ""})
		last = p.UnixS
		n++
	}
	if n < 2 {
		return nil, errors.New("the file holds fewer than two positions with a time")
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
