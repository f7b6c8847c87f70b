package dust

import (
	"errors"
	"math"
	"time"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Gauge is one exposure of a dust deposition gauge.
type Gauge struct {
	AreaM2   float64       // of its opening
	MassMG   float64       // settled in it, mg
	Exposed  time.Duration // from setting out to taking in: the true time, never a month
	NoMoreMG bool          // the laboratory said "less than" MassMG
}

// Opening is the area in m² of a round opening of a diameter in mm.
func Opening(diameterMM float64) float64 {
	r := diameterMM / 2000
	return math.Pi * r * r
}

// errGauge is for an exposure that gives no deposition.
var errGauge = errors.New("area and exposure must be above nothing, and the mass not below it")

// Deposition is mass over area and days of exposure, mg/m²/d: what is compared
// with a monthly figure such as the 200 mg/m²/d of British custom (common
// practice, no law) or 4 g/m² in 30 d of New Zealand's good practice guide (ME
// 1277, 2016), which is 133.33 mg/m²/d.
func (g Gauge) Deposition() (float64, error) {
	days := g.Exposed.Hours() / 24
	if !(g.AreaM2 > 0) || !(days > 0) || !(g.MassMG >= 0) || math.IsInf(g.AreaM2*g.MassMG, 0) {
		return 0, errGauge
	}
	return unit.Round9(g.MassMG / (g.AreaM2 * days)), nil
}

// PerMonth turns mg/m²/d into g/m² in 30 days.
func PerMonth(perDay float64) float64 { return unit.Round9(perDay * 30 / 1000) }
