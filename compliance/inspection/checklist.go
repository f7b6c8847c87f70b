package inspection

import "strings"

// Checklist is a list of items that an inspection answers one by one. An id,
// of a list or of an item, is never used again for another meaning.
type Checklist struct {
	ID    string
	Title string
	Items []Item
}

// Item is one thing to look at.
type Item struct{ ID, Text string }

// Has tells whether the list has an item of that id.
func (c *Checklist) Has(id string) bool {
	for _, it := range c.Items {
		if it.ID == id {
			return true
		}
	}
	return false
}

func (c *Checklist) itemIDs() string {
	ids := make([]string, len(c.Items))
	for i, it := range c.Items {
		ids[i] = it.ID
	}
	return strings.Join(ids, ", ")
}

// ChecklistNamed returns the checklist of that id, or nil.
func ChecklistNamed(id string) *Checklist {
	for _, c := range Checklists() {
		if c.ID == id {
			return &c
		}
	}
	return nil
}

func checklistIDs() string {
	var ids []string
	for _, c := range Checklists() {
		ids = append(ids, c.ID)
	}
	return strings.Join(ids, ", ")
}
