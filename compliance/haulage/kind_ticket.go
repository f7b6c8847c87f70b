package haulage

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
)

// ticketKind is one load through the gate: a lorry came and went, so it is
// two movements.
func ticketKind() *book.Kind {
	mass := func(name, title string) book.Field {
		return book.Field{Name: name, Title: title, Type: book.Decimal, Unit: "t", Min: "0", Max: "200"}
	}
	return &book.Kind{
		Name: "ticket.1", Register: "tickets", Subject: "haulage", Title: "Load ticket",
		Help: "One load in or out through the gate, at the time it passed.",
		Fields: []book.Field{
			{Name: "number", Title: "Ticket number", Type: book.Text, Required: true},
			{Name: "direction", Title: "Direction of the load", Type: book.Choice, Required: true, Options: []string{"in", "out"}},
			{Name: "material", Title: "Material", Type: book.Text, Required: true},
			mass("gross", "Gross"), mass("tare", "Tare"), mass("net", "Net"),
			{Name: "haulier", Title: "Haulier", Type: book.Text},
			{Name: "vehicle", Title: "Vehicle", Type: book.Text, Personal: true},
			{Name: "origin", Title: "From", Type: book.Text},
			{Name: "destination", Title: "To", Type: book.Text},
			{Name: "note_number", Title: "Number of the transfer note", Type: book.Text},
			{Name: "code", Title: "Waste code", Type: book.Text},
			{Name: "carrier", Title: "Carrier's registration", Type: book.Text},
			{Name: "sheeted", Title: "Load covered", Type: book.Flag},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
		Check: checkTicket,
	}
}

// checkTicket holds gross, tare and net against each other, in exact decimals.
func checkTicket(o book.Object) []book.Fault {
	if o.Has("gross") != o.Has("tare") {
		return []book.Fault{{Field: "tare", Reason: "gross and tare stand only together", Remedy: "give both, or the net mass alone"}}
	}
	found, ok := weighed(o)
	if !ok {
		return nil
	}
	net, err := unit.ParseDecimal(o.Text("net"))
	switch {
	case found.Coefficient < 0:
		return []book.Fault{{Field: "tare", Reason: "the tare is more than the gross", Remedy: "exchange them if they were swapped"}}
	case err == nil && found.Cmp(net) != 0:
		return []book.Fault{{Field: "net", Reason: "net is " + net.String() + " t, but gross less tare is " + found.String() + " t", Remedy: "check the ticket; give gross and tare, or net, as printed"}}
	}
	return nil
}

// weighed returns gross less tare.
func weighed(o book.Object) (unit.Decimal, bool) {
	gross, errGross := unit.ParseDecimal(o.Text("gross"))
	tare, errTare := unit.ParseDecimal(o.Text("tare"))
	if errGross != nil || errTare != nil {
		return unit.Decimal{}, false
	}
	net, err := gross.Add(unit.Decimal{Coefficient: -tare.Coefficient, Places: tare.Places})
	return net, err == nil
}
