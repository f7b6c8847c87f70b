package demo

import (
	"fmt"
	"math"
	"strings"
)

// Areas that surveys and registers share.
var (
	restoredArea = box(2020, 5020, 2300, 5180)
	stripShaft   = box(2120, 5080, 2220, 5160)
	stripHaul    = box(2220, 5090, 2296, 5110)
	moundTop1    = box(2030, 5130, 2070, 5150)
	moundTop2    = box(2030, 5100, 2062, 5118)
	moundSub     = box(2030, 5050, 2075, 5076)
	spoilHeap    = box(2130, 5030, 2185, 5062)
)

// drawn is one feature of the plan.
type drawn struct {
	code, kind, label string
	at                []xy // one place, a line, or a ring when closed
	closed            bool
}

func area(code, kind, label string, r ring) drawn {
	return drawn{code, kind, label, append(append(ring{}, r...), r[0]), true}
}

func features() []drawn {
	one := func(code, kind, label string, e, n float64) drawn {
		return drawn{code, kind, label, []xy{{e, n}}, false}
	}
	fence := append(append(ring{}, box(2014, 5014, 2306, 5186)...), xy{2014, 5014})
	list := []drawn{
		area("RA1", "works area", "Land to be restored", restoredArea),
		area("SA1", "strip area", "Shaft platform", stripShaft),
		area("SA2", "strip area", "Haul route and compound", stripHaul),
		area("MT1", "stockpile", "Topsoil 1", moundTop1),
		area("MT2", "stockpile", "Topsoil 2", moundTop2),
		area("MS1", "stockpile", "Subsoil", moundSub),
		area("SP1", "stockpile", "Spoil", spoilHeap),
		area("HS1", "hardstanding", "Shaft hardstanding", box(2130, 5090, 2200, 5130)),
		{"HR1", "haul route", "Haul route", []xy{{2296, 5100}, {2240, 5100}, {2220, 5104}, {2196, 5108}}, false},
		one("GATE", "gate", "Site gate", 2296, 5100),
		one("SH1", "shaft", "Access shaft", 2160, 5120),
		one("GEN1", "generator position", "Standby generator", 2194, 5126),
		area("BD1", "bund", "Fuel bund", box(2186, 5120, 2190, 5124)),
		area("LG1", "lagoon", "Settling lagoon", box(2232, 5042, 2262, 5060)),
		one("OUT1", "discharge point", "Outlet to Lowe Sike", 2276, 5030),
		one("US1", "sampling point", "Stream above the outlet", 2236, 5010),
		one("DS1", "sampling point", "Stream below the outlet", 2322, 5006),
		{"WC1", "watercourse", "Lowe Sike", []xy{{1960, 5016}, {2080, 5012}, {2236, 5010}, {2276, 5008}, {2360, 5004}}, false},
		{"DI1", "ditch", "Cut-off ditch", []xy{{2024, 5172}, {2110, 5168}, {2216, 5170}}, false},
		{"FD1", "field drain", "Field drain", []xy{{2040, 5176}, {2150, 5110}, {2268, 5034}}, false},
		{"SF1", "silt fence", "Silt fence", []xy{{2120, 5026}, {2200, 5024}, {2290, 5026}}, false},
		one("PS1", "spring or private supply", "Spring of Lowe Farm", 1948, 5188),
		{"FN1", "fence", "Stock fence", fence, false},
		one("NSR1", "receptor", "Lowe Farm", 1880, 5232),
		one("NSR2", "receptor", "Sike Cottage", 2412, 5288),
		one("NM1", "monitoring point", "Noise at Lowe Farm", 1894, 5226),
		one("NM2", "monitoring point", "Noise at Sike Cottage", 2404, 5276),
		one("DM1", "monitoring point", "Dust at the western boundary", 2018, 5112),
		area("TP1", "tree protection area", "Two ash trees", octagon(xy{2284, 5150}, 9)),
		{"HDG1", "tree protection area", "Roadside hedge", []xy{{2302, 5060}, {2303, 5140}}, false},
		area("EX1", "exclusion area", "Ring bank", octagon(xy{2090, 5046}, 8)),
	}
	for i, p := range []xy{{2016, 5018}, {2302, 5020}, {2300, 5178}, {2018, 5176}} {
		list = append(list, one(fmt.Sprintf("C%d", i+1), "control point", fmt.Sprintf("Control point %d", i+1), p.e, p.n))
	}
	for i, p := range []xy{{2024, 5024}, {2294, 5116}, {2160, 5170}, {2050, 5092}} {
		list = append(list, one(fmt.Sprintf("PP%d", i+1), "photo point", fmt.Sprintf("Photo point %d", i+1), p.e, p.n))
	}
	return list
}

func octagon(middle xy, radius float64) ring {
	var r ring
	for i := range 8 {
		a := math.Pi * (float64(i) + 0.5) / 4
		r = append(r, xy{math.Round((middle.e+radius*math.Cos(a))*100) / 100, math.Round((middle.n+radius*math.Sin(a))*100) / 100})
	}
	return r
}

// drawing writes the site plan.
func (s *scene) drawing() error {
	var lines []string
	for _, f := range features() {
		lines = append(lines, f.geoJSON())
	}
	s.put("plan/2025-03-24.geojson", "{\"type\": \"FeatureCollection\", \"features\": [\n"+strings.Join(lines, ",\n")+"\n]}\n")
	s.put("plan/2025-03-24.yaml", "valid_from: 2025-03-24\ntitle: Plan as approved\ncoordinates: site grid\nrevision: A\n")
	return nil
}

func (f drawn) geoJSON() string {
	places := make([]string, len(f.at))
	for i, p := range f.at {
		places[i] = fmt.Sprintf("[%g, %g]", p.e, p.n)
	}
	shape, coordinates := "Point", places[0]
	switch {
	case f.closed:
		shape, coordinates = "Polygon", "[["+strings.Join(places, ", ")+"]]"
	case len(f.at) > 1:
		shape, coordinates = "LineString", "["+strings.Join(places, ", ")+"]"
	}
	return fmt.Sprintf(`{"type": "Feature", "properties": {"code": %q, "kind": %q, "label": %q}, "geometry": {"type": %q, "coordinates": %s}}`,
		f.code, f.kind, f.label, shape, coordinates)
}
