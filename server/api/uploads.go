package api

import (
	"context"
	"errors"
	"fmt"
	"image"
	_ "image/gif" // formats a preview can be made of
	"image/jpeg"
	_ "image/png"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"
	"golang.org/x/image/draw"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/server/app"
)

// uploads registers what streams bytes in or out. Originals are never served
// inline: a browser downloads them.
func (s *Server) uploads(g *gin.RouterGroup) {
	g.POST("/files", s.putFile)
	g.GET("/files/:sha256", reads, s.getFile)
	g.GET("/files/:sha256/preview", reads, s.preview)
	g.GET("/packs/:name", reads, s.getPack)
}

// reads lets through who may read everything.
func reads(c *gin.Context) {
	if err := who(c.Request.Context()).Need(app.Read); err != nil {
		abort(c, err)
	}
}

func (s *Server) uploadLimit() int64 {
	if s.Config.Upload > 0 {
		return s.Config.Upload
	}
	return DefaultUpload
}

func (s *Server) putFile(c *gin.Context) {
	ctx := c.Request.Context()
	if err := who(ctx).Need(app.WriteEntries); err != nil {
		abort(c, err)
		return
	}
	limit := s.uploadLimit()
	tooLarge := &app.Error{Code: app.TooLarge, Words: fmt.Sprintf("the file is larger than the %d MiB taken here; make it smaller or split it", limit>>20)}
	if c.Request.ContentLength > limit {
		hearOut(c.Request, 2*limit)
		abort(c, tooLarge)
		return
	}
	hash, n, err := s.App.Book.PutFile(ctx, http.MaxBytesReader(c.Writer, c.Request.Body, limit+1), limit)
	var over *http.MaxBytesError
	if errors.As(err, &over) || n > limit {
		hearOut(c.Request, 2*limit)
		abort(c, tooLarge)
		return
	}
	if err != nil {
		abort(c, err)
		return
	}
	if n == 0 {
		abort(c, &app.Error{Code: app.Invalid, Words: "the file is empty"})
		return
	}
	info, err := s.fileInfo(ctx, hash)
	if err != nil {
		abort(c, err)
		return
	}
	c.JSON(http.StatusCreated, info)
}

// hearOut reads what a sender is still sending, up to a bound, so that the
// answer reaches it: a connection closed on a sender in full flow is reset,
// and the reason is lost on the way.
func hearOut(r *http.Request, most int64) {
	if r.ContentLength <= most {
		_, _ = io.Copy(io.Discard, io.LimitReader(r.Body, most))
	}
}

// fileInfo sniffs a kept original: its name and claimed type are not trusted.
func (s *Server) fileInfo(ctx context.Context, h book.Hash) (FileInfo, error) {
	info := FileInfo{SHA256: h.String()}
	r, err := s.App.Book.OpenFile(ctx, h)
	if err != nil {
		return info, &app.Error{Code: app.NotFound, Words: "the file is not kept here", Cause: err}
	}
	defer func() { _ = r.Close() }()
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return info, err
	}
	info.Type = http.DetectContentType(head[:n])
	if f, ok := r.(io.Seeker); ok {
		info.Bytes, err = f.Seek(0, io.SeekEnd)
		return info, err
	}
	rest, err := io.Copy(io.Discard, r)
	info.Bytes = int64(n) + rest
	return info, err
}

func (s *Server) getFile(c *gin.Context) {
	h, err := book.ParseHash(c.Param("sha256"))
	if err != nil {
		abort(c, &app.Error{Code: app.NotFound, Words: "there is no such file"})
		return
	}
	r, err := s.App.Book.OpenFile(c.Request.Context(), h)
	if err != nil {
		abort(c, &app.Error{Code: app.NotFound, Words: "there is no such file", Cause: err})
		return
	}
	defer func() { _ = r.Close() }()
	c.Header("Content-Type", "application/octet-stream")
	c.Header("Content-Disposition", `attachment; filename="`+h.String()[:16]+`.bin"`)
	c.Status(http.StatusOK)
	_, _ = io.Copy(c.Writer, r)
}

// Largest picture a preview is made of, and the preview's longest side.
const (
	mostPixels  = 60e6
	previewSide = 1600
)

// preview answers a picture drawn anew from the original, without what the
// original says of place, device or person.
func (s *Server) preview(c *gin.Context) {
	h, err := book.ParseHash(c.Param("sha256"))
	if err != nil {
		abort(c, &app.Error{Code: app.NotFound, Words: "there is no such file"})
		return
	}
	small, err := s.smaller(c.Request.Context(), h)
	if err != nil {
		abort(c, &app.Error{Code: app.NotFound, Words: "no preview can be made of this file", Cause: err})
		return
	}
	c.Header("Content-Type", "image/jpeg")
	c.Header("Cache-Control", "private, max-age=86400")
	_ = jpeg.Encode(c.Writer, small, &jpeg.Options{Quality: 82})
}

func (s *Server) smaller(ctx context.Context, h book.Hash) (image.Image, error) {
	r, err := s.App.Book.OpenFile(ctx, h)
	if err != nil {
		return nil, err
	}
	size, _, err := image.DecodeConfig(r)
	_ = r.Close()
	if err != nil {
		return nil, err
	}
	if float64(size.Width)*float64(size.Height) > mostPixels {
		return nil, errors.New("too many pixels")
	}
	if r, err = s.App.Book.OpenFile(ctx, h); err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }()
	whole, _, err := image.Decode(r)
	if err != nil {
		return nil, err
	}
	scale := min(1, previewSide/float64(max(size.Width, size.Height)))
	small := image.NewRGBA(image.Rect(0, 0, max(1, int(float64(size.Width)*scale)), max(1, int(float64(size.Height)*scale))))
	draw.ApproxBiLinear.Scale(small, small.Bounds(), whole, whole.Bounds(), draw.Src, nil)
	return small, nil
}

func (s *Server) getPack(c *gin.Context) {
	r, n, err := s.Packs.Open(c.Param("name"))
	if err != nil {
		abort(c, noPack(err))
		return
	}
	defer func() { _ = r.Close() }()
	c.DataFromReader(http.StatusOK, n, "application/zip", r, map[string]string{"Content-Disposition": `attachment; filename="` + c.Param("name") + `"`})
}
