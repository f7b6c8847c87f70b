package survey

import (
	"encoding/json"
	"fmt"
	"strconv"
)

// lineFile is one run over a GeoJSON file of lines with levels. Coordinates
// are site grid metres; the third number of a position is its level.
type lineFile struct {
	name string
	out  []Breakline
}

// geometry is any GeoJSON object, as far as lines need it.
type geometry struct {
	Type        string
	Coordinates json.RawMessage
	Geometries  []json.RawMessage
	Geometry    json.RawMessage
	Features    []json.RawMessage
}

// geoJSONLines reads LineStrings and MultiLineStrings.
func geoJSONLines(data []byte, name string) ([]Breakline, error) {
	f := &lineFile{name: name}
	if err := f.walk(data, 0); err != nil {
		return nil, err
	}
	return f.out, nil
}

func (f *lineFile) walk(raw json.RawMessage, depth int) error {
	var g geometry
	if err := json.Unmarshal(raw, &g); err != nil {
		return fmt.Errorf("%s: %w", f.name, err)
	}
	if depth > 8 {
		return fileErr(f.name, ErrFormat, "geometries nested more than 8 deep")
	}
	var lines [][][]float64
	switch g.Type {
	case "FeatureCollection", "GeometryCollection":
		for _, part := range append(g.Features, g.Geometries...) {
			if err := f.walk(part, depth+1); err != nil {
				return err
			}
		}
		return nil
	case "Feature":
		return f.walk(g.Geometry, depth+1)
	case "LineString":
		lines = make([][][]float64, 1)
		if err := json.Unmarshal(g.Coordinates, &lines[0]); err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
	case "MultiLineString":
		if err := json.Unmarshal(g.Coordinates, &lines); err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
	default:
		return fileErr(f.name, ErrFormat, "a %q is not a breakline; give LineString or MultiLineString", g.Type)
	}
	for _, l := range lines {
		if err := f.add(l); err != nil {
			return err
		}
	}
	return nil
}

func (f *lineFile) add(line [][]float64) error {
	l := Breakline{Name: "line " + strconv.Itoa(len(f.out)+1)}
	for i, p := range line {
		if len(p) < 3 {
			return fileErr(f.name, ErrFormat, "%s, corner %d has no level; give each position as [easting, northing, level]", l.Name, i+1)
		}
		l.Vertices = append(l.Vertices, Vertex{E: p[0], N: p[1], Level: p[2]})
	}
	if len(l.Vertices) < 2 {
		return fileErr(f.name, ErrFormat, "%s has fewer than two corners", l.Name)
	}
	f.out = append(f.out, l)
	return nil
}
