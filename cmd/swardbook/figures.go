package main

import "github.com/swardbook/swardbook/server/api"

// figures is what --json prints: those of the API, and what else was asked for.
type figures struct {
	api.Figures

	Uncertainty *uncertaintyFigures `json:"uncertainty,omitempty"`
	Zones       []zoneFigures       `json:"zones,omitempty"`
	Ponds       *pondFigures        `json:"ponds,omitempty"`
	Section     []sectionFigures    `json:"section,omitempty"`
}

// uncertaintyFigures is what --sigma asks for.
type uncertaintyFigures struct {
	Random    float64 `json:"random_m3"`
	Bias      float64 `json:"bias_m3"`
	Sigma     float64 `json:"standard_m3"`
	Expanded  float64 `json:"expanded_m3"` // coverage factor 2
	Effective float64 `json:"effective_points"`
	Detection float64 `json:"detection_limit_m"` // of a difference at one place, 95 %
}

// zoneFigures is one area of --zones.
type zoneFigures struct {
	Zone     string   `json:"zone"`
	Fill     float64  `json:"fill_m3"`
	Cut      float64  `json:"cut_m3"`
	Net      float64  `json:"net_m3"`
	PlanArea float64  `json:"plan_area_m2"`
	Share    *float64 `json:"within_share,omitempty"`
	Trouble  string   `json:"trouble,omitempty"`
}

// pondFigures is what --ponds asks for, deepest first.
type pondFigures struct {
	Before     []pondFigure `json:"before"`
	After      []pondFigure `json:"after"`
	FallBefore *fallFigures `json:"fall_before,omitempty"`
	FallAfter  *fallFigures `json:"fall_after"`
}

// fallFigures is how the ground falls on the whole.
type fallFigures struct {
	Mean      float64 `json:"mean_ratio"`
	Direction float64 `json:"direction_deg"` // clockwise from grid north
	Steepest  float64 `json:"steepest_ratio"`
}

type pondFigure struct {
	Spill  float64 `json:"spill_level_m"`
	Depth  float64 `json:"depth_m"`
	Area   float64 `json:"area_m2"`
	Volume float64 `json:"volume_m3"`
	E      float64 `json:"e_m"`
	N      float64 `json:"n_m"`
}

// sectionFigures is one place along --section.
type sectionFigures struct {
	Chainage float64  `json:"chainage_m"`
	E        float64  `json:"e_m"`
	N        float64  `json:"n_m"`
	Before   *float64 `json:"before_m"`
	After    *float64 `json:"after_m"`
}
