package inspection

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// answerQuantity counts the answers given to items of checklists, so that a
// condition such as "no mud on the road" can be counted.
func answerQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "inspection.answers", Title: "answers to checklist items", Form: quantity.Events, NotBelow: new(float64),
		With:    []string{"checklist", "item", "answer"},
		Caution: "verdict",
		Help:    "Answers to items of checklists, each counting 1; with answer, only that answer. That nothing was looked at shows in inspection.done, not here.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range observe.Wanted(rec, "inspection.1", ask, "checklist") {
				for _, item := range e.Body.Objects("items") {
					if !observe.Says(item, ask, "item", "answer") {
						continue
					}
					o := named(e, ask, item.Text("answer"))
					o.Note = fmt.Sprintf("%s: %s", item.Text("item"), item.Text("answer"))
					out = append(out, o)
				}
			}
			return out, nil
		},
	}
}
