package inspection

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// notSeen is the answer that tells nothing.
const notSeen = "not seen"

// answerQuantity counts the answers given to items of checklists, so that a
// condition such as "no mud on the road" can be counted.
func answerQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "inspection.answers", Title: "answers to checklist items", Form: quantity.Events, NotBelow: new(float64),
		With:    []string{"checklist", "item", "answer"},
		Caution: "verdict",
		Help:    "Answers to items of checklists. With answer, that answer counts 1 and another 0, so that an item looked at and found otherwise is on record as none; an item not seen is missing.",
		Observe: observeAnswers,
	}
}

func observeAnswers(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	wanted := ask.With["answer"]
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "inspection.1", ask, "checklist") {
		for _, item := range e.Body.Objects("items") {
			if !observe.Says(item, ask, "item") {
				continue
			}
			answer := item.Text("answer")
			o := named(e, ask, answer)
			o.Note = fmt.Sprintf("%s: %s", item.Text("item"), answer)
			switch {
			case wanted == "" || answer == wanted:
			case answer == notSeen:
				o.Value, o.Mark = 0, series.Blank
			default:
				o.Value = 0
			}
			out = append(out, o)
		}
	}
	return out, nil
}
