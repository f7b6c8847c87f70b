package grid

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"strings"
)

// ShiftGrid is a national grid of shifts of latitude and longitude between two
// datums, read from a file its user supplies. Within a cell the shift is
// bilinear.
type ShiftGrid struct {
	Name      string
	SHA256    string  // of the file, to be shown beside every result
	From, To  string  // the datums as the file names them
	AccuracyM float64 // largest accuracy the file states for its nodes, metres; 0 when it states none
	parts     []shiftPart
}

// shiftPart is one grid of the file; finer ones lie inside others. Angles are
// in seconds of arc, longitudes counted east.
type shiftPart struct {
	name             string
	south, north     float64
	west, east       float64
	stepLat, stepLon float64
	rows, cols       int
	lat, lon         []float32 // shifts, row by row from the south, each from the west
}

// Limits of a file.
const (
	maxShiftBytes = 512 << 20
	maxShiftParts = 2000
)

// ReadShiftGrid reads a binary file of the NTv2 form, of either byte order.
//
// Source: the form's published description (Geodetic Survey Division, Natural
// Resources Canada, NTv2 developer's guide), from memory; checked against PROJ
// 9.1.1 reading the same file.
func ReadShiftGrid(r io.Reader, name string) (*ShiftGrid, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxShiftBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	fault := func(format string, args ...any) error {
		return fmt.Errorf("%s: not a shift grid of the NTv2 form: %s", name, fmt.Sprintf(format, args...))
	}
	if len(data) > maxShiftBytes {
		return nil, fault("larger than %d bytes", maxShiftBytes)
	}
	if len(data) < 11*16 || string(data[:8]) != "NUM_OREC" {
		return nil, fault("it does not begin with NUM_OREC")
	}
	var order binary.ByteOrder = binary.LittleEndian
	if order.Uint32(data[8:]) != 11 {
		order = binary.BigEndian
	}
	if order.Uint32(data[8:]) != 11 {
		return nil, fault("%d records in its head, where there are 11", order.Uint32(data[8:]))
	}
	text := func(at int) string { return strings.TrimSpace(string(bytes.TrimRight(data[at+8:at+16], "\x00"))) }
	if unit := text(3 * 16); unit != "SECONDS" {
		return nil, fault("angles in %q, where SECONDS are read", unit)
	}
	sum := sha256.Sum256(data)
	g := &ShiftGrid{Name: name, SHA256: hex.EncodeToString(sum[:]), From: text(5 * 16), To: text(6 * 16)}
	n := int(order.Uint32(data[2*16+8:]))
	if n < 1 || n > maxShiftParts {
		return nil, fault("%d grids", n)
	}
	at := 11 * 16
	for i := range n {
		part, size, err := readShiftPart(data[at:], order, &g.AccuracyM)
		if err != nil {
			return nil, fault("grid %d of %d: %v", i+1, n, err)
		}
		g.parts, at = append(g.parts, part), at+size
	}
	return g, nil
}

