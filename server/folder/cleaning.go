package folder

import (
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/geo/survey"
)

// CleaningOf returns the decisions a person took on a survey's rows, as its
// entry keeps them. What the reader itself noted of rows is not among them.
func CleaningOf(body book.Object) survey.CleanOptions {
	opts := survey.CleanOptions{}
	for _, o := range body.Objects("decisions") {
		word := o.Text("decision")
		rule, isRule := strings.CutPrefix(word, "conflicts: ")
		switch {
		case isRule && o.Integer("row") == 0:
			opts.Conflicts = survey.ConflictRule(rule)
		case strings.HasPrefix(word, "leave out") && o.Integer("row") > 0:
			opts.LeaveOut = append(opts.LeaveOut, int(o.Integer("row")))
		}
	}
	return opts
}
