package api

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/planar"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/server/app"
)

// Plan is the site plan in force, in metres of the site grid.
type Plan struct {
	Grid     string          `json:"grid"`
	Datum    string          `json:"datum"`
	Extent   [4]float64      `json:"extent" doc:"least E, least N, greatest E, greatest N"`
	Features json.RawMessage `json:"features" doc:"GeoJSON FeatureCollection in metres of the site grid, not WGS 84"`
}

// Survey is a survey on file.
type Survey struct {
	Ref             string    `json:"ref"`
	Purpose         string    `json:"purpose"`
	At              time.Time `json:"at"`
	Surveyor        string    `json:"surveyor"`
	Instrument      string    `json:"instrument"`
	Points          int64     `json:"points"`
	Control         string    `json:"control"`
	Closure         string    `json:"closure"`
	AccuracyClaimed string    `json:"accuracy_claimed"`
	AccuracyShown   string    `json:"accuracy_shown"`
	Entry           string    `json:"entry"`
}

// Levels is one survey compared with another.
type Levels struct {
	Figures  Figures `json:"figures"`
	Sentence string  `json:"sentence"`
	Caution  string  `json:"caution"`
}

// Figures of a comparison; volumes m³, areas m², levels m.
type Figures struct {
	Fill     float64  `json:"fill_m3"`
	Cut      float64  `json:"cut_m3"`
	Net      float64  `json:"net_m3"`
	FillArea float64  `json:"fill_area_m2"`
	CutArea  float64  `json:"cut_area_m2"`
	PlanArea float64  `json:"plan_area_m2"`
	Above    float64  `json:"max_above_m"`
	Below    float64  `json:"max_below_m"`
	Mean     float64  `json:"mean_m"`
	RMS      float64  `json:"rms_m"`
	Within   *float64 `json:"within_area_m2"`
	Share    *float64 `json:"within_share"`
	Doubtful *float64 `json:"doubtful_area_m2"`
	Warnings []string `json:"warnings"`
}

// Raster is a difference grid; row 0 is the south, null has no level.
type Raster struct {
	Origin  [2]float64     `json:"origin"`
	Cell    float64        `json:"cell_m"`
	Cols    int            `json:"cols"`
	Rows    int            `json:"rows"`
	Values  []*float64     `json:"values"`
	Edges   []float64      `json:"edges"`
	Outline [][][2]float64 `json:"outline"`
}

// Section is a cut through both surfaces.
type Section struct {
	Line   [][2]float64   `json:"line"`
	Points []SectionPoint `json:"points"`
}

// SectionPoint is one place on a section.
type SectionPoint struct {
	Distance float64  `json:"d_m"`
	E        float64  `json:"e"`
	N        float64  `json:"n"`
	Before   *float64 `json:"before"`
	After    *float64 `json:"after"`
}

// PairInput names two surveys to compare.
type PairInput struct {
	Before    string `query:"before"`
	After     string `query:"after"`
	Within    string `query:"within"`
	Tolerance string `query:"tolerance"`
	Accuracy  string `query:"accuracy"`
}

func (in PairInput) pair() app.Pair {
	return app.Pair{Before: in.Before, After: in.After, Within: in.Within, Tolerance: in.Tolerance, Accuracy: in.Accuracy}
}

type rasterInput struct {
	PairInput
	Cells int `query:"cells" minimum:"20" maximum:"1000" default:"200"`
}

type sectionInput struct {
	PairInput
	Line string `query:"line" doc:"e,n;e,n in metres of the site grid; absent: across the middle"`
}

func (s *Server) planOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "plan", Method: http.MethodGet, Path: "/plan", Summary: "The plan in force"},
		func(ctx context.Context, in *struct {
			At string `query:"at"`
		}) (*answer[Plan], error) {
			return reply(s.plan(ctx, in.At))
		})
}

func (s *Server) plan(ctx context.Context, at string) (Plan, error) {
	t, err := optionalTime("at", at)
	if err != nil {
		return Plan{}, err
	}
	p, err := s.App.Plan(ctx, who(ctx), t)
	if err != nil {
		return Plan{}, err
	}
	fc := geojson.NewFeatureCollection()
	for _, f := range p.Features {
		one := geojson.NewFeature(f.Geometry)
		one.Properties = geojson.Properties{"code": f.Code, "kind": f.Kind, "label": f.Label, "measure": measure(f.Geometry)}
		fc.Append(one)
	}
	b, err := fc.MarshalJSON()
	out := Plan{Grid: p.Grid, Datum: p.Datum, Features: b}
	if len(p.Features) > 0 {
		out.Extent = [4]float64{p.Extent.Min[0], p.Extent.Min[1], p.Extent.Max[0], p.Extent.Max[1]}
	}
	return out, err
}

// measure says a feature's size on the grid.
func measure(g orb.Geometry) string {
	switch g := g.(type) {
	case orb.Polygon, orb.MultiPolygon:
		return fmt.Sprintf("%.0f m²", math.Abs(planar.Area(shifted(g))))
	case orb.LineString, orb.MultiLineString:
		return fmt.Sprintf("%.0f m", planar.Length(g))
	}
	return ""
}

// shifted moves a shape to its own corner, so that products of grid
// coordinates lose nothing.
func shifted(g orb.Geometry) orb.Geometry {
	corner := g.Bound().Min
	moved := orb.Clone(g)
	move := func(r orb.Ring) {
		for i := range r {
			r[i][0] -= corner[0]
			r[i][1] -= corner[1]
		}
	}
	switch m := moved.(type) {
	case orb.Polygon:
		for _, r := range m {
			move(r)
		}
	case orb.MultiPolygon:
		for _, p := range m {
			for _, r := range p {
				move(r)
			}
		}
	}
	return moved
}

