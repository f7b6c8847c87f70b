package app

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// A limit is a line on a chart only where it is one number of the size of the
// readings, brought to their unit.
func TestLimitLines(t *testing.T) {
	rain := []series.Channel{{Code: "R1", Unit: "mm"}}
	limit := func(unitName string, form permit.LimitForm) permit.Limit {
		return permit.Limit{Comparator: permit.AtMostLimit, Form: form, Value: unit.Decimal{Coefficient: 5}, Unit: unitName}
	}
	for _, c := range []struct {
		name     string
		stat     permit.StatisticName
		limit    permit.Limit
		channels []series.Channel
		want     []float64
	}{
		{"a maximum in the channel's unit", permit.Maximum, limit("mm", permit.Constant), rain, []float64{5}},
		{"in another unit of the kind", permit.Maximum, limit("cm", permit.Constant), rain, []float64{50}},
		{"both ends of a range", permit.Value, permit.Limit{Comparator: permit.Between, Form: permit.Constant, Value: unit.Decimal{Coefficient: 6}, Upper: unit.Decimal{Coefficient: 9}, Unit: "mm"}, rain, []float64{6, 9}},
		{"a day's total is no height of an hour's reading", permit.Sum, limit("mm", permit.Constant), rain, nil},
		{"nor is a difference", permit.Change, limit("mm", permit.Constant), rain, nil},
		{"a number of times", permit.Count, limit("", permit.Constant), rain, nil},
		{"above a background", permit.Maximum, limit("mm", permit.OfBackground), rain, nil},
		{"a unit that does not turn into it", permit.Maximum, limit("m/s", permit.Constant), rain, nil},
		{"no channel", permit.Maximum, limit("mm", permit.Constant), nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			cond := &permit.Condition{Statistic: permit.Statistic{Name: c.stat}, Limits: []permit.Limit{c.limit}}
			got := limitLines([]permit.Version{{Condition: cond}}, c.channels)
			if len(got) != len(c.want) {
				t.Fatalf("%d lines, want %v", len(got), c.want)
			}
			for i, l := range got {
				if l.Value != c.want[i] {
					t.Errorf("line %d at %v, want %v", i, l.Value, c.want[i])
				}
			}
		})
	}
}

// What a list of stretches has no room for is counted, never passed over.
func TestStretchesBeyondTheListAreCounted(t *testing.T) {
	r := reducer{out: &Reduced{}}
	var list []Stretch
	for i := range int64(maxStretches + 3) {
		list = r.list(list, 10*i, 10*i+1, "no reading on file")
	}
	if len(list) != maxStretches || r.out.Unlisted != 3 {
		t.Errorf("%d listed, %d counted", len(list), r.out.Unlisted)
	}
}
