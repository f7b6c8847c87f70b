package dust

import (
	"math"
	"testing"
	"time"
)

// Worked out apart from this program in Python. The 200 mg/m²/d are British
// custom without a law; 4 g/m² in 30 d is New Zealand's guide ME 1277 of 2016.
func TestDeposition(t *testing.T) {
	const day = 24 * time.Hour
	near := func(what string, got, want, to float64) {
		t.Helper()
		if math.Abs(got-want) > to {
			t.Errorf("%s: got %.5f, want %v", what, got, want)
		}
	}
	near("NV-66 opening of 200 mm", Opening(200), 0.0314159, 5e-8)
	for _, tt := range []struct {
		name string
		g    Gauge
		want float64
	}{
		{"NV-66 151 mg in 28 d", Gauge{AreaM2: Opening(200), MassMG: 151, Exposed: 28 * day}, 171.66},
		{"NV-66 185 mg in 28 d, over 200", Gauge{AreaM2: Opening(200), MassMG: 185, Exposed: 28 * day}, 210.31},
		{"NV-66 200 a day for 35 days", Gauge{AreaM2: 1, MassMG: 7000, Exposed: 35 * day}, 200},
		{"NV-66 and 233.33 if it were taken for 30 days", Gauge{AreaM2: 1, MassMG: 7000, Exposed: 30 * day}, 233.33},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.g.Deposition()
			if err != nil {
				t.Fatal(err)
			}
			near("mg/m²/d", got, tt.want, 0.005)
		})
	}
	near("NV-66 171.66 mg/m²/d as g/m² in 30 d", PerMonth(171.66), 5.150, 0.0005)
	near("NV-66 200 mg/m²/d as g/m² in 30 d", PerMonth(200), 6.000, 1e-9)
	near("NV-66 4 g/m² in 30 d, a day", 4000.0/30, 133.33, 0.005)
	for _, bad := range []Gauge{{}, {AreaM2: 1, MassMG: 1}, {AreaM2: 1, MassMG: -1, Exposed: day}, {MassMG: 1, Exposed: day}, {AreaM2: 1, MassMG: math.NaN(), Exposed: day}} {
		if v, err := bad.Deposition(); err == nil {
			t.Errorf("%+v gives %v", bad, v)
		}
	}
}
