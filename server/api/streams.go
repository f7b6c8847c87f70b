package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// streams registers a job's state: asked for plainly, or sent as it changes.
func (s *Server) streams(g *gin.RouterGroup) {
	g.GET("/jobs/:id", func(c *gin.Context) {
		job, _, err := s.job(c)
		if err != nil {
			abort(c, err)
			return
		}
		c.JSON(http.StatusOK, job)
	})
	g.GET("/jobs/:id/events", s.events)
}

func (s *Server) job(c *gin.Context) (jobs.Job, <-chan struct{}, error) {
	job, changed, there := s.Jobs.Get(c.Param("id"))
	if !there || job.Owner != who(c.Request.Context()).Person {
		return job, nil, &app.Error{Code: app.NotFound, Words: "there is no such job; the server may have been started again since"}
	}
	return job, changed, nil
}

// heartbeat keeps proxies from closing a quiet stream.
const heartbeat = 15 * time.Second

func (s *Server) events(c *gin.Context) {
	job, changed, err := s.job(c)
	if err != nil {
		abort(c, err)
		return
	}
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	c.Status(http.StatusOK)
	for {
		b, _ := json.Marshal(job)
		if _, err := fmt.Fprintf(c.Writer, "data: %s\n\n", b); err != nil {
			return
		}
		c.Writer.Flush()
		if job.Ended() {
			return
		}
		for waiting := true; waiting; {
			select {
			case <-c.Request.Context().Done():
				return
			case <-changed:
				waiting = false
			case <-time.After(heartbeat):
				if _, err := fmt.Fprint(c.Writer, ": still here\n\n"); err != nil {
					return
				}
				c.Writer.Flush()
			}
		}
		if job, changed, err = s.job(c); err != nil {
			return
		}
	}
}
