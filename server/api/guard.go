package api

import (
	"compress/gzip"
	"context"
	"io"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
)

type addressKey struct{}

// policy lets a page run nothing but its own files.
const policy = "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

func securityHeaders(secure bool) gin.HandlerFunc {
	return func(c *gin.Context) {
		h := c.Writer.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(self), camera=(self), microphone=()")
		if secure {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		if strings.HasPrefix(c.Request.URL.Path, "/api/") {
			h.Set("Cache-Control", "no-store")
		}
		host, _, _ := net.SplitHostPort(c.Request.RemoteAddr)
		c.Request = c.Request.WithContext(context.WithValue(c.Request.Context(), addressKey{}, host))
		c.Next()
	}
}

// readableQuery refuses a query that would be read only in part.
func readableQuery(c *gin.Context) {
	if _, err := url.ParseQuery(c.Request.URL.RawQuery); err != nil {
		abort(c, &app.Error{Code: app.Invalid, Words: "the address's query cannot be read; escape what separates its parts (; as %3B, & as %26)", Cause: err})
	}
}

// limitBody caps what a request may send, but for the routes that set their own.
func limitBody(most int64, except ...string) gin.HandlerFunc {
	return func(c *gin.Context) {
		if slices.Contains(except, c.FullPath()) {
			c.Next()
			return
		}
		sent := c.Request.Body
		c.Request.Body = http.MaxBytesReader(c.Writer, io.NopCloser(sent), most)
		c.Next()
		if c.Writer.Status() == http.StatusRequestEntityTooLarge {
			// What is still being sent is heard out, so that the answer arrives.
			_, _ = io.Copy(io.Discard, io.LimitReader(sent, heardOut*most))
		}
	}
}

// heardOut is how many times as much as is taken a sender is still listened to
// once it has been refused.
const heardOut = 16

var zippers = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	return z
}}

// compress sends JSON and text as gzip where the browser takes it. Streams of
// events and downloads go as they are.
func compress() gin.HandlerFunc {
	return func(c *gin.Context) {
		path := c.Request.URL.Path
		skip := strings.HasSuffix(path, "/events") || strings.HasPrefix(path, "/api/packs/") || strings.HasPrefix(path, "/api/files/")
		if skip || !takesGzip(c.GetHeader("Accept-Encoding")) {
			c.Next()
			return
		}
		c.Writer.Header().Add("Vary", "Accept-Encoding")
		w := &zipWriter{ResponseWriter: c.Writer}
		c.Writer = w
		c.Next()
		w.close()
	}
}

func takesGzip(accepts string) bool {
	for _, one := range strings.Split(accepts, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(one), ";")
		if strings.TrimSpace(name) == "gzip" {
			q, err := strconv.ParseFloat(strings.TrimPrefix(strings.TrimSpace(weight), "q="), 64)
			return err != nil || q > 0
		}
	}
	return false
}

// zipWriter begins to compress at the first write of something compressible.
type zipWriter struct {
	gin.ResponseWriter
	zip     *gzip.Writer
	decided bool
}

func (w *zipWriter) decide() {
	if w.decided {
		return
	}
	w.decided = true
	h := w.Header()
	kind := h.Get("Content-Type")
	good := strings.Contains(kind, "json") || strings.HasPrefix(kind, "text/") || strings.Contains(kind, "javascript") || strings.Contains(kind, "svg")
	if !good || h.Get("Content-Encoding") != "" || w.Status() == http.StatusNoContent || w.Status() == http.StatusNotModified {
		return
	}
	h.Set("Content-Encoding", "gzip")
	h.Del("Content-Length")
	w.zip = zippers.Get().(*gzip.Writer)
	w.zip.Reset(w.ResponseWriter)
}

func (w *zipWriter) Write(b []byte) (int, error) {
	w.decide()
	if w.zip != nil {
		return w.zip.Write(b)
	}
	return w.ResponseWriter.Write(b)
}

func (w *zipWriter) WriteString(s string) (int, error) { return w.Write([]byte(s)) }

func (w *zipWriter) close() {
	if w.zip != nil {
		_ = w.zip.Close()
		zippers.Put(w.zip)
		w.zip = nil
	}
}
