package survey

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Keys of GeoTIFF. Source: OGC 19-008r4, GeoTIFF 1.1, clause 7.
const (
	geoKeyModelType     = 1024
	geoKeyRasterType    = 1025
	geoKeyCitation      = 1026
	geoKeyGeographic    = 2048
	geoKeyProjected     = 3072
	geoKeyLinearUnit    = 3076
	geoKeyVertical      = 4096
	geoKeyVerticalUnit  = 4099
	modelGeographic     = 2
	rasterPixelIsPoint  = 2
	epsgMetre           = 9001
	epsgFoot            = 9002
	epsgUSSurveyFoot    = 9003
	userDefined         = 32767
	geoKeysInTag        = 0
	geoKeyEntryUint16s  = 4
	geoDirectoryVersion = 1
)

// geoKeys is a key directory, as in GeoTIFF and LAS.
type geoKeys struct {
	short map[uint16]uint16
	text  map[uint16]string
}

// readGeoKeys reads a directory of keys; ascii holds the texts it points to.
func readGeoKeys(v []uint64, ascii string) geoKeys {
	k := geoKeys{map[uint16]uint16{}, map[uint16]string{}}
	if len(v) < geoKeyEntryUint16s || v[0] != geoDirectoryVersion {
		return k
	}
	for e := range slices.Chunk(v[geoKeyEntryUint16s:], geoKeyEntryUint16s) {
		if len(e) < geoKeyEntryUint16s || len(k.short)+len(k.text) >= int(v[3]) {
			break
		}
		switch id := uint16(e[0]); e[1] {
		case geoKeysInTag:
			k.short[id] = uint16(e[3])
		case tagGeoASCII:
			if from, n := e[3], e[2]; from <= uint64(len(ascii)) && n <= uint64(len(ascii))-from {
				k.text[id] = strings.TrimRight(ascii[from:from+n], "|\x00 ")
			}
		}
	}
	return k
}

// system names the reference system as the keys do.
func (k geoKeys) system() string {
	var out []string
	for _, key := range []uint16{geoKeyProjected, geoKeyGeographic, geoKeyVertical} {
		if v := k.short[key]; v != 0 && v != userDefined && (key != geoKeyGeographic || k.short[geoKeyProjected] == 0) {
			out = append(out, "EPSG:"+strconv.Itoa(int(v)))
		}
	}
	if t := k.text[geoKeyCitation]; t != "" {
		out = append(out, t)
	}
	return strings.Join(out, ", ")
}

// unit returns the unit of a key, empty when it names none.
func (k geoKeys) unit(key uint16) (Unit, error) {
	switch v := k.short[key]; v {
	case 0, userDefined:
		return "", nil
	case epsgMetre:
		return Metre, nil
	case epsgFoot:
		return InternationalFoot, nil
	case epsgUSSurveyFoot:
		return USSurveyFoot, nil
	default:
		return "", fmt.Errorf("the unit EPSG:%d is not known; known are metre, foot and US survey foot", v)
	}
}

// units returns the unit of plan and levels, which have to be one.
func (k geoKeys) units() (Unit, error) {
	plan, err := k.unit(geoKeyLinearUnit)
	if err != nil {
		return "", err
	}
	level, err := k.unit(geoKeyVerticalUnit)
	if err != nil {
		return "", err
	}
	if plan != "" && level != "" && plan != level {
		return "", fmt.Errorf("plan in %s, levels in %s: convert the file to one unit", plan, level)
	}
	return Unit(firstOf(string(plan), string(level))), nil
}

func (k geoKeys) geographic() bool { return k.short[geoKeyModelType] == modelGeographic }

