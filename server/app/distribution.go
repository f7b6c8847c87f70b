package app

import (
	"context"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/weather"
)

// longestLook is how long a span may be that a distribution or a rose is made of:
// every reading of it is looked at.
const longestLook = 400 * 24 * time.Hour

// lookOver checks a span and returns what is known of a channel, and when.
func (s *Service) lookOver(ctx context.Context, who Actor, w When, channel string, from, to time.Time) (*Snapshot, series.Channel, error) {
	snap, err := s.on(ctx, who, w)
	if err != nil {
		return nil, series.Channel{}, err
	}
	switch {
	case !from.Before(to):
		return nil, series.Channel{}, fault(Invalid, "the span must end after it begins")
	case to.Sub(from) > longestLook:
		return nil, series.Channel{}, fault(Invalid, "the span is longer than 400 days; choose a shorter one")
	}
	for _, c := range snap.Record.Channels("", "") {
		if c.Code == channel {
			return snap, c, nil
		}
	}
	return nil, series.Channel{}, fault(NotFound, "there is no channel %q", channel)
}

// Distribution is how often readings of a channel lay in each class of values.
type Distribution struct {
	Channel      series.Channel
	Width        float64  // of a class, in the channel's unit
	Classes      []Class  // from the least to the greatest, none left out
	N            int      // readings that count
	Below, Above int      // of these: less or more than the instrument can tell, counted at that value
	LeftOut      int      // readings that do not
	Coverage     *float64 // share of the span that readings cover which count; nil for instants
	Ranks        []Rank
	Why          string // why there are no ranks though readings count
}

// Class counts the readings from From to below From + width.
type Class struct {
	From float64
	N    int
}

// Rank is a value that so many per cent of the readings are above: L90 is what 90
// per cent exceed.
type Rank struct {
	Exceeded float64 // per cent
	Value    float64
	Sure     bool // what readings below or above their limit really were cannot change it
}

// shownRanks are those a distribution names, per cent exceeded.
var shownRanks = []int64{90, 50, 10, 1}

// Widths of classes there may be, and how many classes at most.
var classWidths = []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}

const mostClasses = 60

// Distribution counts the readings of a channel over [from, to) by classes.
// Percentiles are those of these readings by linear rank, (n-1)q+1; of a channel
// that holds levels by the minute they are no LN of the hour. A channel of
// directions is refused: they have no least and no greatest.
func (s *Service) Distribution(ctx context.Context, who Actor, w When, channel string, from, to time.Time) (*Distribution, error) {
	snap, c, err := s.lookOver(ctx, who, w, channel, from, to)
	if err != nil {
		return nil, err
	}
	if unit.Same(c.Unit, "°") {
		return nil, fault(Invalid, "%s holds directions, which have no least and no greatest: make a wind rose of it", c.Code)
	}
	blocks, err := snap.Record.Readings(channel, from, to)
	if err != nil {
		return nil, internal("reading the channel", err)
	}
	out, err := distributionOf(blocks, from, to)
	if err != nil {
		return nil, internal("counting the readings", err)
	}
	out.Channel = c
	return out, nil
}

// distributionOf counts readings that begin in [from, to).
func distributionOf(blocks []*series.Block, from, to time.Time) (*Distribution, error) {
	out := &Distribution{}
	var values []float64
	for _, b := range blocks {
		for i, at := range b.Start {
			if at < from.UnixMilli() || at >= to.UnixMilli() {
				continue
			}
			switch m := b.Mark[i]; {
			case !m.Counts():
				out.LeftOut++
				continue
			case m == series.Below:
				out.Below++
			case m == series.Above:
				out.Above++
			}
			values = append(values, b.Value(i).Float())
		}
	}
	out.N = len(values)
	if out.N > 0 {
		slices.Sort(values)
		out.count(values)
	}
	for _, p := range shownRanks {
		all, err := series.Windows(blocks, []calendar.Span{{From: from, To: to}}, series.Request{
			Stat: series.Percentile, Percentile: unit.Decimal{Coefficient: 100 - p}, Rank: series.Linear,
		})
		if err != nil {
			return nil, err
		}
		r := &all[0]
		if !r.Instants {
			out.Coverage = &r.Coverage
		}
		if out.N == 0 {
			break
		}
		if !r.OK {
			out.Why = r.Why
			break
		}
		out.Ranks = append(out.Ranks, Rank{float64(p), r.Value, r.Low == r.Value && r.High == r.Value})
	}
	return out, nil
}

