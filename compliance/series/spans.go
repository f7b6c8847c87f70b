package series

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// EachReading returns the span of every reading, of whatever mark, that
// begins within the span: for windows of one reading each. An instant has a
// span of one millisecond.
func EachReading(blocks []*Block, within calendar.Span) []calendar.Span {
	var out []calendar.Span
	eachStart(blocks, within, func(start, span int64) {
		out = append(out, spanOf(start, start+max(span, 1)))
	})
	return out
}

// Rolling returns the windows of a length that begin where a reading begins
// and lie wholly within the span: any 60 minutes, at the step of the data.
func Rolling(blocks []*Block, length time.Duration, within calendar.Span) []calendar.Span {
	var out []calendar.Span
	to := within.To.UnixMilli()
	eachStart(blocks, within, func(start, _ int64) {
		if end := start + length.Milliseconds(); end <= to {
			out = append(out, spanOf(start, end))
		}
	})
	return out
}

func eachStart(blocks []*Block, within calendar.Span, do func(start, span int64)) {
	from, to := within.From.UnixMilli(), within.To.UnixMilli()
	for _, b := range blocks {
		for _, start := range b.Start {
			if start >= from && start < to {
				do(start, b.Span)
			}
		}
	}
}

func spanOf(from, to int64) calendar.Span {
	return calendar.Span{From: time.UnixMilli(from).UTC(), To: time.UnixMilli(to).UTC()}
}
