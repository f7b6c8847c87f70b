// Package frontend carries the built pages inside the program. Without a
// build it carries one page that says how to make one.
package frontend

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Pages returns the built files, index.html among them when Built.
func Pages() fs.FS {
	f, err := fs.Sub(dist, "dist")
	if err != nil { // the folder is embedded above: this cannot happen
		return dist
	}
	return f
}

// Built tells whether the pages were built before the program was.
func Built() bool {
	_, err := fs.Stat(Pages(), "index.html")
	return err == nil
}