// readGeoTIFF reads a terrain model of one band: TIFF and BigTIFF in strips or
// tiles, plain, LZW, Deflate or PackBits, with predictor, of 16- or 32-bit
// whole numbers or 32- or 64-bit floating point numbers. Source: TIFF 6.0;
// OGC 19-008r4, GeoTIFF 1.1.
func readGeoTIFF(data []byte, name string, opts Options) (*Survey, error) {
	f, err := openTIFF(data, name)
	if err != nil {
		return nil, err
	}
	l, err := f.layout()
	if err != nil {
		return nil, err
	}
	keys := readGeoKeys(f.whole(tagGeoKeys), string(f.tags[tagGeoASCII].value))
	grid, err := f.frame(l, keys)
	if err != nil {
		return nil, err
	}
	values, err := f.values(l)
	if err != nil {
		return nil, err
	}
	mark := math.NaN()
	if text := f.text(tagNoData); text != "" {
		if mark, err = strconv.ParseFloat(strings.TrimSpace(text), 64); err != nil {
			return nil, f.fault("the no-data value %q is not a number", text)
		}
	}
	grid.Levels = make([]float64, len(values))
	for row := range grid.Rows {
		for col := range grid.Cols {
			v := values[row*grid.Cols+col]
			if isNoData(v, mark) || l.format == sampleFloat && noDataLevel(v) {
				v = math.NaN()
			}
			grid.Levels[(grid.Rows-1-row)*grid.Cols+col] = v
		}
	}
	s := &Survey{Name: name, Format: FormatGeoTIFF, System: keys.system(), Degrees: keys.geographic(), Grid: grid}
	stated, err := keys.units()
	if err != nil {
		return nil, f.fault("%v", err)
	}
	if s.Degrees {
		s.Unit = Metre
		s.note("the grid is in longitude and latitude: it can be looked at, but no area or volume can be taken from it; project it to the site's plane grid")
	} else if err := s.settleUnit(stated, opts.Unit); err != nil {
		return nil, err
	}
	metres, err := metresPer(s.Unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	grid.scale(metres)
	if metres != 1 {
		s.note("lengths converted from %s to metres", s.Unit)
	}
	if err := s.gridPoints(mark); err != nil {
		return nil, err
	}
	return s, nil
}

// frame places the cells: by tie point and pixel scale, or by a transformation
// without rotation. Where the raster is of areas, the tie point is a corner.
func (f *tiffFile) frame(l *tiffLayout, keys geoKeys) (*Grid, error) {
	scale, tie, m := f.reals(tagPixelScale), f.reals(tagTiePoint), f.reals(tagTransformation)
	var x0, y0, dx, dy float64 // of the upper left corner or centre
	switch {
	case len(scale) >= 2 && len(tie) >= 6:
		dx, dy = scale[0], scale[1]
		x0, y0 = tie[3]-tie[0]*dx, tie[4]+tie[1]*dy
	case len(m) >= 16:
		if m[1] != 0 || m[4] != 0 {
			return nil, f.fault("the grid is turned or sheared; export it with rows running east")
		}
		dx, dy, x0, y0 = m[0], -m[5], m[3], m[7]
	default:
		return nil, f.fault("it says nowhere on the ground it lies (no tie point or transformation); export it as a GeoTIFF")
	}
	if !(dx > 0) || !(dy > 0) || math.IsNaN(x0+y0) || math.IsInf(x0+y0+dx+dy, 0) {
		return nil, f.fault("cells of %v by %v at %v, %v: rows must run from north to south, with a size above 0", dx, dy, x0, y0)
	}
	if keys.short[geoKeyRasterType] != rasterPixelIsPoint {
		x0, y0 = x0+dx/2, y0-dy/2
	}
	if limit := 1e12; math.Abs(x0) > limit || math.Abs(y0) > limit || dx*float64(l.width) > limit || dy*float64(l.height) > limit {
		return nil, f.fault("the grid lies beyond %v m", limit)
	}
	return &Grid{Cols: l.width, Rows: l.height, E0: x0, N0: y0 - float64(float64(l.height-1)*dy), DE: dx, DN: dy}, nil
}
