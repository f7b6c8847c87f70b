package grid

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// zoneTable lists national zones in transverse Mercator and Lambert conformal
// conic projection: their parameters, unit and area of use.
//
// Source: EPSG data set, as listed by projinfo of PROJ 9.1.1.
//
//go:embed zones.csv
var zoneTable string

// zoneDatum is how a zone's datum is reached from WGS 84.
type zoneDatum struct {
	ellipsoid Ellipsoid
	shift     *Helmert
	accuracyM float64
	way       string
}

// Source: EPSG operations 1641 and 1954 (1 m), 1777 (3 m); North America
// EPSG 1188 (4 m); all as listed by PROJ 9.1.1.
var zoneDatums = map[string]zoneDatum{
	"TM65":                               {AiryModified1849, &tm75ToWGS84, 1, "seven-parameter shift (EPSG 1641), good to about 1 m"},
	"Geodetic Datum of 1965":             {AiryModified1849, &tm75ToWGS84, 1, "seven-parameter shift (EPSG 1954), good to about 1 m"},
	"Deutsches Hauptdreiecksnetz":        {Bessel1841, &dhdnToWGS84, 3, "seven-parameter shift (EPSG 1777), good to about 3 m in western Germany, worse in the east"},
	"North American Datum 1983":          {GRS80, nil, 4, "NAD83 taken as WGS 84 (EPSG 1188): they lie up to 2 m apart"},
	"Reseau Geodesique Francais 1993 v1": {GRS80, nil, 1, sameDatum},
	"European Terrestrial Reference System 1989 ensemble": {GRS80, nil, 1, sameDatum},
}

var (
	tm75ToWGS84 = Helmert{482.5, -130.6, 564.6, -1.042, -0.214, -0.631, 8.15}
	dhdnToWGS84 = Helmert{598.1, 73.7, 418.2, 0.202, 0.045, -2.455, 6.7}
)

// zones are the rows of the table by EPSG code.
var zones = sync.OnceValue(func() map[int]System {
	out := map[int]System{}
	for i, line := range strings.Split(strings.TrimSpace(zoneTable), "\n") {
		if i == 0 {
			continue
		}
		s, err := zoneOf(strings.Split(line, ","))
		if err != nil {
			panic(fmt.Sprintf("zones.csv line %d: %v", i+1, err)) // part of the program: a test reads it
		}
		out[s.EPSG] = s
	}
	return out
})

// zoneOf reads one row.
func zoneOf(f []string) (System, error) {
	if len(f) != 17 {
		return System{}, fmt.Errorf("%d columns", len(f))
	}
	var v [17]float64
	for i := range f {
		if i == 1 || i == 2 || i == 3 || i == 4 || i == 12 || f[i] == "" {
			continue
		}
		var err error
		if v[i], err = strconv.ParseFloat(f[i], 64); err != nil {
			return System{}, err
		}
	}
	d, known := zoneDatums[f[4]]
	if !known {
		return System{}, fmt.Errorf("datum %q", f[4])
	}
	s := System{EPSG: int(v[0]), Name: f[1], AccuracyM: d.accuracyM, Way: d.way, shift: d.shift, bounds: &degrees{v[13], v[14], v[15], v[16]},
		minE: math.Inf(-1), maxE: math.Inf(1), minN: math.Inf(-1), maxN: math.Inf(1), farthest: 90}
	metres := map[string]float64{"m": 1, "us-ft": 1200.0 / 3937, "ft": 0.3048}[f[12]]
	if metres == 0 {
		return System{}, fmt.Errorf("unit %q", f[12])
	}
	if f[12] != "m" {
		s.OwnUnit, s.ownUnitM = map[string]string{"us-ft": "US survey ft", "ft": "ft"}[f[12]], metres
	}
	fe, fn := v[10]*metres, v[11]*metres
	switch f[2] {
	case "tm":
		s.projection = NewTransverseMercator(d.ellipsoid, v[5], v[6], v[7], fe, fn)
	case "lcc2":
		s.projection = NewLambert2SP(d.ellipsoid, v[5], v[6], v[8], v[9], fe, fn)
	case "lcc1":
		s.projection = NewLambert1SP(d.ellipsoid, v[5], v[6], v[7], fe, fn)
	default:
		return System{}, fmt.Errorf("method %q", f[2])
	}
	return s, nil
}

// Codes returns every EPSG code that ByEPSG knows, in order.
func Codes() []int {
	out := []int{2157, 3857, 27700}
	for z := 1; z <= 60; z++ {
		out = append(out, 32600+z, 32700+z)
	}
	for z := 28; z <= 38; z++ {
		out = append(out, 25800+z)
	}
	for c := range zones() {
		out = append(out, c)
	}
	slices.Sort(out)
	return out
}
