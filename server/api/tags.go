package api

import (
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
)

// taggedRoutes answer alike as long as the book and the hour stand.
var taggedRoutes = map[string]bool{"/api/entries": true, "/api/today": true, "/api/conditions": true}

// tagged gives the answers that follow from the book's state alone a tag, and
// answers 304 to who holds the same. A browser may keep such an answer but asks
// each time, so that nothing is shown to who is no longer signed in.
func (s *Server) tagged() gin.HandlerFunc {
	return func(c *gin.Context) {
		if c.Request.Method != http.MethodGet || !taggedRoutes[c.FullPath()] {
			c.Next()
			return
		}
		w, err := WhenInput{At: c.Query("at"), KnownAt: c.Query("known_at")}.when()
		mark := ""
		if err == nil {
			mark, err = s.App.Mark(c.Request.Context(), who(c.Request.Context()), w)
		}
		if err != nil {
			c.Next() // the handler says what is wrong
			return
		}
		tag := `W/"` + mark + `"`
		c.Header("Cache-Control", "private, no-cache")
		c.Header("ETag", tag)
		if role := who(c.Request.Context()).Role; role.May(app.Read) || c.FullPath() == "/api/entries" {
			for _, held := range strings.Split(c.GetHeader("If-None-Match"), ",") {
				if strings.TrimSpace(held) == tag {
					c.AbortWithStatus(http.StatusNotModified)
					return
				}
			}
		}
		c.Next()
	}
}