// readShiftPart reads one grid and returns how many bytes it takes.
func readShiftPart(data []byte, order binary.ByteOrder, accuracy *float64) (shiftPart, int, error) {
	if len(data) < 11*16 || string(data[:8]) != "SUB_NAME" {
		return shiftPart{}, 0, fmt.Errorf("it does not begin with SUB_NAME; was the file cut off?")
	}
	real := func(i int) float64 { return math.Float64frombits(order.Uint64(data[i*16+8:])) }
	// Longitudes are counted west in the file.
	p := shiftPart{name: strings.TrimSpace(string(data[8:16])), south: real(4), north: real(5), east: -real(6), west: -real(7), stepLat: real(8), stepLon: real(9)}
	count := int(order.Uint32(data[10*16+8:]))
	if !(p.stepLat > 0) || !(p.stepLon > 0) || !(p.north > p.south) || !(p.east > p.west) || math.Abs(p.north) > 324000 || math.Abs(p.south) > 324000 || math.Abs(p.west) > 1296000 || math.Abs(p.east) > 1296000 {
		return p, 0, fmt.Errorf("latitude %v to %v by %v, longitude %v to %v by %v seconds cannot be", p.south, p.north, p.stepLat, p.west, p.east, p.stepLon)
	}
	rows, cols := math.Round((p.north-p.south)/p.stepLat)+1, math.Round((p.east-p.west)/p.stepLon)+1
	if rows*cols != float64(count) || count > len(data)/16 {
		return p, 0, fmt.Errorf("%v by %v nodes, but %d are promised and %d bytes are there; was the file cut off?", rows, cols, count, len(data))
	}
	p.rows, p.cols = int(rows), int(cols)
	size := (11 + count) * 16
	if len(data) < size {
		return p, 0, fmt.Errorf("%d nodes are promised, the file ends before; was it cut off?", count)
	}
	p.lat, p.lon = make([]float32, count), make([]float32, count)
	for i := range count {
		b := data[(11+i)*16:]
		number := func(k int) float32 { return math.Float32frombits(order.Uint32(b[4*k:])) }
		// Each row runs from east to west.
		to := i/p.cols*p.cols + p.cols - 1 - i%p.cols
		p.lat[to], p.lon[to] = number(0), -number(1)
		if v := p.lat[to] + p.lon[to]; v != v || math.Abs(float64(p.lat[to])) > 3600 || math.Abs(float64(p.lon[to])) > 3600 {
			return p, 0, fmt.Errorf("node %d has shifts %v and %v seconds", i+1, p.lat[to], p.lon[to])
		}
		for _, a := range [2]float64{float64(number(2)), float64(number(3))} {
			if a > *accuracy && a < 1000 {
				*accuracy = a
			}
		}
	}
	return p, size, nil
}

// at returns the shift in seconds at a place in seconds; ok is false outside.
func (p *shiftPart) at(lon, lat float64) (dLon, dLat float64, ok bool) {
	x, y := (lon-p.west)/p.stepLon, (lat-p.south)/p.stepLat
	const dust = 1e-9
	if !(x >= -dust && y >= -dust && x <= float64(p.cols-1)+dust && y <= float64(p.rows-1)+dust) || p.cols < 2 || p.rows < 2 {
		return 0, 0, false
	}
	i, j := min(max(int(x), 0), p.cols-2), min(max(int(y), 0), p.rows-2)
	fx, fy := x-float64(i), y-float64(j)
	k := j*p.cols + i
	mix := func(v []float32) float64 {
		south := float64(v[k])*(1-fx) + float64(v[k+1])*fx
		north := float64(v[k+p.cols])*(1-fx) + float64(v[k+p.cols+1])*fx
		return south*(1-fy) + north*fy
	}
	return mix(p.lon), mix(p.lat), true
}

// shift returns the shift of the finest grid that holds a place, seconds.
func (g *ShiftGrid) shift(lon, lat float64) (dLon, dLat float64, err error) {
	found, step := false, math.Inf(1)
	for i := range g.parts {
		p := &g.parts[i]
		if x, y, ok := p.at(lon*3600, lat*3600); ok && p.stepLat < step {
			dLon, dLat, found, step = x, y, true, p.stepLat
		}
	}
	if !found {
		return 0, 0, &AreaError{g.Name, fmt.Sprintf("longitude %.6f, latitude %.6f lies outside the shift grid", lon, lat)}
	}
	return dLon, dLat, nil
}

// Apply turns longitude and latitude in degrees from the datum the file starts
// from into the other.
func (g *ShiftGrid) Apply(lon, lat float64) (outLon, outLat float64, err error) {
	dLon, dLat, err := g.shift(lon, lat)
	if err != nil {
		return 0, 0, err
	}
	return lon + dLon/3600, lat + dLat/3600, nil
}

// Undo is the inverse of Apply, by iteration until nothing moves by more than
// a tenth of a micrometre.
func (g *ShiftGrid) Undo(lon, lat float64) (outLon, outLat float64, err error) {
	outLon, outLat = lon, lat
	for range 20 {
		x, y, err := g.Apply(outLon, outLat)
		if err != nil {
			return 0, 0, err
		}
		outLon, outLat = outLon+lon-x, outLat+lat-y
		if math.Abs(lon-x)+math.Abs(lat-y) < 1e-12 {
			return outLon, outLat, nil
		}
	}
	return 0, 0, fmt.Errorf("%s: the shift at longitude %.6f, latitude %.6f cannot be undone", g.Name, lon, lat)
}
