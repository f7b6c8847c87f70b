package weather

import (
	"strings"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
)

// Kinds returns the kinds of this subject.
func Kinds() []*book.Kind { return []*book.Kind{rainKind(), rainRuleKind()} }

// rainKind is what a gauge held when it was read by hand.
func rainKind() *book.Kind {
	return &book.Kind{
		Name: "rain.1", Register: "rain", Subject: "weather", Title: "Rain",
		Help: "What a rain gauge held, from when it was emptied last to when it was read.",
		Fields: []book.Field{
			{Name: "depth", Title: "Depth", Type: book.Decimal, Unit: "mm", Required: true, Min: "0", Max: "1000"},
			{Name: "gauge", Title: "Gauge", Type: book.Text},
			{Name: "note", Title: "Note", Type: book.Prose, Help: "Snow, hail, run over, a bird."},
		},
		Place: book.MayNamePlace, Length: book.MustLast, Plain: true,
	}
}

// What a rule may ask for after a storm.
const (
	askInspection = "inspection"
	askSoilTest   = "soil test"
	askSample     = "water sample"
)

// rainRuleKind says what so much rain starts.
func rainRuleKind() *book.Kind {
	return &book.Kind{
		Name: "rain_rule.1", Register: "rain_rules", Subject: "weather", Title: "Rain rule",
		Help: "What is to be done after so much rain, from the day it is entered for: whether one entry tells of the rain or a gauge sends it.",
		Fields: []book.Field{
			{Name: "depth", Title: "Rain of", Type: book.Decimal, Unit: "mm", Required: true, Min: "0.1", Max: "500", Help: "Such as 6.35, a quarter of an inch."},
			{Name: "hours", Title: "Or more in", Type: book.Integer, Unit: "h", Required: true, Min: "1", Max: "240"},
			{Name: "asks", Title: "Asks for", Type: book.Choice, Required: true, Options: []string{askInspection, askSoilTest, askSample}},
			{Name: "within", Title: "Within", Type: book.Integer, Unit: "h", Required: true, Min: "1", Max: "720", Help: "Counted from when the depth was reached."},
			{Name: "checklist", Title: "By the checklist", Type: book.Text, Help: "Of an inspection, such as drainage."},
			{Name: "stops", Title: "Stops until then", Type: book.Choice, Options: act.Names(), Help: "An act that waits for it, such as strip."},
			{Name: "source", Title: "Where it comes from", Type: book.Text, Help: "The clause or plan that wants it."},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
		Check: func(o book.Object) []book.Fault {
			if strings.TrimSpace(o.Text("checklist")) != "" && o.Text("asks") != askInspection {
				return []book.Fault{{Field: "checklist", Reason: "a checklist goes with an inspection alone", Remedy: "leave it out, or ask for an inspection"}}
			}
			return nil
		},
	}
}
