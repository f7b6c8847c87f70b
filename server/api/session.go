package api

import (
	"context"
	"crypto/subtle"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/server/app"
)

const cookieName = "swardbook"

type actorKey struct{}

type caller struct {
	app.Actor
	csrf  string
	token string
}

// who returns the person behind a request; the zero Actor when signed out.
func who(ctx context.Context) app.Actor {
	c, _ := ctx.Value(actorKey{}).(caller)
	return c.Actor
}

// openRoutes need no session.
var openRoutes = map[string]bool{
	"GET /api/session": true, "POST /api/session": true,
	"GET /api/openapi.json": true, "GET /api/openapi.yaml": true,
	"POST /api/push":            true, // a logger's token stands for one
	"GET /api/openapi-3.0.json": true, "GET /api/openapi-3.0.yaml": true,
}

// signedIn puts the caller into the request's context, refuses who is not
// signed in, and asks for the CSRF token wherever something is written.
func (s *Server) signedIn() gin.HandlerFunc {
	return func(c *gin.Context) {
		open := openRoutes[c.Request.Method+" "+c.FullPath()]
		token, _ := c.Cookie(cookieName)
		a, l, err := s.People.Who(c.Request.Context(), token)
		if err == nil {
			me := caller{Actor: app.Actor{Person: a.ID, Name: a.Display, Role: a.Role}, csrf: l.CSRF, token: token}
			c.Request = c.Request.WithContext(context.WithValue(c.Request.Context(), actorKey{}, me))
		}
		if err != nil && (!open || app.CodeOf(err) != app.SignedOut) {
			abort(c, err)
			return
		}
		writes := c.Request.Method != http.MethodGet && c.Request.Method != http.MethodHead
		if writes && !open && subtle.ConstantTimeCompare([]byte(c.GetHeader("X-CSRF")), []byte(l.CSRF)) != 1 {
			abort(c, &app.Error{Code: app.Forbidden, Words: "the request does not carry this session's token; load the page again"})
			return
		}
		c.Next()
	}
}

// Session is who is signed in.
type Session struct {
	SignedIn bool     `json:"signed_in"`
	Person   string   `json:"person"`
	Name     string   `json:"name"`
	Role     string   `json:"role"`
	CSRF     string   `json:"csrf" doc:"to be sent as X-CSRF with every request that writes"`
	Epoch    int64    `json:"epoch"`
	Rights   []string `json:"rights"`
}

type sessionAnswer struct {
	SetCookie http.Cookie `header:"Set-Cookie"`
	Body      Session
}

type signInInput struct {
	Body struct {
		Name     string `json:"name" maxLength:"80"`
		Password string `json:"password" maxLength:"200"`
	}
}

func (s *Server) sessionOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "session", Method: http.MethodGet, Path: "/session", Summary: "Who is signed in"},
		func(ctx context.Context, _ *struct{}) (*answer[Session], error) {
			me, _ := ctx.Value(actorKey{}).(caller)
			return reply(s.session(ctx, me))
		})
	huma.Register(api, huma.Operation{OperationID: "sign-in", Method: http.MethodPost, Path: "/session", Summary: "Sign in"}, s.signIn)
	huma.Register(api, huma.Operation{OperationID: "sign-out", Method: http.MethodDelete, Path: "/session", Summary: "Sign out", DefaultStatus: http.StatusNoContent},
		func(ctx context.Context, _ *struct{}) (*struct {
			SetCookie http.Cookie `header:"Set-Cookie"`
		}, error) {
			me, _ := ctx.Value(actorKey{}).(caller)
			if err := s.People.SignOut(ctx, me.token); err != nil {
				return nil, asProblem(err)
			}
			out := &struct {
				SetCookie http.Cookie `header:"Set-Cookie"`
			}{SetCookie: s.cookie("")}
			out.SetCookie.MaxAge = -1
			return out, nil
		})
}

func (s *Server) signIn(ctx context.Context, in *signInInput) (*sessionAnswer, error) {
	from, _ := ctx.Value(addressKey{}).(string)
	token, l, a, err := s.People.SignIn(ctx, in.Body.Name, in.Body.Password, from)
	if err != nil {
		return nil, asProblem(err)
	}
	me := caller{Actor: app.Actor{Person: a.ID, Name: a.Display, Role: a.Role}, csrf: l.CSRF, token: token}
	body, err := s.session(ctx, me)
	if err != nil {
		return nil, asProblem(err)
	}
	return &sessionAnswer{SetCookie: s.cookie(token), Body: body}, nil
}

func (s *Server) cookie(token string) http.Cookie {
	return http.Cookie{Name: cookieName, Value: token, Path: "/", HttpOnly: true, Secure: s.Config.Secure, SameSite: http.SameSiteStrictMode}
}

func (s *Server) session(ctx context.Context, me caller) (Session, error) {
	out := Session{Rights: []string{}}
	if me.Person == "" {
		return out, nil
	}
	info, err := s.App.Book.Info(ctx)
	if err != nil {
		return out, err
	}
	out = Session{SignedIn: true, Person: me.Person, Name: me.Name, Role: string(me.Role), CSRF: me.csrf, Epoch: info.Epoch, Rights: []string{}}
	for _, r := range me.Role.Rights() {
		out.Rights = append(out.Rights, string(r))
	}
	return out, nil
}
