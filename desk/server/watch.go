package server

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// settle is how long the folder must be quiet before it is read: an editor writes in steps.
const settle = 60 * time.Millisecond

// Watch follows the folder until ctx ends and reloads on each change.
func (s *Server) Watch(ctx context.Context) error {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return err
	}
	defer w.Close()
	err = filepath.WalkDir(s.Dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if path != s.Dir && strings.HasPrefix(d.Name(), ".") {
			return filepath.SkipDir
		}
		return w.Add(path)
	})
	if err != nil {
		return err
	}
	quiet := time.NewTimer(time.Hour)
	defer quiet.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-w.Events:
			if e.Op != fsnotify.Chmod && matters(e.Name) {
				quiet.Reset(settle)
			}
		case err := <-w.Errors:
			if err != nil {
				s.hub.send(event{Kind: "failed", Text: "watching the folder: " + err.Error()})
			}
		case <-quiet.C:
			go s.refresh(ctx)
		}
	}
}

// matters tells a shoot's files from an editor's and the logbook's own.
func matters(path string) bool {
	name := filepath.Base(path)
	if strings.HasPrefix(name, ".") || strings.HasSuffix(name, "~") {
		return false
	}
	switch filepath.Ext(name) {
	case ".yaml", ".csv", ".geojson", ".kml", ".gpx", ".tif", ".tiff", ".hgt", ".asc", ".txt", ".png", ".jpg", ".jpeg", ".pmtiles", ".pgw", ".pngw", ".jgw", ".jpgw", ".tfw", ".wld":
		return true
	}
	return false
}

// refresh reloads unless the folder is what the newest answer was made from.
func (s *Server) refresh(ctx context.Context) {
	s.mu.RLock()
	print := s.print
	s.mu.RUnlock()
	if now, err := fingerprint(s.Dir, ""); err != nil || now != print {
		_ = s.Reload(ctx) // published by itself
	}
}

// fingerprint changes whenever a file of the shoot does, but for the one named except.
func fingerprint(dir, except string) (string, error) {
	sum := sha256.New()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if path != dir && strings.HasPrefix(d.Name(), ".") {
				return filepath.SkipDir
			}
			return nil
		}
		if !matters(path) || except != "" && path == filepath.Join(dir, except) {
			return nil
		}
		info, err := d.Info()
		if err == nil {
			fmt.Fprintln(sum, path, info.Size(), info.ModTime().UnixNano())
		}
		return err
	})
	return string(sum.Sum(nil)), err
}
