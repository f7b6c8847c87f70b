package weather

import (
	"errors"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Wind is one reading of speed and direction of the same time.
type Wind struct {
	Speed     float64 // m/s
	Direction float64 // degrees that it comes from, clockwise from north
	Weight    float64 // how long it stands for, in any one unit
}

// Rose is how much of the time the wind came from where, and how strong.
type Rose struct {
	Sectors int
	Bounds  []float64   // m/s: the class k goes from Bounds[k] to below Bounds[k+1], the last up
	Share   [][]float64 // of the time: sector, then class; sector 0 is about north
	Calm    float64     // share of the time below the calm speed; it has no direction
	Counted float64     // weight of all readings
	// Mean direction by vectors, degrees, and how steady it is from 0 to 1: with less
	// than a hundredth there is none.
	Mean   float64
	Steady float64
}

var errRose = errors.New("a rose needs 8, 12 or 16 sectors, a calm speed not below 0, and bounds that rise from it")

// RoseOf counts winds. A direction on the bound of two sectors belongs to the next
// one clockwise. It fails where nothing counts.
func RoseOf(winds []Wind, sectors int, calm float64, bounds []float64) (*Rose, error) {
	if sectors != 8 && sectors != 12 && sectors != 16 || calm < 0 || len(bounds) == 0 || bounds[0] != calm {
		return nil, errRose
	}
	for k := 1; k < len(bounds); k++ {
		if bounds[k] <= bounds[k-1] {
			return nil, errRose
		}
	}
	r := &Rose{Sectors: sectors, Bounds: bounds, Share: make([][]float64, sectors)}
	for i := range r.Share {
		r.Share[i] = make([]float64, len(bounds))
	}
	width := 360 / float64(sectors)
	var north, east, moving float64
	for _, w := range winds {
		if !(w.Weight > 0) || !(w.Speed >= 0) || math.IsInf(w.Speed, 0) {
			continue
		}
		if w.Speed >= calm && (math.IsNaN(w.Direction) || math.IsInf(w.Direction, 0)) {
			continue // it blew, and nobody knows from where
		}
		r.Counted += w.Weight
		if w.Speed < calm {
			r.Calm += w.Weight
			continue
		}
		direction := math.Mod(math.Mod(w.Direction, 360)+360, 360)
		sector := int(math.Floor((direction+width/2)/width)) % sectors
		class := len(bounds) - 1
		for class > 0 && w.Speed < bounds[class] {
			class--
		}
		r.Share[sector][class] += w.Weight
		rad := direction * math.Pi / 180
		north += float64(w.Weight * math.Cos(rad))
		east += float64(w.Weight * math.Sin(rad))
		moving += w.Weight
	}
	if r.Counted == 0 {
		return nil, errors.New("no reading of speed and direction counts in that time")
	}
	r.Calm = unit.Round9(r.Calm / r.Counted)
	for i := range r.Share {
		for k := range r.Share[i] {
			r.Share[i][k] = unit.Round9(r.Share[i][k] / r.Counted)
		}
	}
	if moving > 0 {
		r.Steady = unit.Round9(math.Hypot(north, east) / moving)
		r.Mean = unit.Round9(math.Mod(math.Atan2(east, north)*180/math.Pi+360, 360))
	}
	return r, nil
}
