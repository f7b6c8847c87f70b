package api

import (
	"reflect"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/judge"
)

// verdictWord is how a verdict travels.
type verdictWord string

// Schema names the five verdicts.
func (verdictWord) Schema(huma.Registry) *huma.Schema {
	s := &huma.Schema{Type: huma.TypeString}
	for v := judge.CannotBeJudged; v <= judge.NotComplied; v++ {
		s.Enum = append(s.Enum, v.String())
	}
	return s
}

var once sync.Once

// settle sets what huma keeps for the whole program: how refusals are worded,
// and that lists are never null: an empty one is sent as one.
func settle() {
	once.Do(func() {
		huma.NewError = newProblem
		huma.DefaultArrayNullable = false
	})
}

// registry makes schemas of the answers' types.
func registry() huma.Registry {
	r := huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer)
	r.RegisterTypeAlias(reflect.TypeFor[judge.Verdict](), reflect.TypeFor[verdictWord]())
	return r
}
