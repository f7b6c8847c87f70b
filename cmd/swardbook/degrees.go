package main

import (
	"errors"
	"fmt"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// inDegrees names the usual cause where an area shares no ground with the
// surveys: longitude and latitude where metres of the grid are expected.
func inDegrees(err error, area *plan.Polygon) error {
	if area == nil || !errors.Is(err, surface.ErrNoOverlap) {
		return err
	}
	b := area.Rings().Bound()
	if b.Min[0] < -180 || b.Max[0] > 180 || b.Min[1] < -90 || b.Max[1] > 90 {
		return err
	}
	return fmt.Errorf("%w; the area looks like longitude and latitude in degrees: give it in metres of the surveys' grid", err)
}
