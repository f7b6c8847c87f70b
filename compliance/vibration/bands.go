package vibration

import "fmt"

// Band is one row of a table by distance: up to and with UpTo; 0 has no end.
type Band struct {
	UpTo  float64
	Value float64
}

// Bands by distance in ft of 30 CFR 816.67(d), as California DOT's manual of 2013
// sets them out: the greatest velocity in in/s, and the least scaled distance in
// ft/lb½ where nothing is measured. More than 300 ft belongs to the next band
// here, which is the stricter one for both; see StepOpen.
var (
	PPVByDistance    = []Band{{300, 1.25}, {5000, 1.00}, {0, 0.75}}
	ScaledByDistance = []Band{{300, 50}, {5000, 55}, {0, 65}}
)

// InBand returns the value for a distance; it fails for one that is not above 0.
func InBand(bands []Band, distance float64) (float64, error) {
	if !(distance > 0) {
		return 0, fmt.Errorf("a distance of %v has no band", distance)
	}
	for _, b := range bands {
		if b.UpTo == 0 || distance <= b.UpTo {
			return b.Value, nil
		}
	}
	return 0, fmt.Errorf("the table ends before %v", distance)
}

// StepOpen tells whether 30 CFR 816.67(d) leaves open what holds at a distance in
// ft: its steps end at 300 ft and begin again at 301 ft.
func StepOpen(feet float64) bool { return feet > 300 && feet < 301 }

// MostOver is how many of n shots may be over so that per cent of them are not: the
// share is met, not rounded. It is 0 for fewer than 20 shots at 95 %.
func MostOver(n, percent int) int {
	if n <= 0 || percent < 0 || percent > 100 {
		return 0
	}
	return n * (100 - percent) / 100
}
