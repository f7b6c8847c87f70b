package site

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// TestIncidents: known is when the entry happened, told is when it says so; an
// incident not yet told is told nowhere.
func TestIncidents(t *testing.T) {
	r := recordtest.New()
	r.Add(t, recordtest.Row{Kind: "incident.1", At: "2026-05-01 22:00", Places: []string{"PAD"}, Body: book.Object{"sort": "spill", "what": "x", "told_at": "2026-05-02T08:00:00.000Z"}})
	r.Add(t, recordtest.Row{Kind: "incident.1", At: "2026-05-03 09:00", Body: book.Object{"sort": "find", "what": "y"}})
	r.Add(t, recordtest.Row{Kind: "complaint.1", At: "2026-05-04 09:00", Body: book.Object{"about": "noise", "what": "z", "justified": "yes"}})
	for _, c := range []struct {
		name string
		q    *quantity.Quantity
		ask  quantity.Ask
		want []string // instants
	}{
		{"known", incidentQuantity(), quantity.Ask{}, []string{"2026-05-01 22:00", "2026-05-03 09:00"}},
		{"known, of one sort", incidentQuantity(), quantity.Ask{With: map[string]string{"sort": "find"}}, []string{"2026-05-03 09:00"}},
		{"told", toldQuantity(), quantity.Ask{}, []string{"2026-05-02 08:00"}},
		{"told at the place", toldQuantity(), quantity.Ask{Place: "PAD"}, []string{"2026-05-02 08:00"}},
		{"told elsewhere", toldQuantity(), quantity.Ask{Place: "GATE"}, nil},
		{"told before it was", toldQuantity(), quantity.Ask{To: recordtest.At(t, "2026-05-02 07:59")}, nil},
		{"complaints found justified", complaintQuantity(), quantity.Ask{With: map[string]string{"about": "noise", "justified": "yes"}}, []string{"2026-05-04 09:00"}},
		{"complaints of dust", complaintQuantity(), quantity.Ask{With: map[string]string{"about": "dust"}}, nil},
	} {
		got, err := c.q.Observe(r, c.ask)
		if err != nil || len(got) != len(c.want) {
			t.Errorf("%s: %d, %v", c.name, len(got), err)
			continue
		}
		for i, o := range got {
			if !o.From.Equal(recordtest.At(t, c.want[i])) || o.Value != 1 {
				t.Errorf("%s: %v at %v", c.name, o.Value, o.From)
			}
		}
	}
}

func TestIncidentToldToNobodyAtNoTime(t *testing.T) {
	if f := checkIncident(book.Object{"told_to": "duty officer"}); len(f) != 1 || f[0].Field != "told_at" {
		t.Errorf("%v", f)
	}
	if f := checkIncident(book.Object{"told_to": "duty officer", "told_at": "2026-05-02T08:00:00.000Z"}); len(f) != 0 {
		t.Errorf("%v", f)
	}
}
