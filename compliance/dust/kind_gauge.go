package dust

import (
	"fmt"
	"math"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Kinds returns the kinds of this subject.
func Kinds() []*book.Kind { return []*book.Kind{gaugeKind()} }

// gaugeKind is one exposure of a deposition gauge with what was weighed.
func gaugeKind() *book.Kind {
	return &book.Kind{
		Name: "dust_gauge.1", Register: "dust_gauges", Subject: "dust", Title: "Dust gauge",
		Help: "One exposure of a deposition gauge, from setting it out to taking it in, and the mass the laboratory weighed.",
		Fields: []book.Field{
			{Name: "gauge", Title: "Gauge", Type: book.Text, Help: "Its number, where several stand."},
			{Name: "diameter", Title: "Diameter of the opening", Type: book.Decimal, Unit: "mm", Min: "10", Max: "2000", Help: "Or the area, or both."},
			{Name: "area", Title: "Area of the opening", Type: book.Decimal, Unit: "m²", Min: "0.0001", Max: "10", Help: "It rules where the diameter is given too."},
			{Name: "mass", Title: "Mass settled", Type: book.Result, Unit: "mg", Required: true, Help: "As reported, with < where the laboratory could say no more."},
			{Name: "laboratory", Title: "Laboratory", Type: book.Text},
			{Name: "report", Title: "Report", Type: book.Text},
			{Name: "document", Title: "Report as a file", Type: book.File},
			{Name: "note", Title: "Note", Type: book.Prose, Help: "Leaves, insects, a bird, water low or run over."},
		},
		Place: book.MustNamePlace, Length: book.MustLast, Plain: true,
		Check: checkGauge,
	}
}

// agree is how far diameter and area may differ, as a share.
const agree = 0.01

func checkGauge(o book.Object) []book.Fault {
	wide, errWide := unit.ParseDecimal(o.Text("diameter"))
	area, errArea := unit.ParseDecimal(o.Text("area"))
	switch {
	case o.Text("diameter") == "" && o.Text("area") == "":
		return []book.Fault{{Field: "diameter", Reason: "neither the diameter nor the area of the opening is given", Remedy: "give the one the laboratory reckons with"}}
	case errWide == nil && errArea == nil && math.Abs(Opening(wide.Float())/area.Float()-1) > agree:
		return []book.Fault{{Field: "area", Reason: fmt.Sprintf("an opening of %s mm has %.4g m², and %s m² is given", wide, Opening(wide.Float()), area), Remedy: "correct one of them, or give the area alone"}}
	}
	if strings.HasPrefix(o.Text("mass"), "-") {
		return []book.Fault{{Field: "mass", Reason: "it is below nothing", Remedy: "enter what was reported; for nothing found write 0, or < and the limit"}}
	}
	return nil
}

// settled is the deposition in gauges, weighed.
func settled() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "dust.settled", Title: "dust settled in a gauge", Unit: "mg/m²/d", Form: quantity.Samples, NotBelow: new(float64),
		With: []string{"gauge"}, Caution: "receptors", Help: "Mass weighed, over the gauge's opening and the days it was out.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range observe.Wanted(rec, "dust_gauge.1", ask, "gauge") {
				g, err := gaugeOf(e)
				if err != nil {
					return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
				}
				v, err := g.Deposition()
				if err != nil {
					return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
				}
				o := observe.Of(e, ask)
				o.Name, o.Value = "dust gauge "+e.Body.Text("gauge"), v
				if g.NoMoreMG {
					o.Mark = series.Below
				}
				o.Note = fmt.Sprintf("%s mg on %.7g m² in %.4g days; %.3f g/m² in 30 days", e.Body.Text("mass"), g.AreaM2, g.Exposed.Hours()/24, PerMonth(v))
				out = append(out, o)
			}
			return out, nil
		},
	}
}

// gaugeOf reads an entry.
func gaugeOf(e *book.Entry) (Gauge, error) {
	from, to := e.Span()
	g := Gauge{Exposed: to.Sub(from)}
	text := e.Body.Text("mass")
	g.NoMoreMG = strings.HasPrefix(text, "<")
	mass, err := unit.ParseDecimal(strings.TrimLeft(text, "<>"))
	if err != nil {
		return g, fmt.Errorf("mass: %w", err)
	}
	g.MassMG = mass.Float()
	if text := e.Body.Text("area"); text != "" {
		area, err := unit.ParseDecimal(text)
		if err != nil {
			return g, fmt.Errorf("area: %w", err)
		}
		g.AreaM2 = area.Float()
		return g, nil
	}
	wide, err := unit.ParseDecimal(e.Body.Text("diameter"))
	if err != nil {
		return g, fmt.Errorf("diameter: %w", err)
	}
	g.AreaM2 = Opening(wide.Float())
	return g, nil
}
