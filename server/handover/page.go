package handover

import (
	"bytes"
	_ "embed" // the page's form
	"html/template"
	"strings"

	"github.com/swardbook/swardbook/compliance/judge"
)

//go:embed page.html
var pageForm string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"word":  func(v judge.Verdict) string { return v.String() },
	"class": func(v judge.Verdict) string { return strings.ReplaceAll(v.String(), " ", "-") },
	"shape": shape,
}).Parse(pageForm))

var shapes = map[judge.Verdict]template.HTML{
	judge.Complied:       `<circle cx="8" cy="8" r="6" fill="currentColor"/>`,
	judge.NotComplied:    `<path d="M8 1.5 15 14H1z" fill="currentColor"/>`,
	judge.CannotBeJudged: `<path d="M8 1.5 14.5 8 8 14.5 1.5 8z" fill="none" stroke="currentColor" stroke-width="2"/>`,
	judge.NotYetDue:      `<circle cx="8" cy="8" r="5.5" fill="none" stroke="currentColor" stroke-width="2"/>`,
	judge.NotApplicable:  `<path d="M3 8h10" stroke="currentColor" stroke-width="2"/>`,
}

// shape draws a verdict's sign: form and word say it, colour only helps.
func shape(v judge.Verdict) template.HTML {
	return `<svg viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">` + shapes[v] + `</svg>`
}

// pageText writes the page that needs nothing but a browser: no script, no
// other file, no address elsewhere.
func pageText(s *statement) ([]byte, error) {
	var b bytes.Buffer
	err := page.Execute(&b, s)
	return b.Bytes(), err
}
