package app

import (
	"time"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// LimitLine is a limit or an action level as a line over the time that its
// version is in force; its value is in the unit of the channels.
type LimitLine struct {
	Text     string
	Action   bool
	From, To time.Time // To zero: for ever
	Value    float64
}

// ofReadings tells whether a statistic has the size of the readings it is made of:
// a total, a count or a time over a window is no height on a chart of them.
func ofReadings(n permit.StatisticName) bool {
	switch n {
	case permit.Sum, permit.Count, permit.Change, permit.Duration, permit.Share:
		return false
	}
	return true
}

// limitLines are the lines of a condition's versions that are one number.
func limitLines(versions []permit.Version, channels []series.Channel) []LimitLine {
	if len(channels) == 0 {
		return nil
	}
	var out []LimitLine
	for i := range versions {
		v := &versions[i]
		if !ofReadings(v.Condition.Statistic.Name) {
			continue
		}
		for k := range v.Condition.Limits {
			l := &v.Condition.Limits[k]
			if l.Form != permit.Constant {
				continue
			}
			for _, d := range boundsOf(l) {
				if x, err := unit.Convert(d.Float(), l.Unit, channels[0].Unit); err == nil {
					out = append(out, LimitLine{l.String(), v.Condition.Severity == permit.AsActionLevel, v.From, v.To, unit.Round9(x)})
				}
			}
		}
	}
	return out
}

func boundsOf(l *permit.Limit) []unit.Decimal {
	if l.Comparator == permit.Between {
		return []unit.Decimal{l.Value, l.Upper}
	}
	return []unit.Decimal{l.Value}
}

// Rejected are readings of one column of a chart that were taken out, with the
// values they had.
type Rejected struct {
	Start    time.Time
	Min, Max float64
	Reason   string
}

// rejected finds the values of readings that are on file and do not count.
func (r *reducer) rejected(counts, received []*series.Block) {
	was := map[int64]float64{}
	for _, b := range received {
		for i, at := range b.Start {
			if b.Mark[i].Counts() && at >= r.from && at < r.to {
				was[at] = unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}.Float()
			}
		}
	}
	column := int64(-1)
	for _, b := range counts {
		for i, at := range b.Start {
			v, had := was[at]
			if b.Mark[i].Counts() || !had {
				continue
			}
			reason := reasonOf(b.Mark[i])
			n := len(r.out.Rejected)
			if c := (at - r.from) * r.columns / (r.to - r.from); c != column || r.out.Rejected[n-1].Reason != reason {
				column = c
				r.out.Rejected = append(r.out.Rejected, Rejected{time.UnixMilli(at).UTC(), v, v, reason})
				continue
			}
			last := &r.out.Rejected[n-1]
			last.Min, last.Max = min(last.Min, v), max(last.Max, v)
		}
	}
}
