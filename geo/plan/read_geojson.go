package plan

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// maxBytes is the size of the largest plan file that is read.
const maxBytes = 256 << 20

// object is any GeoJSON object, not yet checked.
type object struct {
	Type        string            `json:"type"`
	Coordinates json.RawMessage   `json:"coordinates"`
	Geometries  []json.RawMessage `json:"geometries"`
	Geometry    json.RawMessage   `json:"geometry"`
	Features    []json.RawMessage `json:"features"`
	Properties  map[string]any    `json:"properties"`
	ID          any               `json:"id"`
	CRS         json.RawMessage   `json:"crs"`
}

// reader is one run over a plan file.
type reader struct {
	opts     Options
	faults   faults
	features []Feature
	levels   []float64
	anyLevel bool
	frame    Frame
	bound    orb.Bound
	fine     bool // some coordinate has more than four decimals
}

// ReadFeatures reads a GeoJSON feature collection, feature or bare geometry
// and checks it after RFC 7946. Every fault is listed in the error, an *Error.
// Rings come back closed, outer ones anticlockwise and holes clockwise,
// whichever way they were wound in the file.
func ReadFeatures(r io.Reader, opts Options) ([]Feature, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", opts.name(), err)
	}
	if len(data) > maxBytes {
		return nil, &Error{opts.name(), []Problem{{Text: fmt.Sprintf("larger than %d bytes", maxBytes), Remedy: "split the file"}}}
	}
	return readFeatures(data, opts)
}

func readFeatures(data []byte, opts Options) ([]Feature, error) {
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	rd := &reader{opts: opts, bound: orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}}
	var top object
	if err := json.Unmarshal(data, &top); err != nil {
		return nil, fmt.Errorf("%s: not GeoJSON: %w", opts.name(), err)
	}
	rd.frame = rd.crs(top.CRS)
	switch top.Type {
	case "FeatureCollection":
		for i, raw := range top.Features {
			rd.feature(raw, fmt.Sprintf("feature %d", i+1))
		}
		if len(top.Features) == 0 {
			rd.faults.add("", "the collection holds no features", "")
		}
	case "Feature":
		rd.feature(data, "feature")
	default:
		rd.keep(top, "", Feature{})
	}
	rd.settleFrame()
	if err := rd.faults.err(opts.name()); err != nil {
		return nil, err
	}
	for i := range rd.features {
		rd.features[i].Frame = rd.frame
	}
	return rd.features, nil
}

// crs reads the reference system member that RFC 7946 took away but many
// programs still write.
func (rd *reader) crs(raw json.RawMessage) Frame {
	if len(raw) == 0 || string(raw) == "null" {
		return FrameUnknown
	}
	var c struct {
		Properties struct{ Name string } `json:"properties"`
	}
	if err := json.Unmarshal(raw, &c); err != nil || c.Properties.Name == "" {
		rd.faults.add("crs", "the crs member names no system", "remove it, or say that the file is in the site grid")
		return FrameUnknown
	}
	name := strings.ToUpper(c.Properties.Name)
	degrees := strings.HasSuffix(name, "CRS84") || strings.HasSuffix(name, ":4326")
	switch {
	case degrees && rd.opts.Frame == FrameSite:
		rd.faults.add("crs", c.Properties.Name+" is longitude and latitude, where site grid metres are expected", "project the file to the site's grid")
		return FrameSite
	case degrees:
		return FrameWGS84
	case rd.opts.Frame == FrameSite:
		return FrameSite
	}
	rd.faults.add("crs", fmt.Sprintf("the crs member names %s, which RFC 7946 does not allow", c.Properties.Name),
		"if that is the site's grid, say so; else convert the file to WGS 84 longitude, latitude")
	return FrameSite
}

