package assess

import (
	"maps"
	"sync"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/plan/shoot"
)

// skylines keeps the horizons of places, and those of the version before as long as this one is made.
type skylines struct {
	mu       sync.Mutex
	at, were map[geo.Vec3]terrain.Skyline
}

const skylineAzimuths = 720

func newSkylines(s *shoot.Shoot, was *Assessor) *skylines {
	c := &skylines{at: map[geo.Vec3]terrain.Skyline{}}
	if was != nil && was.Shoot.Ground() == s.Ground() && was.Shoot.Site.Refraction == s.Site.Refraction {
		was.skylines.mu.Lock()
		c.were = maps.Clone(was.skylines.at)
		was.skylines.mu.Unlock()
	}
	return c
}

func (c *skylines) of(s *shoot.Shoot, p geo.Vec3) terrain.Skyline {
	c.mu.Lock()
	defer c.mu.Unlock()
	line, ok := c.at[p]
	if ok {
		return line
	}
	if line, ok = c.were[p]; !ok {
		var err error
		if line, err = s.Ground().Skyline(p, skylineAzimuths, float64(s.Site.Refraction)); err != nil {
			line = terrain.Skyline{}
		}
	}
	c.at[p] = line
	return line
}

// forget lets go of the horizons that this version has not asked for.
func (c *skylines) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.were = nil
}
