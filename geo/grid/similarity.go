package grid

import (
	"errors"
	"fmt"
	"math"
)

// Pair is a control point known in both grids, metres.
type Pair struct {
	Name         string
	SiteE, SiteN float64
	GridE, GridN float64
}

// Residual is what is left of a control point after the fit: given minus
// computed, metres.
type Residual struct {
	Name  string
	E, N  float64
	RMSIf float64 // rms of the fit without this point, metres; NaN with fewer than four points
}

// Similarity turns site grid into national grid:
// E = A x - B y + TX, N = B x + A y + TY.
type Similarity struct {
	A, B, TX, TY float64
	ScalePPM     float64 // (scale - 1) in parts per million; site grids on the ground show about -400 in Great Britain
	RotationDeg  float64 // anticlockwise
	Residuals    []Residual
	RMSM         float64 // root of the sum of squared residuals over the number of points
	UnitM        float64 // standard error of unit weight; 0 without redundancy
	Checked      bool    // three points or more: the fit could have failed
	HeldScale    bool
}

// Errors of FitSimilarity.
var (
	ErrFewControlPoints  = errors.New("at least two control points are needed")
	ErrSameControlPoints = errors.New("the control points are all at one place")
)

// FitSimilarity fits a site grid to a national one by least squares, with
// equal weights. holdScale keeps the scale at 1. Two points fit exactly and
// prove nothing: Checked says so.
func FitSimilarity(pairs []Pair, holdScale bool) (Similarity, error) {
	s, err := fit(pairs, holdScale)
	if err != nil {
		return s, err
	}
	for i := range s.Residuals {
		s.Residuals[i].RMSIf = math.NaN()
		if len(pairs) < 4 {
			continue
		}
		rest := append(append([]Pair(nil), pairs[:i]...), pairs[i+1:]...)
		if without, err := fit(rest, holdScale); err == nil {
			s.Residuals[i].RMSIf = without.RMSM
		}
	}
	return s, nil
}

func fit(pairs []Pair, holdScale bool) (Similarity, error) {
	n := float64(len(pairs))
	if len(pairs) < 2 {
		return Similarity{}, ErrFewControlPoints
	}
	var cx, cy, ce, cn float64
	for _, p := range pairs {
		for _, v := range [4]float64{p.SiteE, p.SiteN, p.GridE, p.GridN} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return Similarity{}, fmt.Errorf("control point %s: %v is not a coordinate", p.Name, v)
			}
		}
		cx, cy, ce, cn = cx+p.SiteE/n, cy+p.SiteN/n, ce+p.GridE/n, cn+p.GridN/n
	}
	var uu, uv, cross float64
	for _, p := range pairs {
		x, y, e, nn := p.SiteE-cx, p.SiteN-cy, p.GridE-ce, p.GridN-cn
		uu += x*x + y*y
		uv += x*e + y*nn
		cross += x*nn - y*e
	}
	if uu < 1e-12 || math.Hypot(uv, cross) < 1e-12 {
		return Similarity{}, ErrSameControlPoints
	}
	s := Similarity{A: uv / uu, B: cross / uu, Checked: len(pairs) > 2, HeldScale: holdScale}
	if holdScale {
		k := math.Hypot(s.A, s.B)
		s.A, s.B = s.A/k, s.B/k
	}
	s.TX, s.TY = ce-s.A*cx+s.B*cy, cn-s.B*cx-s.A*cy
	s.ScalePPM = (math.Hypot(s.A, s.B) - 1) * 1e6
	s.RotationDeg = math.Atan2(s.B, s.A) * 180 / math.Pi
	sum := 0.0
	for _, p := range pairs {
		e, nn := s.ToGrid(p.SiteE, p.SiteN)
		r := Residual{Name: p.Name, E: p.GridE - e, N: p.GridN - nn}
		sum += r.E*r.E + r.N*r.N
		s.Residuals = append(s.Residuals, r)
	}
	s.RMSM = math.Sqrt(sum / n)
	free := 2*len(pairs) - 4
	if holdScale {
		free++
	}
	if free > 0 {
		s.UnitM = math.Sqrt(sum / float64(free))
	}
	return s, nil
}

// ToGrid turns site metres into grid metres.
func (s Similarity) ToGrid(x, y float64) (e, n float64) {
	return s.A*x - s.B*y + s.TX, s.B*x + s.A*y + s.TY
}

// ToSite turns grid metres into site metres.
func (s Similarity) ToSite(e, n float64) (x, y float64) {
	k := s.A*s.A + s.B*s.B
	e, n = e-s.TX, n-s.TY
	return (s.A*e + s.B*n) / k, (s.A*n - s.B*e) / k
}

// ControlLimitM is the rms above which a fit is not to be used before a named
// person has accepted it. Our own default, common practice.
const ControlLimitM = 0.050

// Suspect is the control point whose leaving out betters the fit beyond doubt.
type Suspect struct {
	Name       string
	RMSWithout float64 // metres
}

// Factors of Suspect: without the point the rms has to fall to a third, and no
// other point may do as well within twice that. Our own choice.
const (
	suspectGain   = 3.0
	suspectUnique = 2.0
)

// Suspect looks for one blunder among four points or more. The largest residual
// is no sure sign: a blunder smears over its neighbours. ok is false when no
// point stands out.
func (s Similarity) Suspect() (Suspect, bool) {
	best, second := math.Inf(1), math.Inf(1)
	name := ""
	for _, r := range s.Residuals {
		switch {
		case math.IsNaN(r.RMSIf):
		case r.RMSIf < best:
			best, second, name = r.RMSIf, best, r.Name
		case r.RMSIf < second:
			second = r.RMSIf
		}
	}
	if name == "" || best*suspectGain > s.RMSM || best*suspectUnique > second {
		return Suspect{}, false
	}
	return Suspect{name, best}, true
}

// Acceptable says why a fit has to be accepted by a named person before it is
// used, nil when it may be used as it is.
func (s Similarity) Acceptable() error {
	switch {
	case !s.Checked:
		return fmt.Errorf("two control points fit exactly and check nothing: add a third")
	case s.RMSM > ControlLimitM:
		text := fmt.Sprintf("the control points fit to %.0f mm (rms), more than %.0f mm", s.RMSM*1000, ControlLimitM*1000)
		if p, ok := s.Suspect(); ok {
			text += fmt.Sprintf("; without %s to %.0f mm: check that point", p.Name, p.RMSWithout*1000)
		}
		return errors.New(text)
	}
	return nil
}
