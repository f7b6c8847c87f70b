package soil

import "github.com/swardbook/swardbook/compliance/quantity"

// moundHeightQuantity is the greatest height of a mound over its base.
func moundHeightQuantity() *quantity.Quantity {
	return moundQuantity("soil.mound_height", "mound height", "m",
		"Greatest height of a surveyed mound over its base, which its register row names.",
		func(o *quantity.Observation, m *measured) {
			o.Value = m.HeightM
			if m.accuracyM > 0 {
				o.Low, o.High = m.HeightM-m.accuracyM, m.HeightM+m.accuracyM
			}
		})
}
