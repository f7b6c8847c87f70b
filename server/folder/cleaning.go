package folder

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/geo/survey"
)

// SurveyOptions returns how a survey's file is read and cleaned, by the column
// order and the decisions a person took, as its entry keeps them. What the
// reader itself noted of rows is not among them.
func SurveyOptions(body book.Object) (survey.Options, survey.CleanOptions) {
	read, clean, _, _ := survey.Decided(survey.Order(body.Text("order")), surveyDecisions(body))
	return read, clean
}

func surveyDecisions(body book.Object) []survey.Decision {
	var out []survey.Decision
	for _, o := range body.Objects("decisions") {
		out = append(out, survey.Decision{Row: int(o.Integer("row")), Word: o.Text("decision")})
	}
	return out
}
