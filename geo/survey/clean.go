package survey

import (
	"fmt"
	"math"
	"slices"
)

// ConflictRule says what to do with two levels at one place.
type ConflictRule string

// Conflict rules. Refusing is the default: a person has to choose.
const (
	RefuseConflicts ConflictRule = ""
	KeepFirstRow    ConflictRule = "first"
	KeepLastRow     ConflictRule = "last"
	RejectBoth      ConflictRule = "reject"
)

// CleanOptions steer Clean. Zero values take the defaults named, our own,
// common practice for surveys to the centimetre.
type CleanOptions struct {
	MergeM    float64 // points within this plan distance are one place; default 0.001 m
	LevelM    float64 // levels at one place may differ by this; default 0.005 m
	Conflicts ConflictRule
	LeaveOut  []int // rows a person has decided to leave out
	NoFlags   bool  // skip the search for spikes, outliers and swapped axes
}

func (o CleanOptions) mergeM() float64 {
	if o.MergeM > 0 {
		return o.MergeM
	}
	return 0.001
}

func (o CleanOptions) levelM() float64 {
	if o.LevelM > 0 {
		return o.LevelM
	}
	return 0.005
}

// ConflictError lists the places with two levels when no rule was given.
type ConflictError struct {
	Name  string
	Found []Warning
}

func (e *ConflictError) Error() string {
	s := fmt.Sprintf("%s: %d places have two levels; correct the file or choose to keep the first row, the last row or neither", e.Name, len(e.Found))
	for _, w := range e.Found {
		s += fmt.Sprintf("\n  line %d: %s", w.Row, w.Text)
	}
	return s
}

// Clean returns the points of a survey that make its surface, and a decision
// for every row it found something about. Points at one place are reduced to
// one, never averaged: of those that agree, the first by easting, northing and
// level stays, so that the outcome does not depend on the order of rows. Two
// levels at one place are refused with a *ConflictError unless a rule is
// given. Spikes, outliers and swapped axes are flagged and stay.
func Clean(s *Survey, opts CleanOptions) ([]Point, []Warning, error) {
	c := &cleaner{opts: opts}
	for _, p := range s.Points {
		if slices.Contains(opts.LeaveOut, p.Row) && p.Row != 0 {
			c.found = append(c.found, Warning{Row: p.Row, Point: p.Name, Kind: KindNote, Action: Rejected, Text: "left out by decision"})
			continue
		}
		c.points = append(c.points, p)
	}
	c.names()
	kept, err := c.places(s.Name)
	if err != nil {
		return nil, nil, err
	}
	if !opts.NoFlags && s.Grid == nil {
		c.flag(kept, s.Breaklines)
	}
	sortWarnings(c.found)
	return kept, c.found, nil
}

// cleaner is one run of Clean.
type cleaner struct {
	opts   CleanOptions
	points []Point
	found  []Warning
}

func sortWarnings(w []Warning) {
	slices.SortStableFunc(w, func(a, b Warning) int { return a.Row - b.Row })
}

// names flags point names that stand for different places.
func (c *cleaner) names() {
	first := make(map[string]int, len(c.points))
	for i, p := range c.points {
		if p.Name == "" {
			continue
		}
		j, seen := first[p.Name]
		if !seen {
			first[p.Name] = i
			continue
		}
		if q := c.points[j]; q.E != p.E || q.N != p.N {
			c.found = append(c.found, Warning{Row: p.Row, Other: q.Row, Point: p.Name, Kind: KindDuplicateName, Action: Flagged,
				Text: fmt.Sprintf("the name %s was used in line %d for another place, %.3f m away", p.Name, q.Row, math.Hypot(p.E-q.E, p.N-q.N))})
		}
	}
}

// places leaves one point for each place.
func (c *cleaner) places(name string) ([]Point, error) {
	order := make([]int32, len(c.points))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int { return comparePoints(&c.points[a], &c.points[b]) })
	near := newPlaceIndex(c.opts.mergeM(), len(c.points))
	gone := make([]bool, len(c.points))
	var conflicts []Warning
	for _, i := range order {
		p := &c.points[i]
		j := near.find(c.points, p)
		if j < 0 {
			near.add(c.points, i)
			continue
		}
		q := &c.points[j]
		if math.Abs(p.Level-q.Level) > c.opts.levelM() {
			conflicts = append(conflicts, conflict(p, q))
			c.settle(i, j, gone, near)
			continue
		}
		gone[i] = true
		c.merged(p, q)
	}
	if len(conflicts) > 0 && c.opts.Conflicts == RefuseConflicts {
		sortWarnings(conflicts)
		return nil, &ConflictError{name, conflicts}
	}
	c.found = append(c.found, conflicts...)
	kept := make([]Point, 0, len(c.points))
	for i, p := range c.points {
		if !gone[i] {
			kept = append(kept, p)
		}
	}
	return kept, nil
}

// merged reports a point that gives way to one at the same place.
func (c *cleaner) merged(p, q *Point) {
	w := Warning{Row: p.Row, Other: q.Row, Point: p.Name, Kind: KindNearDuplicate, Action: Merged}
	if p.E == q.E && p.N == q.N && p.Level == q.Level {
		w.Kind, w.Action, w.Text = KindDuplicate, Dropped, fmt.Sprintf("exact copy of line %d", q.Row)
	} else {
		w.Text = fmt.Sprintf("%.1f mm from line %d in plan, levels %.3f m and %.3f m; the values of line %d are kept",
			1000*math.Hypot(p.E-q.E, p.N-q.N), q.Row, p.Level, q.Level, q.Row)
	}
	c.found = append(c.found, w)
}

func conflict(p, q *Point) Warning {
	if p.Row < q.Row {
		p, q = q, p
	}
	return Warning{Row: p.Row, Other: q.Row, Point: p.Name, Kind: KindTwoLevels, Action: Conflict,
		Text: fmt.Sprintf("level %.3f m, but line %d has %.3f m at the same place, E %.3f N %.3f", p.Level, q.Row, q.Level, p.E, p.N)}
}

// settle applies the conflict rule to a newcomer i and the holder j of a place.
func (c *cleaner) settle(i, j int32, gone []bool, near *placeIndex) {
	later, earlier := i, j
	if c.points[i].Row < c.points[j].Row {
		later, earlier = j, i
	}
	switch c.opts.Conflicts {
	case KeepFirstRow:
		gone[later] = true
		near.replace(later, earlier)
	case KeepLastRow:
		gone[earlier] = true
		near.replace(earlier, later)
	default:
		gone[i], gone[j] = true, true // the place stays held, so that a third level is a conflict too
	}
}

func comparePoints(a, b *Point) int {
	for _, d := range [3]float64{a.E - b.E, a.N - b.N, a.Level - b.Level} {
		switch {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
	}
	return 0
}
