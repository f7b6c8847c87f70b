package app

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/vibration"
)

// Around a blast, the time in which a reading is taken for its own: clocks of the
// shotfirer's log and of an instrument differ.
const (
	beforeBlast = time.Minute
	afterBlast  = 2 * time.Minute
)

// shotShare is the share of shots that stay under the upper line.
const shotShare = 0.95

// ShotState says what was measured of a blast.
type ShotState string

// The states there are.
const (
	ShotMeasured ShotState = "measured"
	ShotUnseen   ShotState = "below the trigger level" // an instrument stood there and did not notice it
	ShotNoRecord ShotState = "no reading on file"
	ShotBeyond   ShotState = "beyond the instrument's range" // it was more than was read
	ShotMixed    ShotState = "too near another blast"        // a reading cannot be told to be of the one or the other
)

// LoggedShot is a blast of the log with what was measured of it.
type LoggedShot struct {
	Entry               *book.Entry
	Building            string
	DistanceM, ChargeKG float64
	Scaled              float64 // m/√kg
	PPV                 float64 // mm/s, of ShotMeasured
	Channel             string
	State               ShotState
}

// ShotLog is the log with the site's own line through it.
type ShotLog struct {
	Shots            []LoggedShot
	Fit              *vibration.Fit // nil where the shots carry no line
	Why              string         // why not
	Unseen, NoRecord int
	Unsure           int     // whose reading is beyond the range or may be of another blast
	Over             int     // shots above the upper line
	KHalf, KUpper    float64 // factors of the two lines
}

// Shots reads the blasts on record and fits the site's own law of vibration: the
// greatest velocity at the building its distance is to, from a minute before the
// blast to two after it. A blast whose building is not named, or whose time is
// known to the day only, has no reading.
func (s *Service) Shots(ctx context.Context, who Actor) (*ShotLog, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	out := &ShotLog{}
	var measured []vibration.Shot
	fired := blastsTo(snap)
	for i, e := range fired {
		one := LoggedShot{Entry: e, Building: e.Body.Text("building"), State: ShotNoRecord}
		kg, err1 := unit.ParseDecimal(e.Body.Text("charge_per_delay"))
		m, err2 := unit.ParseDecimal(e.Body.Text("distance"))
		if err := errors.Join(err1, err2); err != nil {
			return nil, internal(fmt.Sprintf("reading entry %d", e.Seq), err)
		}
		one.ChargeKG, one.DistanceM = kg.Float(), m.Float()
		one.Scaled = unit.Round9(vibration.ScaledDistance(one.ChargeKG, one.DistanceM))
		if err := one.measure(snap); err != nil {
			return nil, err
		}
		if one.State == ShotMeasured && (i > 0 && near(fired[i-1], e) || i+1 < len(fired) && near(e, fired[i+1])) {
			one.State, one.PPV = ShotMixed, 0
		}
		switch one.State {
		case ShotMeasured:
			measured = append(measured, vibration.Shot{DistanceM: one.DistanceM, ChargeKG: one.ChargeKG, PPV: one.PPV})
		case ShotUnseen:
			out.Unseen++
		case ShotBeyond, ShotMixed:
			out.Unsure++
		default:
			out.NoRecord++
		}
		out.Shots = append(out.Shots, one)
	}
	fit, err := vibration.FitShots(measured)
	if err != nil {
		out.Why = err.Error()
		return out, nil
	}
	out.Fit, out.Over, out.KHalf, out.KUpper = fit, fit.Over(measured, shotShare), fit.K(0.5), fit.K(shotShare)
	return out, nil
}

// blastsTo lists the blasts of a snapshot by their time.
func blastsTo(snap *Snapshot) []*book.Entry {
	var out []*book.Entry
	for _, e := range snap.Record.Entries("blast.1") {
		if e.Body != nil && !e.At.After(snap.At) {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b *book.Entry) int { return a.At.Compare(b.At) })
	return out
}

// near tells whether a reading could be of either of two blasts, the first not
// later than the second.
func near(a, b *book.Entry) bool {
	return a.Precision != book.ToDay && b.Precision != book.ToDay && b.At.Sub(a.At) < beforeBlast+afterBlast
}

// measure finds the greatest velocity of a blast at its building.
func (l *LoggedShot) measure(snap *Snapshot) error {
	if l.Building == "" || l.Entry.Precision == book.ToDay {
		return nil
	}
	from, to := l.Entry.At.Add(-beforeBlast), l.Entry.At.Add(afterBlast)
	for _, c := range snap.Record.Channels("vibration.ppv", l.Building) {
		blocks, err := snap.Record.Readings(c.Code, from, to)
		if err != nil {
			return internal("reading the channel", err)
		}
		for _, b := range blocks {
			for i, at := range b.Start {
				if at < from.UnixMilli() || at >= to.UnixMilli() || !b.Mark[i].Counts() {
					continue
				}
				v, err := unit.Convert(b.Value(i).Float(), c.Unit, "mm/s")
				if err != nil {
					return internal("reading the channel", err)
				}
				if b.Mark[i] == series.Below || v <= 0 {
					if l.State == ShotNoRecord {
						l.State, l.Channel = ShotUnseen, c.Code
					}
					continue
				}
				if b.Mark[i] == series.Above || l.State == ShotBeyond {
					l.State, l.PPV, l.Channel = ShotBeyond, 0, c.Code
					continue
				}
				if l.State != ShotMeasured || v > l.PPV {
					l.State, l.PPV, l.Channel = ShotMeasured, unit.Round9(v), c.Code
				}
			}
		}
	}
	return nil
}

// ShotCharge is the largest charge in one delay for a limit at a distance by the
// site's upper line, with what it follows from.
type ShotCharge struct {
	Scaled    float64 // least scaled distance, m/√kg
	KG        float64 // rounded down to 10 g
	KUpper, B float64
}

// ShotCharge reads a charge from the site's own upper line. It permits no blast.
func (s *Service) ShotCharge(ctx context.Context, who Actor, distanceM, limit float64) (*ShotCharge, error) {
	if err := figuresWithin("no charge was worked out", figureAsked{"distance", distanceM, farthest}, figureAsked{"limit", limit, fastest}); err != nil {
		return nil, err
	}
	log, err := s.Shots(ctx, who)
	if err != nil {
		return nil, err
	}
	if log.Fit == nil {
		return nil, fault(Invalid, "no charge was worked out: %s", log.Why)
	}
	out := &ShotCharge{KUpper: log.KUpper, B: log.Fit.B}
	if out.Scaled, err = log.Fit.LeastScaled(limit, shotShare); err == nil {
		out.KG, err = log.Fit.LargestCharge(distanceM, limit, shotShare)
	}
	if err != nil {
		return nil, &Error{Code: Invalid, Words: "no charge was worked out: " + err.Error(), Cause: err}
	}
	return out, nil
}
