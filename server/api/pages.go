package api

import (
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
)

// page answers the embedded pages; without a build, a page that says how to
// make one, as 503.
func (s *Server) page(c *gin.Context) {
	if strings.HasPrefix(c.Request.URL.Path, "/api/") {
		abort(c, &app.Error{Code: app.NotFound, Words: "there is no such address"})
		return
	}
	if c.Request.Method != http.MethodGet && c.Request.Method != http.MethodHead {
		c.AbortWithStatus(http.StatusMethodNotAllowed)
		return
	}
	name := strings.TrimPrefix(path.Clean(c.Request.URL.Path), "/")
	if name == "" {
		name = "index.html"
	}
	body, err := fs.ReadFile(s.Pages, name)
	if err != nil && name == "index.html" {
		unbuilt, _ := fs.ReadFile(s.Pages, "unbuilt.html")
		c.Data(http.StatusServiceUnavailable, "text/html; charset=utf-8", unbuilt)
		return
	}
	if err != nil {
		c.Data(http.StatusNotFound, "text/plain; charset=utf-8", []byte("There is no such page. Go to / instead.\n"))
		return
	}
	if strings.HasPrefix(name, "assets/") {
		c.Header("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		c.Header("Cache-Control", "no-cache")
	}
	kind := mime.TypeByExtension(path.Ext(name))
	if kind == "" {
		kind = "application/octet-stream"
	}
	c.Data(http.StatusOK, kind, body)
}
