package vibration

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/student"
)

// Shot is one blast as it was measured at a place.
type Shot struct {
	DistanceM float64 // from the charge to where it was measured, m
	ChargeKG  float64 // greatest in one delay, kg
	PPV       float64 // peak particle velocity, mm/s
}

// Scaled is the scaled distance of a shot, m/√kg.
func (s Shot) Scaled() float64 { return s.DistanceM / math.Sqrt(s.ChargeKG) }

// Fit is the site's own law of vibration, lg PPV = a + b·lg SD by least squares.
//
// Source: common practice of quarry blasting (square-root scaled distance, for
// instance Siskind et al., US Bureau of Mines RI 8507, 1980); the spread is the
// standard error of the regression, √(SSE/(n−2)).
type Fit struct {
	N            int
	A, B         float64
	Spread       float64 // of lg PPV about the line
	R2           float64
	Least, Most  float64 // scaled distances that were measured
	mean, spread float64 // of lg SD: mean and Σ(x−mean)²
}

// What a line needs: our own rule.
const (
	leastShots = 10
	leastRange = 2.0 // of scaled distances, greatest over least
)

// ErrTooFew is wrapped when shots are too few or too much alike for a line.
var ErrTooFew = errors.New("the shots do not carry a line")

// ErrOutside is wrapped for a scaled distance that was not measured.
var ErrOutside = errors.New("outside the scaled distances that were measured")

// FitShots fits the line. It refuses fewer than ten shots, scaled distances that
// do not reach from one to twice as much, velocities that do not fall as scaled
// distance grows, from which a charge would be read the wrong way round, and
// figures that have no logarithm: a shot that was not noticed cannot enter the
// line, and is for the reader to count.
func FitShots(shots []Shot) (*Fit, error) {
	f := &Fit{N: len(shots)}
	if f.N < leastShots {
		return nil, fmt.Errorf("%w: %d of them, %d are needed", ErrTooFew, f.N, leastShots)
	}
	var sx, sy float64
	x, y := make([]float64, f.N), make([]float64, f.N)
	for i, s := range shots {
		if !(s.DistanceM > 0 && s.ChargeKG > 0 && s.PPV > 0) || math.IsInf(s.DistanceM*s.ChargeKG*s.PPV, 0) {
			return nil, fmt.Errorf("shot %d: distance, charge and velocity must be above nothing", i+1)
		}
		sd := s.Scaled()
		if i == 0 {
			f.Least, f.Most = sd, sd
		}
		f.Least, f.Most = math.Min(f.Least, sd), math.Max(f.Most, sd)
		x[i], y[i] = math.Log10(sd), math.Log10(s.PPV)
		sx, sy = sx+x[i], sy+y[i]
	}
	if f.Most/f.Least < leastRange {
		return nil, fmt.Errorf("%w: their scaled distances reach from %.1f to %.1f m/√kg, twice as much is needed", ErrTooFew, f.Least, f.Most)
	}
	n := float64(f.N)
	my := sy / n
	f.mean = sx / n
	var sxy, syy, sse float64
	for i := range x {
		dx, dy := x[i]-f.mean, y[i]-my
		f.spread += dx * dx
		sxy += dx * dy
		syy += dy * dy
	}
	if f.B = sxy / f.spread; !(f.B < -1e-9) { // what rounding leaves of a level line is no fall
		return nil, fmt.Errorf("%w: their velocity does not fall as scaled distance grows", ErrTooFew)
	}
	f.A = my - f.B*f.mean
	for i := range x {
		e := y[i] - f.A - f.B*x[i]
		sse += e * e
	}
	f.Spread, f.R2 = math.Sqrt(sse/(n-2)), 1-sse/syy
	return f, nil
}

// K is the factor of the line PPV = K·SD^b that a share p of shots stays under:
// 10^(a + z·s) with the one-sided z of the normal distribution. p is from 0.5,
// the line itself, to below 1.
func (f *Fit) K(p float64) float64 {
	return math.Pow(10, f.A+math.Sqrt2*math.Erfinv(2*p-1)*f.Spread)
}

// PPV is the velocity, mm/s, that a share p of shots stays under at a distance
// with a charge.
func (f *Fit) PPV(distanceM, chargeKG, p float64) (float64, error) {
	sd, err := f.inside(Shot{DistanceM: distanceM, ChargeKG: chargeKG}.Scaled())
	return f.K(p) * math.Pow(sd, f.B), err
}

// NextPPV is PPV for the next single shot, which knows of the line's own
// uncertainty: Student's t with n − 2 degrees of freedom and √(1 + 1/n + …).
func (f *Fit) NextPPV(distanceM, chargeKG, p float64) (float64, error) {
	sd, err := f.inside(Shot{DistanceM: distanceM, ChargeKG: chargeKG}.Scaled())
	x := math.Log10(sd)
	wide := math.Sqrt(1 + 1/float64(f.N) + (x-f.mean)*(x-f.mean)/f.spread)
	return math.Pow(10, f.A+f.B*x+student.Quantile(p, float64(f.N-2))*f.Spread*wide), err
}

// LeastScaled is the least scaled distance, m/√kg, at which a share p of shots
// stays under a velocity in mm/s.
func (f *Fit) LeastScaled(ppv, p float64) (float64, error) {
	return f.inside(math.Pow(ppv/f.K(p), 1/f.B))
}

// LargestCharge is the greatest charge in one delay, kg, by which a share p of
// shots stays under a velocity at a distance, rounded down to 10 g.
func (f *Fit) LargestCharge(distanceM, ppv, p float64) (float64, error) {
	sd, err := f.LeastScaled(ppv, p)
	return math.Floor(distanceM*distanceM/(sd*sd)*100) / 100, err
}

// inside refuses a scaled distance that nothing was measured at.
func (f *Fit) inside(sd float64) (float64, error) {
	if !(sd >= f.Least && sd <= f.Most) {
		return sd, fmt.Errorf("%w: %.1f m/√kg, measured from %.1f to %.1f", ErrOutside, sd, f.Least, f.Most)
	}
	return sd, nil
}

// Over counts the shots above the line of a share p.
func (f *Fit) Over(shots []Shot, p float64) int {
	n, k := 0, f.K(p)
	for _, s := range shots {
		if s.PPV > k*math.Pow(s.Scaled(), f.B) {
			n++
		}
	}
	return n
}
