package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/server/app"
)

// User is who may sign in.
type User struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Display  string `json:"display"`
	Role     string `json:"role"`
	Disabled bool   `json:"disabled"`
}

func userOf(a app.Account) User {
	return User{ID: a.ID, Name: a.Name, Display: a.Display, Role: string(a.Role), Disabled: a.Disabled}
}

type newUser struct {
	Body struct {
		Name     string `json:"name" maxLength:"40"`
		Display  string `json:"display" maxLength:"80"`
		Role     string `json:"role"`
		Password string `json:"password" maxLength:"200"`
	}
}

type changeUser struct {
	ID   string `path:"id"`
	Body struct {
		Disabled *bool   `json:"disabled,omitempty"`
		Role     *string `json:"role,omitempty"`
		Password *string `json:"password,omitempty" maxLength:"200"`
	}
}

func (s *Server) userOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "users", Method: http.MethodGet, Path: "/users", Summary: "Who may sign in"},
		func(ctx context.Context, _ *struct{}) (*answer[[]User], error) {
			all, err := s.People.List(ctx, who(ctx))
			out := []User{}
			for _, a := range all {
				out = append(out, userOf(a))
			}
			return reply(out, err)
		})
	huma.Register(api, huma.Operation{OperationID: "add-user", Method: http.MethodPost, Path: "/users", Summary: "Add a person", DefaultStatus: http.StatusCreated},
		func(ctx context.Context, in *newUser) (*answer[User], error) {
			a, err := s.People.Add(ctx, who(ctx), app.Account{Name: in.Body.Name, Display: in.Body.Display, Role: app.Role(in.Body.Role)}, in.Body.Password)
			return reply(userOf(a), err)
		})
	huma.Register(api, huma.Operation{OperationID: "change-user", Method: http.MethodPatch, Path: "/users/{id}", Summary: "Disable, enable, change role or password"},
		func(ctx context.Context, in *changeUser) (*answer[User], error) {
			c := app.Change{Disabled: in.Body.Disabled, Password: in.Body.Password}
			if in.Body.Role != nil {
				r := app.Role(*in.Body.Role)
				c.Role = &r
			}
			a, err := s.People.Alter(ctx, who(ctx), in.ID, c)
			return reply(userOf(a), err)
		})
}