func (s *Server) levelOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "surveys", Method: http.MethodGet, Path: "/surveys", Summary: "The surveys on file"},
		func(ctx context.Context, _ *struct{}) (*answer[[]Survey], error) {
			l, err := s.App.Surveys(ctx, who(ctx))
			out := []Survey{}
			for _, e := range l {
				out = append(out, surveyOf(e))
			}
			return reply(out, err)
		})
	huma.Register(api, huma.Operation{OperationID: "levels", Method: http.MethodGet, Path: "/levels", Summary: "One survey against another"},
		func(ctx context.Context, in *PairInput) (*answer[Levels], error) { return reply(s.levels(ctx, in)) })
	huma.Register(api, huma.Operation{OperationID: "raster", Method: http.MethodGet, Path: "/levels/raster", Summary: "Difference grid for a picture"},
		func(ctx context.Context, in *rasterInput) (*answer[Raster], error) {
			r, err := s.App.Raster(ctx, who(ctx), in.pair(), in.Cells)
			if err != nil {
				return nil, asProblem(err)
			}
			return reply(rasterOf(r), nil)
		})
	huma.Register(api, huma.Operation{OperationID: "section", Method: http.MethodGet, Path: "/levels/section", Summary: "Section through both surfaces"},
		func(ctx context.Context, in *sectionInput) (*answer[Section], error) {
			c, err := s.App.Section(ctx, who(ctx), in.pair(), in.Line)
			if err != nil {
				return nil, asProblem(err)
			}
			return reply(sectionOf(c), nil)
		})
}

func surveyOf(e *book.Entry) Survey {
	text := func(k string) string { v, _ := e.Body[k].(string); return v }
	points, _ := e.Body["points"].(int64)
	return Survey{
		Ref: text("ref"), Purpose: text("purpose"), At: e.At, Surveyor: text("surveyor"), Instrument: text("instrument"), Points: points,
		Control: text("control"), Closure: text("closure"), AccuracyClaimed: text("accuracy_claimed"), AccuracyShown: text("accuracy_shown"), Entry: string(e.ID),
	}
}

func (s *Server) levels(ctx context.Context, in *PairInput) (Levels, error) {
	c, err := s.App.Compare(ctx, who(ctx), in.pair())
	if err != nil {
		return Levels{}, err
	}
	d := c.Difference
	f := FiguresOf(d, c.Warnings)
	words := []string{fmt.Sprintf("%.1f m³ of fill and %.1f m³ of cut over %.0f m².", d.FillM3, d.CutM3, d.PlanAreaM2)}
	if b := d.Band; b != nil {
		words = append(words, fmt.Sprintf("%.1f %% lies within ±%g m", 100*b.WithinShare, b.ToleranceM))
		if b.AccuracyM > 0 {
			words = append(words, fmt.Sprintf("(%.1f to %.1f %% with levels ±%.3f m)", 100*b.WorstShare, 100*b.BestShare, b.AccuracyM))
		}
	}
	if d.UncoveredM2 > 0.5 {
		f.Warnings = append(f.Warnings, fmt.Sprintf("%.0f m² of the area are not covered by both surveys and are not in any figure", d.UncoveredM2))
	}
	return Levels{Figures: f, Sentence: strings.Join(words, " "), Caution: catalogue.Caution("levels")}, nil
}

// FiguresOf writes a comparison as the API and the command line print it.
func FiguresOf(d surface.Difference, warnings []string) Figures {
	r := unit.Round9
	f := Figures{
		Fill: r(d.FillM3), Cut: r(d.CutM3), Net: r(d.NetM3), FillArea: r(d.FillAreaM2), CutArea: r(d.CutAreaM2), PlanArea: r(d.PlanAreaM2),
		Above: r(d.MaxAboveM), Below: r(d.MaxBelowM), Mean: r(d.MeanM), RMS: r(d.RMSM), Warnings: append([]string{}, warnings...),
	}
	if b := d.Band; b != nil {
		within, share, doubtful := r(b.WithinAreaM2), r(b.WithinShare), r(b.DoubtfulAreaM2)
		f.Within, f.Share, f.Doubtful = &within, &share, &doubtful
	}
	return f
}

func rasterOf(r *app.Raster) Raster {
	out := Raster{Origin: [2]float64{r.OriginE, r.OriginN}, Cell: r.CellM, Cols: r.Cols, Rows: r.Rows, Values: make([]*float64, len(r.Values)), Edges: r.Edges, Outline: [][][2]float64{}}
	for i, v := range r.Values {
		out.Values[i] = known(v, 1e3)
	}
	for _, ring := range r.Outline {
		line := [][2]float64{}
		for _, p := range ring {
			line = append(line, [2]float64{p[0], p[1]})
		}
		out.Outline = append(out.Outline, line)
	}
	return out
}

func sectionOf(c *app.Cut) Section {
	out := Section{Line: [][2]float64{}, Points: []SectionPoint{}}
	for _, p := range c.Line {
		out.Line = append(out.Line, [2]float64{p[0], p[1]})
	}
	for _, p := range c.Points {
		out.Points = append(out.Points, SectionPoint{p.DistanceM, p.E, p.N, known(p.Before, 1e4), known(p.After, 1e4)})
	}
	return out
}

// known returns a value rounded for a picture, nil where there is none.
func known(v, scale float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	v = math.Round(v*scale) / scale
	return &v
}
