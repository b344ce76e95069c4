package shoot

import (
	"embed"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/template"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

//go:embed starter
var starter embed.FS

// Start writes a shoot folder to begin from. It refuses a folder that already holds a shoot
// file, and writes each file whole or not at all.
func Start(dir string, origin Place, date Date, zone string) error {
	if _, err := os.Stat(filepath.Join(dir, FileName)); err == nil {
		return fmt.Errorf("%s already holds a %s; choose another folder", dir, FileName)
	}
	launch, _ := geo.Direct(geo.LatLon(origin), 200*unit.Degree, 80)
	values := map[string]string{
		"Origin": origin.String(), "Date": date.String(), "Zone": zone,
		"LaunchLat": fmt.Sprintf("%.7f", launch.Lat.Deg()), "LaunchLon": fmt.Sprintf("%.7f", launch.Lon.Deg()),
	}
	return fs.WalkDir(starter, "starter", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(strings.TrimPrefix(path, "starter")))
		if d.IsDir() {
			if err := os.MkdirAll(to, 0o755); err != nil {
				return Unwritten(to, err)
			}
			return nil
		}
		text, err := starter.ReadFile(path)
		if err != nil {
			return err
		}
		form, err := template.New(path).Parse(string(text))
		if err != nil {
			return err
		}
		var b strings.Builder
		if err := form.Execute(&b, values); err != nil {
			return err
		}
		return Save(to, []byte(b.String()))
	})
}

// Save writes a file so that it is never half there: to a temporary file beside it,
// flushed to disk, then renamed into place.
func Save(path string, content []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return Unwritten(path, err)
	}
	defer func() {
		if err != nil {
			_ = f.Close()
			_ = os.Remove(f.Name())
			err = Unwritten(path, err)
		}
	}()
	if _, err = f.Write(content); err != nil {
		return err
	}
	if err = f.Chmod(0o644); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