// count parts sorted values into classes of the least width that needs not too
// many.
func (d *Distribution) count(values []float64) {
	least, most := values[0], values[len(values)-1]
	d.Width = classWidths[len(classWidths)-1]
	for _, w := range classWidths {
		if math.Floor(most/w)-math.Floor(least/w) < mostClasses {
			d.Width = w
			break
		}
	}
	first := math.Floor(unit.Round9(least / d.Width))
	for k := first; k <= math.Floor(unit.Round9(most/d.Width)); k++ {
		d.Classes = append(d.Classes, Class{From: unit.Round9(k * d.Width)})
		if len(d.Classes) > 100*mostClasses { // values further apart than the widest class knows
			break
		}
	}
	for _, v := range values {
		k := int(math.Floor(unit.Round9(v/d.Width)) - first)
		d.Classes[min(k, len(d.Classes)-1)].N++
	}
}

// WindRose is a rose with the channels it is made of.
type WindRose struct {
	*weather.Rose
	Speed, Direction series.Channel
	Together         int // readings of speed and direction of the same time
	Missing          int // readings of speed that have no direction of the same time, or the other way round
}

// Wind speeds, m/s, that a rose tells apart; below the first it is calm.
var roseBounds = []float64{0.5, 2, 4, 6, 8}

// roseSectors is how many directions a rose has.
const roseSectors = 16

// Rose makes a wind rose of a channel of speed and one of direction over [from, to).
// Only readings of one and the same time count together.
func (s *Service) Rose(ctx context.Context, who Actor, w When, speed, direction string, from, to time.Time) (*WindRose, error) {
	snap, v, err := s.lookOver(ctx, who, w, speed, from, to)
	if err != nil {
		return nil, err
	}
	_, d, err := s.lookOver(ctx, who, w, direction, from, to)
	if err != nil {
		return nil, err
	}
	var faults []book.Fault
	if unit.Convertible(v.Unit, "m/s") != nil {
		faults = append(faults, book.Fault{Field: "speed", Reason: v.Code + " is in " + v.Unit, Remedy: "choose a channel of wind speed"})
	}
	if unit.Convertible(d.Unit, "°") != nil {
		faults = append(faults, book.Fault{Field: "direction", Reason: d.Code + " is in " + d.Unit, Remedy: "choose a channel of wind direction, in degrees"})
	}
	if len(faults) > 0 {
		return nil, &Error{Code: Invalid, Words: "no rose was made: something needs attention", Faults: faults}
	}
	out := &WindRose{Speed: v, Direction: d}
	directions, err := s.readAt(snap, d, "°", from, to)
	if err != nil {
		return nil, err
	}
	speeds, err := s.readAt(snap, v, "m/s", from, to)
	if err != nil {
		return nil, err
	}
	var winds []weather.Wind
	for at, r := range speeds {
		way, both := directions[at]
		if !both {
			out.Missing++
			continue
		}
		winds = append(winds, weather.Wind{Speed: r.value, Direction: way.value, Weight: r.weight})
	}
	for at := range directions {
		if _, both := speeds[at]; !both {
			out.Missing++
		}
	}
	out.Together = len(winds)
	sort.Slice(winds, func(i, j int) bool { // the same sums each time
		a, b := winds[i], winds[j]
		if a.Direction != b.Direction {
			return a.Direction < b.Direction
		}
		if a.Speed != b.Speed {
			return a.Speed < b.Speed
		}
		return a.Weight < b.Weight
	})
	if out.Rose, err = weather.RoseOf(winds, roseSectors, roseBounds[0], roseBounds); err != nil {
		return nil, &Error{Code: Invalid, Words: "no rose was made: " + err.Error()}
	}
	return out, nil
}

type weighed struct{ value, weight float64 }

// readAt returns the readings of a channel that count, by begin, in a unit.
func (s *Service) readAt(snap *Snapshot, c series.Channel, to string, from, until time.Time) (map[int64]weighed, error) {
	blocks, err := snap.Record.Readings(c.Code, from, until)
	if err != nil {
		return nil, internal("reading the channel", err)
	}
	out := map[int64]weighed{}
	for _, b := range blocks {
		for i, at := range b.Start {
			if !b.Mark[i].Counts() || at < from.UnixMilli() || at >= until.UnixMilli() {
				continue
			}
			v, err := unit.Convert(b.Value(i).Float(), c.Unit, to)
			if err != nil {
				return nil, internal("reading the channel", err)
			}
			out[at] = weighed{v, float64(max(b.Span, 1))}
		}
	}
	return out, nil
}
