// Package ui holds the built page. The sources lie beside it; `make build` fills dist.
package ui

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files returns the built page. Built reports whether there is one.
func Files() fs.FS {
	sub, err := fs.Sub(dist, "dist")
	if err != nil {
		panic("ui: " + err.Error()) // the name is fixed above
	}
	return sub
}

// Built reports whether the page was built into this program.
func Built() bool {
	_, err := fs.Stat(Files(), "index.html")
	return err == nil
}
