package haulage

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

func gate(t *testing.T) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	row := func(at string, body book.Object) {
		r.Add(t, recordtest.Row{Kind: "ticket.1", At: at, Places: []string{"GT1"}, Body: body})
	}
	row("2026-04-06 08:10", book.Object{"number": "1", "direction": "out", "material": "spoil", "net": "18.56"})
	row("2026-04-06 09:30", book.Object{"number": "2", "direction": "out", "material": "spoil", "gross": "31.40", "tare": "12.90"})
	row("2026-04-06 11:00", book.Object{"number": "3", "direction": "in", "material": "stone", "net": "20.00"})
	row("2026-04-07 08:00", book.Object{"number": "4", "direction": "out", "material": "topsoil"})
	return r
}

func TestTickets(t *testing.T) {
	cases := []struct {
		name string
		q    *quantity.Quantity
		with map[string]string
		to   string
		want float64 // sum of what counts
		lost int
	}{
		{"loads", loadsQuantity(), nil, "", 4, 0},
		{"loads of one day", loadsQuantity(), nil, "2026-04-07", 3, 0},
		{"two movements for each", movementsQuantity(), nil, "", 8, 0},
		{"movements of loads out", movementsQuantity(), map[string]string{"direction": "out"}, "", 6, 0},
		{"tonnes of spoil: net as printed, and gross less tare", tonnesQuantity(), map[string]string{"material": "spoil"}, "", 37.06, 0},
		{"tonnes, one ticket without a mass", tonnesQuantity(), nil, "", 57.06, 1},
		{"no topsoil left before", tonnesQuantity(), map[string]string{"material": "topsoil"}, "2026-04-07", 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ask := quantity.Ask{With: c.with, Place: "GT1"}
			if c.to != "" {
				ask.To = recordtest.At(t, c.to)
			}
			got, err := c.q.Observe(gate(t), ask)
			if err != nil {
				t.Fatal(err)
			}
			var sum float64
			lost := 0
			for _, o := range got {
				if !o.Mark.Counts() {
					lost++
					if o.Mark != series.Blank || o.Value != 0 {
						t.Errorf("a ticket without a mass is %v %v", o.Value, o.Mark)
					}
				}
				sum += o.Value
			}
			if d := sum - c.want; d > 1e-9 || d < -1e-9 || lost != c.lost {
				t.Errorf("sum %v with %d lost, want %v with %d", sum, lost, c.want, c.lost)
			}
		})
	}
}
