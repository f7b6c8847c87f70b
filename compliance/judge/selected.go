package judge

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// unitOfStatistic is the unit of a statistic of values in a unit: counts have
// none, shares are per cent, durations seconds.
func unitOfStatistic(name permit.StatisticName, of string) string {
	switch name {
	case permit.Count:
		return ""
	case permit.Share:
		return "%"
	case permit.Duration:
		return "s"
	}
	return of
}

// selects tells whether a statistic goes by which values meet a comparison.
func selects(name permit.StatisticName) bool {
	return name == permit.Count || name == permit.Duration || name == permit.Share
}

// selection returns which values a count, a duration or a share is of, such as
// with: {over: 50 µg/m³}, the number in a unit. ok is false when the condition
// names none.
func selection(c *permit.Condition, to string) (comparator string, threshold unit.Decimal, ok bool, err error) {
	for _, word := range permit.SelectionWords() {
		text := c.With[word]
		if text == "" {
			continue
		}
		number, symbol, _ := strings.Cut(strings.TrimSpace(text), " ")
		d, err := unit.ParseDecimal(number)
		if err == nil && symbol != "" && !unit.Same(symbol, to) {
			var v float64
			if v, err = unit.Convert(d.Float(), symbol, to); err == nil {
				d, err = decimalOf(v)
			}
		}
		if err != nil {
			return "", d, false, &fault{cause: fmt.Sprintf("%s %q is no number with a unit that converts to %s", word, text, to), remedy: "correct the condition's further words"}
		}
		return map[string]string{"over": ">", "at least": ">=", "under": "<", "at most": "<="}[word], d, true, nil
	}
	return "", unit.Decimal{}, false, nil
}

// selected completes a request for a count, a duration, a share or a
// flow-weighted mean.
func (h *hearing) selected(req *series.Request, blocks []*series.Block) error {
	c := h.cond()
	switch {
	case selects(c.Statistic.Name):
		comparator, threshold, found, err := selection(c, h.readUnit)
		if err != nil {
			return err
		}
		if !found && c.Statistic.Name == permit.Share {
			return &fault{cause: "of which readings the share is taken is not said", remedy: "add over, under, at least or at most to with"}
		}
		if found {
			req.Comparator, req.Threshold = comparator, &threshold
		}
	case c.Statistic.Name == permit.FlowWeighted && len(blocks) > 0:
		subject, _, _ := strings.Cut(h.q.Code, ".")
		chans := h.rec.Channels(subject+".flow", h.place)
		if len(chans) == 0 {
			return &fault{cause: "no flow is on file for " + h.place, remedy: "import the flow of the place as " + subject + ".flow"}
		}
		last := blocks[len(blocks)-1]
		span := calendar.Span{From: msTime(blocks[0].Start[0]), To: msTime(last.Start[last.Len()-1] + max(last.Span, 1))}
		flow, err := h.blocks(chans, span)
		if err != nil {
			return err
		}
		req.Weights = flow
	}
	return nil
}

// chosen keeps the share, number or duration of single results that meet the
// condition's comparison, as bounds where less-than results leave it open.
func chosen(name permit.StatisticName, list []sample, c *permit.Condition, of string) (bounds, error) {
	comparator, threshold, found, err := selection(c, of)
	if err != nil {
		return bounds{}, err
	}
	if !found {
		if name == permit.Count {
			return certain(float64(len(list))), nil
		}
		return bounds{}, &fault{cause: "of which results the share is taken is not said", remedy: "add over, under, at least or at most to with"}
	}
	l := permit.Limit{Comparator: permit.Comparator(comparator), Value: threshold}
	sure, perhaps := 0, 0
	for i := range list {
		switch fits(list[i].b, &l) {
		case kept:
			sure, perhaps = sure+1, perhaps+1
		case open:
			perhaps++
		}
	}
	if name == permit.Count {
		return bounds{float64(sure), float64(perhaps)}, nil
	}
	n := float64(len(list))
	return bounds{unit.Round9(100 * float64(sure) / n), unit.Round9(100 * float64(perhaps) / n)}, nil
}

// mostRolling is how many windows that follow the readings are judged.
const mostRolling = 400_000

// rollingOf makes the windows of a rolling hour: one beginning with each
// reading, as no other hour can hold more.
func (h *hearing) rollingOf(chans []series.Channel) error {
	blocks, err := h.blocks(chans, h.sofar())
	if err != nil {
		return err
	}
	h.rolling = series.Rolling(blocks, time.Hour, h.sofar())
	for _, b := range blocks {
		for _, start := range b.Start {
			h.rec.turn(msTime(start).Add(time.Hour)) // its hour is not over
		}
	}
	if len(h.rolling) > mostRolling {
		return &fault{cause: fmt.Sprintf("more than %d rolling hours", mostRolling), remedy: "judge a shorter time, or readings at a wider step"}
	}
	return nil
}
