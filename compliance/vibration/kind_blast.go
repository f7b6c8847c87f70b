package vibration

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Kinds returns the kinds of this subject.
func Kinds() []*book.Kind { return []*book.Kind{blastKind()} }

// blastKind is one line of the shot log.
func blastKind() *book.Kind {
	return &book.Kind{
		Name: "blast.1", Register: "blasts", Subject: "vibration", Title: "Blast",
		Help: "One blast as the shotfirer's log has it. For the appointed shotfirer: nothing here plans or permits a blast, or says anything of thrown rock or the danger zone.",
		Fields: []book.Field{
			{Name: "number", Title: "Number", Type: book.Text},
			{Name: "charge_per_delay", Title: "Greatest charge in one delay", Type: book.Decimal, Unit: "kg", Required: true, Min: "0.001", Max: "10000"},
			{Name: "charge_total", Title: "Charge in all", Type: book.Decimal, Unit: "kg", Min: "0.001", Max: "1000000"},
			{Name: "distance", Title: "Distance to the nearest protected building", Type: book.Decimal, Unit: "m", Required: true, Min: "0.1", Max: "100000"},
			{Name: "building", Title: "That building", Type: book.Feature},
			{Name: "holes", Title: "Holes", Type: book.Integer, Min: "1"},
			{Name: "monitored", Title: "Monitored at", Type: book.Text},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.Moment, Plain: true,
		Check: checkBlast,
	}
}

func checkBlast(o book.Object) []book.Fault {
	one, errOne := unit.ParseDecimal(o.Text("charge_per_delay"))
	all, errAll := unit.ParseDecimal(o.Text("charge_total"))
	if errOne == nil && errAll == nil && one.Cmp(all) > 0 {
		return []book.Fault{{Field: "charge_total", Reason: "the charge in one delay is more than the charge in all", Remedy: "exchange them if they were swapped"}}
	}
	return nil
}
