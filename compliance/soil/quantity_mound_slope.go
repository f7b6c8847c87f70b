package soil

import (
	"math"

	"github.com/swardbook/swardbook/compliance/quantity"
)

// moundSlopeQuantity is the steepest face of a mound as an angle.
func moundSlopeQuantity() *quantity.Quantity {
	return moundQuantity("soil.mound_slope", "steepest mound face", "°",
		"Steepest face of a surveyed mound, as an angle to the level. 1 in 2 is 26.565°.",
		func(o *quantity.Observation, m *measured) {
			o.Value = math.Atan(m.SteepestFaceRatio) * 180 / math.Pi
		})
}

// moundGradientQuantity is the steepest face of a mound as rise over run.
func moundGradientQuantity() *quantity.Quantity {
	return moundQuantity("soil.mound_gradient", "steepest mound face", "%",
		"Steepest face of a surveyed mound, as rise over run. 1 in 2 is 50 %.",
		func(o *quantity.Observation, m *measured) { o.Value = 100 * m.SteepestFaceRatio })
}
