package plant

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

func meterRow(at, machine, value, place string) recordtest.Row {
	return recordtest.Row{Kind: "hour_meter.1", At: at, Places: []string{place}, Body: book.Object{"machine": machine, "reading": value}}
}

func TestRunHours(t *testing.T) {
	r := recordtest.New()
	r.Add(t,
		meterRow("2026-01-01", "GEN-2", "50", "G2"), meterRow("2026-01-01", "GEN-1", "1000.0", "G1"),
		meterRow("2026-02-01", "GEN-1", "1480.0", "G1"), meterRow("2026-02-01", "GEN-2", "49", "G2"),
		meterRow("2026-03-01", "GEN-1", "2000.0", "G1"), meterRow("2026-03-01", "GEN-2", "60", "G2"),
	)
	cases := []struct {
		name  string
		place string
		with  map[string]string
		want  []float64
	}{
		{"one machine", "", map[string]string{"machine": "GEN-1"}, []float64{480, 520}},
		{"by place", "G1", nil, []float64{480, 520}},
		{"all, machine by machine, the one in doubt without a value", "", nil, []float64{480, 520, 0, 11}},
		{"a machine that is not there", "", map[string]string{"machine": "GEN-9"}, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := runHoursQuantity().Observe(r, quantity.Ask{Place: c.place, With: c.with})
			if err != nil || len(got) != len(c.want) {
				t.Fatalf("%v, %v", got, err)
			}
			for i, o := range got {
				if o.Value != c.want[i] || (o.Mark == series.Doubtful) != (c.want[i] == 0) {
					t.Errorf("step %d: %v %v, want %v", i, o.Value, o.Mark, c.want[i])
				}
			}
		})
	}
}
