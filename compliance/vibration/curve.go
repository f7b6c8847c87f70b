package vibration

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Between says how a curve runs from one point to the next.
type Between string

// The ways there are. Published figures are mostly drawn on log axes; a table
// read with a ruler is linear; along a constant displacement the velocity rises
// as the frequency does, up to that of the next point. It is a property of the
// curve and never guessed.
const (
	Straight     Between = "linear"
	Logs         Between = "log-log"
	Displacement Between = "constant displacement"
)

// Point is one point of a curve: a velocity at a frequency.
type Point struct{ Hz, MMS float64 }

// Curve is a limit of peak particle velocity that depends on frequency.
type Curve struct {
	Name   string
	Points []Point // by frequency; beyond the last the last holds
	Run    Between
	// Below the first point a displacement holds instead, zero to peak in mm: the
	// velocity is 2πf times it. 0: the first point's velocity holds there.
	LowDisplacement float64
	LeastHz         float64 // nothing is said below it; 0: the curve has no lower end
}

// ErrBelow is for a frequency under the lower end of a curve, which then says
// nothing of the reading; it never passes.
var ErrBelow = errors.New("the curve says nothing below its least frequency")

// ErrFrequency is for a velocity without the frequency of the same axis. Such a
// reading cannot be judged by a curve; it never passes.
var ErrFrequency = errors.New("the frequency on the same axis is not on record")

// At is the limit in mm/s at a frequency in Hz.
func (c *Curve) At(hz float64) (float64, error) {
	if !(hz > 0) || math.IsInf(hz, 0) {
		return 0, ErrFrequency
	}
	if hz < c.LeastHz {
		return 0, fmt.Errorf("%w: %v Hz, and it begins at %v Hz", ErrBelow, hz, c.LeastHz)
	}
	p := c.Points
	if hz < p[0].Hz {
		if c.LowDisplacement > 0 {
			return unit.Round9(2 * math.Pi * hz * c.LowDisplacement), nil
		}
		return p[0].MMS, nil
	}
	for i := 1; i < len(p); i++ {
		if hz > p[i].Hz {
			continue
		}
		a, b := p[i-1], p[i]
		switch c.Run {
		case Logs:
			t := math.Log(hz/a.Hz) / math.Log(b.Hz/a.Hz)
			return unit.Round9(a.MMS * math.Pow(b.MMS/a.MMS, t)), nil
		case Displacement:
			return unit.Round9(math.Min(a.MMS*hz/a.Hz, b.MMS)), nil
		}
		t := (hz - a.Hz) / (b.Hz - a.Hz)
		return unit.Round9(a.MMS + float64(t*(b.MMS-a.MMS))), nil
	}
	return p[len(p)-1].MMS, nil
}

// Held is a reading held against a curve.
type Held struct{ Limit, Margin float64 } // mm/s; margin below 0 when over

// Hold holds a velocity in mm/s against the curve at the frequency of the same
// axis. It fails without that frequency, below the lower end of the curve, and
// for what is no velocity.
func (c *Curve) Hold(mms, hz float64) (Held, error) {
	if !(mms >= 0) || math.IsInf(mms, 0) {
		return Held{}, fmt.Errorf("%s: %v mm/s is no velocity", c.Name, mms)
	}
	limit, err := c.At(hz)
	if err != nil {
		return Held{}, fmt.Errorf("%s: %.2f mm/s cannot be judged: %w", c.Name, mms, err)
	}
	return Held{limit, unit.Round9(limit - mms)}, nil
}

// Curves that are published. What each permit says rules.
var (
	// DIN4150Industrial, DIN4150Dwelling and DIN4150Sensitive are the short-term
	// values at the foundation of DIN 4150-3, largest component (as transcribed,
	// two sources agree).
	DIN4150Industrial = Curve{Name: "DIN 4150-3, industrial building", Points: []Point{{10, 20}, {50, 40}, {100, 50}}, Run: Straight}
	DIN4150Dwelling   = Curve{Name: "DIN 4150-3, dwelling", Points: []Point{{10, 5}, {50, 15}, {100, 20}}, Run: Straight}
	DIN4150Sensitive  = Curve{Name: "DIN 4150-3, sensitive or listed building", Points: []Point{{10, 3}, {50, 8}, {100, 10}}, Run: Straight}
	// BS7385Dwelling is for transient vibration at the base of a dwelling, BS
	// 7385-2:1993 from memory; its figure has log axes. Below 4 Hz the displacement
	// is 0.6 mm. BS7385Framed is for framed and heavy commercial buildings, of which
	// we have no figure below 4 Hz. For continuous vibration half of either may be
	// needed.
	BS7385Dwelling = Curve{Name: "BS 7385-2, dwelling (from memory)", Points: []Point{{4, 15}, {15, 20}, {40, 50}}, Run: Logs, LowDisplacement: 0.6}
	BS7385Framed   = Curve{Name: "BS 7385-2, framed or heavy commercial building (from memory)", Points: []Point{{4, 50}}, Run: Logs, LeastHz: 4}
	// RhodeIsland is § 23-28.28-9 of the General Laws of Rhode Island: 0.5 in/s from
	// 2.5 to 10 Hz, above that 0.05·f in/s up to 2.0 in/s. It names nothing below.
	RhodeIsland = Curve{Name: "Rhode Island General Laws § 23-28.28-9", Points: []Point{{2.5, 0.5 * MillimetresPerInch}, {10, 0.5 * MillimetresPerInch}, {40, 2 * MillimetresPerInch}}, Run: Straight, LeastHz: 2.5}
	// MinesPlaster and MinesDrywall are the curves of US Bureau of Mines RI 8507 for
	// houses lined with plaster, 0.50 in/s, and with board, 0.75 in/s, then 0.008 in
	// of displacement up to 2.0 in/s: from memory. At their low end stands the
	// displacement of the chart of 30 CFR 816.67(d)(4), 0.030 in.
	MinesPlaster = minesCurve("plaster", 0.50)
	MinesDrywall = minesCurve("board", 0.75)
)

// minesCurve draws a curve of RI 8507 from its level part in in/s.
func minesCurve(lining string, level float64) Curve {
	const low, high, most = 0.030, 0.008, 2.0 // in, in, in/s
	at := func(ins, inches float64) Point { return Point{ins / (2 * math.Pi * inches), ins * MillimetresPerInch} }
	return Curve{
		Name: "US Bureau of Mines RI 8507, house lined with " + lining + " (from memory)", Run: Displacement, LowDisplacement: low * MillimetresPerInch,
		Points: []Point{at(level, low), at(level, high), at(most, high)},
	}
}

// ManyBlasts is the factor for more than three blasts a day by BS 6472-2:2008
// (from memory): F = 1.7·N^-0.5·T^-d, with d 0 where a blast lasts not more than
// 1 s, else 0.32 for a wooden floor and 1.22 for a concrete one. Up to three
// blasts it is 1.
func ManyBlasts(blasts int, seconds float64, concrete bool) (float64, error) {
	if blasts < 1 || !(seconds > 0) {
		return 0, errors.New("the number of blasts and how long each lasts must be above 0")
	}
	if blasts <= 3 {
		return 1, nil
	}
	d := 0.0
	if seconds > 1 {
		if d = 0.32; concrete {
			d = 1.22
		}
	}
	return unit.Round9(1.7 / math.Sqrt(float64(blasts)) * math.Pow(seconds, -d)), nil
}
