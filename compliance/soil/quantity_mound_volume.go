package soil

import "github.com/swardbook/swardbook/compliance/quantity"

// moundVolumeQuantity is the volume of a mound above its base. A level error
// common to all points makes a volume error of its size times the footprint.
func moundVolumeQuantity() *quantity.Quantity {
	return moundQuantity("soil.mound_volume", "mound volume", "m³",
		"Volume of a surveyed mound above its base, as it lies.",
		func(o *quantity.Observation, m *measured) {
			o.Value = m.VolumeM3
			if e := m.accuracyM * m.FootprintM2; e > 0 {
				o.Low, o.High = m.VolumeM3-e, m.VolumeM3+e
			}
		})
}
