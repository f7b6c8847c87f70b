package api

import (
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
)

// Fault is one thing wrong in what was sent.
type Fault struct {
	Field  string `json:"field"`
	Reason string `json:"reason"`
	Remedy string `json:"remedy"`
}

// Problem is every answer that is not what was asked for (RFC 9457).
type Problem struct {
	Type     string     `json:"type"`
	Title    string     `json:"title"`
	Status   int        `json:"status"`
	Detail   string     `json:"detail"`
	Code     string     `json:"code" enum:"invalid,notfound,conflict,forbidden,signedout,toolarge,internal"`
	Errors   []Fault    `json:"errors,omitempty"`
	Existing *EntryLine `json:"existing,omitempty" doc:"conflict: the entry that has this id"`
	Head     *EntryLine `json:"head,omitempty" doc:"conflict: the entry in force on its line"`
}

func (p *Problem) Error() string { return p.Detail }

// GetStatus returns the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType says that the answer is a problem.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// noType says that the title and the code tell all there is (RFC 9457, 4.2.1).
const noType = "about:blank"

var statuses = map[app.Code]int{
	app.Invalid: http.StatusUnprocessableEntity, app.NotFound: http.StatusNotFound,
	app.Conflict: http.StatusConflict, app.Forbidden: http.StatusForbidden,
	app.SignedOut: http.StatusUnauthorized, app.TooLarge: http.StatusRequestEntityTooLarge,
	app.Internal: http.StatusInternalServerError,
}

// asProblem maps what a use case returned to its status and words.
func asProblem(err error) *Problem {
	var e *app.Error
	if !errors.As(err, &e) {
		e = &app.Error{Code: app.Internal, Words: "Something went wrong on the server; nothing was changed.", Cause: err}
	}
	if e.Code == app.Internal {
		slog.Error("internal", "words", e.Words, "cause", e.Cause)
	}
	p := &Problem{Type: noType, Title: string(e.Code), Status: statuses[e.Code], Detail: sentence(e.Words), Code: string(e.Code)}
	for _, f := range e.Faults {
		p.Errors = append(p.Errors, Fault{f.Field, f.Reason, f.Remedy})
	}
	p.Existing, p.Head = linePointer(e.Existing), linePointer(e.Standing)
	return p
}

func linePointer(l *app.Line) *EntryLine {
	if l == nil {
		return nil
	}
	out := lineOf(*l)
	return &out
}

// newProblem is how huma words what it refuses itself: a body or parameter
// that does not have the form the document gives.
func newProblem(status int, message string, errs ...error) huma.StatusError {
	p := &Problem{Type: noType, Title: http.StatusText(status), Status: status, Detail: sentence(message), Code: string(app.Invalid)}
	for _, err := range errs {
		var d huma.ErrorDetailer
		if errors.As(err, &d) {
			detail := d.ErrorDetail()
			p.Errors = append(p.Errors, Fault{Field: strings.TrimPrefix(detail.Location, "body."), Reason: detail.Message, Remedy: "send it as the API document says"})
			continue
		}
		var known *app.Error
		if errors.As(err, &known) {
			return asProblem(err)
		}
		p.Errors = append(p.Errors, Fault{Reason: err.Error()})
	}
	switch {
	case status == http.StatusNotFound:
		p.Code = string(app.NotFound)
	case status == http.StatusRequestEntityTooLarge:
		p.Code = string(app.TooLarge)
	case status >= 500:
		p.Code = string(app.Internal)
	}
	return p
}

// sentence begins words with a capital and ends them with a stop.
func sentence(words string) string {
	words = strings.TrimSpace(words)
	if words == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(words)
	words = string(unicode.ToUpper(first)) + words[size:]
	if strings.HasSuffix(words, ".") {
		return words
	}
	return words + "."
}

// abort answers a plain gin handler's failure.
func abort(c *gin.Context, err error) {
	p := asProblem(err)
	c.Header("Content-Type", "application/problem+json")
	c.AbortWithStatusJSON(p.Status, p)
}
