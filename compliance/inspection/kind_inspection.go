package inspection

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
)

// answers to an item of a checklist.
var answers = []string{"satisfactory", "needs attention", "not satisfactory", "not applicable", notSeen}

// severities of a finding, worst first.
var severities = []string{"critical", "major", "minor", "observation"}

// inspectionKind is one inspection by a checklist, with what was found.
func inspectionKind() *book.Kind {
	return &book.Kind{
		Name: "inspection.1", Register: "inspections", Subject: "inspection", Title: "Inspection",
		Help: "A look round by a checklist: one answer for each item, and what was found.",
		Fields: []book.Field{
			{Name: "checklist", Title: "Checklist", Type: book.Text, Required: true},
			{Name: "weather", Title: "Weather", Type: book.Text, Help: "Dry or wet, wind force and direction."},
			{Name: "rain", Title: "Rain in the last 24 hours", Type: book.Decimal, Unit: "mm", Min: "0"},
			{Name: "activity", Title: "Work in progress", Type: book.Text},
			{Name: "items", Title: "Items", Type: book.List, Required: true, Fields: []book.Field{
				{Name: "item", Title: "Item", Type: book.Text, Required: true},
				{Name: "answer", Title: "Answer", Type: book.Choice, Required: true, Options: answers},
				{Name: "note", Title: "Note", Type: book.Text},
			}},
			{Name: "findings", Title: "Findings", Type: book.List, Fields: []book.Field{
				{Name: "item", Title: "Item", Type: book.Text},
				{Name: "what", Title: "What was found", Type: book.Text, Required: true},
				{Name: "severity", Title: "Severity", Type: book.Choice, Required: true, Options: severities},
				{Name: "place", Title: "Place", Type: book.Feature},
				{Name: "owner", Title: "Role to put it right", Type: book.Text, Required: true},
				{Name: "due", Title: "By", Type: book.Day, Required: true},
				{Name: "photo", Title: "Photograph", Type: book.File},
			}},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
		Check: checkInspection,
	}
}

func checkInspection(o book.Object) []book.Fault {
	id := o.Text("checklist")
	list := ChecklistNamed(id)
	if list == nil {
		return []book.Fault{{Field: "checklist", Reason: fmt.Sprintf("there is no checklist %q", id), Remedy: "choose one of " + checklistIDs()}}
	}
	var faults []book.Fault
	answered := map[string]bool{}
	for i, item := range o.Objects("items") {
		name := item.Text("item")
		field := fmt.Sprintf("items.%d.item", i)
		switch {
		case !list.Has(name):
			faults = append(faults, book.Fault{Field: field, Reason: fmt.Sprintf("%q is no item of checklist %s", name, id), Remedy: "its items are " + list.itemIDs()})
		case answered[name]:
			faults = append(faults, book.Fault{Field: field, Reason: name + " is answered twice", Remedy: "keep one answer"})
		}
		answered[name] = true
	}
	for _, it := range list.Items {
		if !answered[it.ID] {
			faults = append(faults, book.Fault{Field: "items", Reason: it.ID + " has no answer: " + it.Text, Remedy: "answer it; not seen is an answer"})
		}
	}
	return faults
}
