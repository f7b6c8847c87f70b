package water

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

func sampleRow(at, place, taken string, results ...any) recordtest.Row {
	return recordtest.Row{Kind: "sample.1", At: at, Places: []string{place}, Body: book.Object{"taken": taken, "results": results}}
}

func result(code, value, symbol string) book.Object {
	return book.Object{"determinand": code, "result": value, "unit": symbol}
}

func observed(t *testing.T, r *recordtest.Record, code string, ask quantity.Ask) []quantity.Observation {
	t.Helper()
	for _, q := range Quantities() {
		if q.Code == code {
			got, err := q.Observe(r, ask)
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
	}
	t.Fatalf("no quantity %s", code)
	return nil
}

func TestSamples(t *testing.T) {
	r := recordtest.New()
	dissolved := result("zinc", "0.014", "mg/L")
	dissolved["fraction"] = "dissolved"
	r.Add(t,
		sampleRow("2026-04-06 10:00", "DP1", "grab", result("tss", "<5", "mg/l"), result("ph", "7.9", "pH"), dissolved),
		sampleRow("2026-04-13 10:00", "DP1", "composite", result("tss", "22", "mg/L"), result("turbidity_sample", ">1000", "NTU")),
		sampleRow("2026-04-13 10:00", "ST1", "grab", result("tss", "4.5", "g/m²")),
	)
	type seen struct {
		value float64
		text  string
		mark  series.Mark
	}
	cases := []struct {
		name, code string
		ask        quantity.Ask
		want       []seen
	}{
		{"less than", "water.tss", quantity.Ask{Place: "DP1"}, []seen{{5, "<5 mg/l", series.Below}, {22, "22 mg/L", series.Valid}}},
		{"taken as", "water.tss", quantity.Ask{Place: "DP1", With: map[string]string{"taken": "composite"}}, []seen{{22, "22 mg/L", series.Valid}}},
		{"more than", "water.turbidity_sample", quantity.Ask{}, []seen{{1000, ">1000 NTU", series.Above}}},
		{"converted", "water.zinc", quantity.Ask{}, []seen{{14, "0.014 mg/L", series.Valid}}},
		{"another fraction", "water.zinc", quantity.Ask{With: map[string]string{"fraction": "total"}}, nil},
		{"a scale", "water.ph", quantity.Ask{}, []seen{{7.9, "7.9 pH", series.Valid}}},
		{"none found", "water.nitrate", quantity.Ask{}, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := observed(t, r, c.code, c.ask)
			if len(got) != len(c.want) {
				t.Fatalf("%d results, want %d", len(got), len(c.want))
			}
			for i, o := range got {
				if (seen{o.Value, o.Text, o.Mark}) != c.want[i] {
					t.Errorf("result %d is %v %q %v, want %v", i, o.Value, o.Text, o.Mark, c.want[i])
				}
			}
		})
	}
	t.Run("a unit of another kind is no result", func(t *testing.T) {
		if _, err := observeSamples(r, quantity.Ask{Place: "ST1"}, determinandNamed("tss")); err == nil {
			t.Error("taken as mg/L")
		}
	})
}

// TestLookUpSeries: fourteen results of a real river in one year (nitrate,
// mg/L; from the worked example of a look-up table) come back as they are.
func TestLookUpSeries(t *testing.T) {
	values := []string{"2.17", "1.43", "1.54", "1.18", "0.75", "1.13", "1.67", "1.10", "0.98", "1.15", "1.28", "0.94", "0.86", "1.42"}
	r := recordtest.New()
	for i, v := range values {
		r.Add(t, sampleRow(recordtest.At(t, "2004-01-05").AddDate(0, 0, 26*i).Format("2006-01-02"), "R1", "grab", result("nitrate", v, "mg/L")))
	}
	above := 0
	for _, o := range observed(t, r, "water.nitrate", quantity.Ask{}) {
		if o.Value > 1.5 {
			above++
		}
	}
	if above != 3 {
		t.Errorf("%d above 1.5 mg/L, want 3", above)
	}
}

func TestDeterminandsAreSound(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range determinands {
		if seen[d.code] || d.title == "" {
			t.Errorf("%s stands twice or has no title", d.code)
		}
		seen[d.code] = true
		if _, ok := unit.Lookup(d.unit); !ok {
			t.Errorf("%s: unit %q is not known", d.code, d.unit)
		}
		q := determinandQuantity(&d)
		if (q.NotBelow == nil) != d.scale {
			t.Errorf("%s: a scale has no floor, an amount has", d.code)
		}
	}
	if determinandNamed("tds") != nil {
		t.Error("a determinand is found that is not in the table")
	}
}

func TestVolumes(t *testing.T) {
	r := recordtest.New()
	row := func(at, of, meterName, value string) {
		r.Add(t, recordtest.Row{Kind: "totaliser.1", At: at, Places: []string{"DP1"}, Body: book.Object{"meter": meterName, "of": of, "reading": value, "digits": int64(5)}})
	}
	row("2026-04-06", waterDischarge, "B", "10")
	row("2026-04-06", waterDischarge, "A", "99990.5")
	row("2026-04-06", abstraction, "C", "1")
	row("2026-04-07", waterDischarge, "A", "12.0")
	row("2026-04-07", waterDischarge, "B", "30")
	row("2026-04-07", abstraction, "C", "4.25")
	got := observed(t, r, "water.discharge_volume", quantity.Ask{Place: "DP1"})
	if len(got) != 2 || got[0].Name != "A" || got[0].Value != 21.5 || got[1].Value != 20 {
		t.Errorf("discharged: %v", got)
	}
	got = observed(t, r, "water.discharge_volume", quantity.Ask{With: map[string]string{"meter": "B"}})
	if len(got) != 1 || got[0].Value != 20 {
		t.Errorf("through meter B: %v", got)
	}
	got = observed(t, r, "water.abstraction_volume", quantity.Ask{})
	if len(got) != 1 || got[0].Value != 3.25 {
		t.Errorf("abstracted: %v", got)
	}
}
