package soil

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// 100 m² at 0.30 m are 30 m³; a strip without its depth is a gap.
func TestStrippedVolume(t *testing.T) {
	r := recordtest.New()
	r.Area("A1", 0, 0, 10, 10)
	r.Area("A2", 20, 0, 30, 10)
	r.Add(t,
		recordtest.Row{Kind: "strip.1", At: "2026-04-09", Places: []string{"A1"}, Body: book.Object{"horizon": "topsoil", "depth_mean": "0.30"}},
		recordtest.Row{Kind: "strip.1", At: "2026-04-10", Places: []string{"A1"}, Body: book.Object{"horizon": "subsoil", "depth_mean": "0.25"}},
		recordtest.Row{Kind: "strip.1", At: "2026-04-11", Places: []string{"A2"}, Body: book.Object{"horizon": "topsoil"}})
	got, err := strippedVolumeQuantity().Observe(r, quantity.Ask{})
	if err != nil || len(got) != 3 {
		t.Fatalf("%d, %v", len(got), err)
	}
	for i, want := range []float64{30, 25, 0} {
		if !near(got[i].Value, want) {
			t.Errorf("%s: %v, want %v", got[i].Note, got[i].Value, want)
		}
	}
	if got[2].Mark != series.Blank {
		t.Errorf("a strip without its depth is %v", got[2].Mark)
	}
	topsoil, err := strippedVolumeQuantity().Observe(r, quantity.Ask{Place: "A1", With: map[string]string{"horizon": "topsoil"}})
	if err != nil || len(topsoil) != 1 || !near(topsoil[0].Value, 30) {
		t.Errorf("topsoil of A1: %v, %v", topsoil, err)
	}
}
