// Package api serves the use cases over HTTP: typed operations with an OpenAPI
// document, sessions, uploads, jobs, and the embedded pages. Handlers decode,
// call one use case and answer; every rule lives behind them.
package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// Config is how the server is run.
type Config struct {
	Secure  bool // reached over TLS: cookies are marked so
	Version string
	Upload  int64 // largest upload in bytes; 0 = 64 MiB
}

// DefaultUpload is the largest upload taken when Config says nothing.
const DefaultUpload = 64 << 20

// Packs makes, keeps and verifies handover packs.
type Packs interface {
	// Make seals a pack of the book as judged at the instant; it tells how far it is.
	Make(ctx context.Context, who app.Actor, at time.Time, tell func(share float64, words string)) (jobs.Result, error)
	// Verify checks a pack made here and judges it again.
	Verify(ctx context.Context, name string, tell func(share float64, words string)) (jobs.Result, error)
	// Open returns a pack's bytes and size.
	Open(name string) (io.ReadSeekCloser, int64, error)
	// List returns the packs made, newest first.
	List(ctx context.Context) ([]app.Pack, error)
	// Fingerprint returns the signing key's fingerprint.
	Fingerprint() string
}

// Server answers for one site.
type Server struct {
	Config  Config
	App     *app.Service
	People  *app.People
	Loggers *app.Loggers
	Jobs    *jobs.Queue
	Packs   Packs
	Pages   fs.FS // built pages; index.html absent when not built
}

// Handler returns the whole server.
func (s *Server) Handler() http.Handler { return s.engine() }

// Largest JSON body taken, and what is read at most of any body but uploads: a
// body between the two is refused in words.
const (
	mostJSON = 1 << 20
	mostBody = 2 << 20
)

func (s *Server) engine() *gin.Engine {
	gin.SetMode(gin.ReleaseMode)
	r := gin.New()
	// References of notices hold slashes, escaped within one part of a path.
	r.UseRawPath, r.UnescapePathValues = true, true
	r.Use(gin.CustomRecovery(recovered), securityHeaders(s.Config.Secure), compress())
	r.MaxMultipartMemory = 1 << 20
	_ = r.SetTrustedProxies(nil)
	g := r.Group("/api", s.signedIn(), readableQuery, limitBody(mostBody, "/api/files"), s.tagged())
	s.operations(humagin.NewWithGroup(r, g, s.document()))
	s.uploads(g)
	s.streams(g)
	r.GET("/calendar/:token", s.calendar)
	r.NoRoute(s.page)
	return r
}

// recovered answers a request whose handler panicked.
func recovered(c *gin.Context, cause any) {
	abort(c, fmt.Errorf("panic: %v", cause))
}

func (s *Server) document() huma.Config {
	settle()
	c := huma.DefaultConfig("Swardbook", s.Config.Version)
	c.DocsPath = ""
	c.OpenAPIPath = "/openapi"
	c.SchemasPath = ""
	c.RejectUnknownQueryParameters = true // a misspelt known_at must not answer for now
	c.CreateHooks = nil                   // no $schema members in answers
	c.Components.Schemas = registry()
	c.Servers = []*huma.Server{{URL: "/api"}}
	c.Info.Description = "What a site's book holds and what follows from it. It gives no permission: the permit's words, the authority and local codes decide."
	return c
}

// operations registers every typed operation, a file per noun.
func (s *Server) operations(api huma.API) {
	s.sessionOperations(api)
	s.siteOperations(api)
	s.entryOperations(api)
	s.conditionOperations(api)
	s.noticeOperations(api)
	s.importOperations(api)
	s.rejectOperations(api)
	s.instrumentOperations(api)
	s.loggerOperations(api)
	s.lookOperations(api)
	s.shotOperations(api)
	documentAlready(api)
	s.planOperations(api)
	s.predictOperations(api)
	s.levelOperations(api)
	s.handoverOperations(api)
	s.dutyOperations(api)
	s.userOperations(api)
}

// OpenAPI returns the document of the operations as JSON.
func OpenAPI() ([]byte, error) {
	gin.SetMode(gin.ReleaseMode)
	r := gin.New()
	s := &Server{}
	api := humagin.NewWithGroup(r, r.Group("/api"), s.document())
	s.operations(api)
	document, err := api.OpenAPI().MarshalJSON()
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, document, "", " "); err != nil {
		return nil, err
	}
	return append(out.Bytes(), '\n'), nil
}

// answer wraps a body for huma.
type answer[T any] struct{ Body T }

func reply[T any](body T, err error) (*answer[T], error) {
	if err != nil {
		return nil, asProblem(err)
	}
	return &answer[T]{Body: body}, nil
}