// settleFrame decides between degrees and metres, or refuses.
func (rd *reader) settleFrame() {
	b := rd.bound
	if len(rd.faults.list) > 0 || b.Min[0] > b.Max[0] {
		return
	}
	inDegrees := b.Min[0] >= -180 && b.Max[0] <= 180 && b.Min[1] >= -90 && b.Max[1] <= 90
	small := b.Max[0]-b.Min[0] < 1 && b.Max[1]-b.Min[1] < 1
	switch {
	case rd.opts.Frame == FrameSite && inDegrees && small && rd.fine:
		rd.faults.add("", fmt.Sprintf("coordinates about %.6f, %.6f look like longitude and latitude, where site grid metres are expected", b.Min[0], b.Min[1]),
			"project the file to the site's grid")
	case rd.opts.Frame == FrameSite:
		rd.frame = FrameSite
	case !inDegrees:
		rd.faults.add("", fmt.Sprintf("coordinates about %.3f, %.3f are not longitude and latitude in degrees", b.Max[0], b.Max[1]),
			"if they are metres of the site's grid, say so; else convert the file to WGS 84")
	default:
		rd.frame = FrameWGS84
		for _, f := range rd.features {
			if p, found := overDateLine(f.Geometry); found {
				rd.faults.add(f.Code, fmt.Sprintf("a side from %s jumps over more than 180 degrees of longitude", place(p)), "cut the shape at the antimeridian, as RFC 7946 asks")
			}
		}
	}
}

func (rd *reader) feature(raw json.RawMessage, where string) {
	var o object
	if err := json.Unmarshal(raw, &o); err != nil {
		rd.faults.add(where, err.Error(), "")
		return
	}
	if o.Type != "Feature" {
		rd.faults.add(where, fmt.Sprintf("type %q where a Feature is expected", o.Type), "")
		return
	}
	f := Feature{Properties: o.Properties, Code: property(o.Properties, "code"), Kind: property(o.Properties, "kind"), Label: property(o.Properties, "label")}
	if f.Code == "" && o.ID != nil {
		f.Code = fmt.Sprint(o.ID)
	}
	if f.Code != "" {
		where += " (" + f.Code + ")"
	}
	if len(o.Geometry) == 0 || string(o.Geometry) == "null" {
		rd.faults.add(where, "no geometry", "draw it or remove the feature")
		return
	}
	var g object
	if err := json.Unmarshal(o.Geometry, &g); err != nil {
		rd.faults.add(where, err.Error(), "")
		return
	}
	rd.keep(g, where, f)
}

// keep reads a geometry and files the feature.
func (rd *reader) keep(g object, where string, f Feature) {
	rd.levels, rd.anyLevel = nil, false
	before := len(rd.faults.list)
	f.Geometry = rd.geometry(g, where, 0)
	if f.Geometry == nil || len(rd.faults.list) > before {
		return
	}
	if rd.anyLevel {
		f.Levels = rd.levels
	}
	f.Notes = repeated(f.Geometry, nil)
	rd.features = append(rd.features, f)
}

// repeated notes corners that stand twice in a row.
func repeated(g orb.Geometry, notes []string) []string {
	line := func(what string, l []orb.Point) {
		for i := 1; i < len(l); i++ {
			if l[i] == l[i-1] {
				notes = append(notes, fmt.Sprintf("%s: positions %d and %d are the same, %s", what, i, i+1, place(l[i])))
			}
		}
	}
	eachLine(g, line)
	return notes
}

// overDateLine names the first side of a geometry in degrees that jumps more
// than half round the globe: it was meant to cross the antimeridian, where
// RFC 7946, 3.1.9, wants shapes to be cut.
func overDateLine(g orb.Geometry) (at orb.Point, found bool) {
	eachLine(g, func(_ string, l []orb.Point) {
		for i := 1; i < len(l) && !found; i++ {
			if math.Abs(l[i][0]-l[i-1][0]) > 180 {
				at, found = l[i-1], true
			}
		}
	})
	return at, found
}

// eachLine calls do for every line and ring of a geometry, with what it is.
func eachLine(g orb.Geometry, do func(what string, l []orb.Point)) {
	switch g := g.(type) {
	case orb.LineString:
		do("line", g)
	case orb.MultiLineString:
		for _, l := range g {
			do("line", l)
		}
	case orb.Polygon:
		for i, r := range g {
			do(ringName("", i), r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			eachLine(p, do)
		}
	case orb.Collection:
		for _, p := range g {
			eachLine(p, do)
		}
	}
}

func property(props map[string]any, key string) string {
	switch v := props[key].(type) {
	case string:
		return v
	case float64, bool:
		return fmt.Sprint(v)
	}
	return ""
}

// geometry reads one geometry; nil when it has faults.
func (rd *reader) geometry(g object, where string, depth int) orb.Geometry {
	at := func(what string) string { return strings.TrimPrefix(where+", "+what, ", ") }
	switch g.Type {
	case "Point":
		if p, ok := rd.position(g.Coordinates, where); ok {
			return p
		}
	case "MultiPoint":
		return orb.MultiPoint(rd.positions(g.Coordinates, where, 1))
	case "LineString":
		return orb.LineString(rd.positions(g.Coordinates, where, 2))
	case "MultiLineString":
		var out orb.MultiLineString
		for i, raw := range rd.list(g.Coordinates, where, 1) {
			out = append(out, rd.positions(raw, at(fmt.Sprintf("line %d", i+1)), 2))
		}
		return out
	case "Polygon":
		return rd.polygon(g.Coordinates, where)
	case "MultiPolygon":
		var out orb.MultiPolygon
		for i, raw := range rd.list(g.Coordinates, where, 1) {
			out = append(out, rd.polygon(raw, at(fmt.Sprintf("part %d", i+1))))
		}
		return out
	case "GeometryCollection":
		return rd.collection(g, at, depth)
	case "":
		rd.faults.add(where, "no geometry type", "")
	default:
		rd.faults.add(where, fmt.Sprintf("geometry type %q is not known", g.Type), "")
	}
	return nil
}

func (rd *reader) collection(g object, at func(string) string, depth int) orb.Geometry {
	if depth >= 4 {
		rd.faults.add(at("geometry collection"), "collections nested more than 4 deep", "flatten it")
		return nil
	}
	var out orb.Collection
	for i, raw := range g.Geometries {
		where := at(fmt.Sprintf("geometry %d", i+1))
		var o object
		if err := json.Unmarshal(raw, &o); err != nil {
			rd.faults.add(where, err.Error(), "")
			continue
		}
		if part := rd.geometry(o, where, depth+1); part != nil {
			out = append(out, part)
		}
	}
	if len(out) == 0 {
		rd.faults.add(at("geometry collection"), "empty", "")
	}
	return out
}

// list reads an array of at least the given length.
func (rd *reader) list(raw json.RawMessage, where string, least int) []json.RawMessage {
	var out []json.RawMessage
	if err := json.Unmarshal(raw, &out); err != nil || len(out) < least {
		rd.faults.add(where, fmt.Sprintf("coordinates must be an array of %d or more", least), "")
		return nil
	}
	return out
}

// position reads [x, y] or [x, y, level].
func (rd *reader) position(raw json.RawMessage, where string) (orb.Point, bool) {
	var nums []json.Number
	if err := json.Unmarshal(raw, &nums); err != nil || len(nums) < 2 || bytes.IndexByte(raw, '"') >= 0 {
		rd.faults.add(where, fmt.Sprintf("position %s is not two or three numbers", clip(raw)), "")
		return orb.Point{}, false
	}
	var v [3]float64
	v[2] = math.NaN()
	for i := range min(len(nums), 3) {
		x, err := nums[i].Float64()
		if err != nil || math.Abs(x) > 1e12 {
			rd.faults.add(where, fmt.Sprintf("%s is out of range", clip(raw)), "")
			return orb.Point{}, false
		}
		v[i] = x
		if dot := strings.IndexByte(string(nums[i]), '.'); i < 2 && dot >= 0 && len(nums[i])-dot-1 > 4 {
			rd.fine = true
		}
	}
	rd.levels = append(rd.levels, v[2])
	rd.anyLevel = rd.anyLevel || len(nums) > 2
	p := orb.Point{v[0], v[1]}
	rd.bound = rd.bound.Extend(p)
	return p, true
}

func clip(raw []byte) string { return string(raw[:min(len(raw), 60)]) }

func (rd *reader) positions(raw json.RawMessage, where string, least int) []orb.Point {
	var out []orb.Point
	for i, r := range rd.list(raw, where, least) {
		if p, ok := rd.position(r, fmt.Sprintf("%s, position %d", where, i+1)); ok {
			out = append(out, p)
		}
	}
	return out
}

// polygon reads rings and checks each by itself and all together.
func (rd *reader) polygon(raw json.RawMessage, where string) orb.Polygon {
	before := len(rd.faults.list)
	var out orb.Polygon
	for i, r := range rd.list(raw, where, 1) {
		out = append(out, rd.positions(r, ringName(where, i), 4))
	}
	if len(rd.faults.list) > before {
		return out
	}
	checkPolygon(out, where, &rd.faults)
	return out
}

func ringName(where string, i int) string {
	name := "outer ring"
	if i > 0 {
		name = fmt.Sprintf("hole %d", i)
	}
	return strings.TrimPrefix(where+", "+name, ", ")
}
