package judge

import (
	"fmt"
	"io"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/project"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/grid"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

// rejection takes readings of a channel out.
type rejection struct {
	from, to time.Time
	mark     series.Mark
	entry    *book.Entry
}

// rejectionMarks gives the words of a rejection their mark.
var rejectionMarks = map[string]series.Mark{
	"wind": series.Wind, "rain": series.Rain, "calibrating": series.Calibrating, "overload": series.Overload,
	"maintenance": series.Maintenance, "interference": series.Interference, "doubtful": series.Doubtful,
}

// openImports lists the channels and the imports that bring their readings.
func (r *Record) openImports() {
	byCode := map[string]series.Channel{}
	list := append([]*book.Entry(nil), r.current["import.1"]...)
	sort.SliceStable(list, func(i, j int) bool { return list[i].Seq < list[j].Seq })
	for _, e := range list {
		for _, c := range e.Body.Objects("channels") {
			code := c.Text("channel")
			byCode[code] = channelOf(c)
			r.imports[code] = append(r.imports[code], e)
		}
	}
	for code, c := range byCode {
		r.channels = append(r.channels, c)
		r.named[code] = namesInstrument(r.imports[code], code)
	}
	sort.Slice(r.channels, func(i, j int) bool { return r.channels[i].Code < r.channels[j].Code })
}

// namesInstrument tells whether any of the imports of a channel says what
// measured it, or where that stood.
func namesInstrument(imports []*book.Entry, channel string) bool {
	return slices.ContainsFunc(imports, func(e *book.Entry) bool { return measuredBy(channelIn(e, channel)) })
}

func measuredBy(c series.Channel) bool { return c.Instrument != "" || c.Deployment != "" }

// measured tells whether anything says what measured a channel.
func (r *Record) measured(channel string) bool {
	c, _ := r.pending.channel(channel)
	return r.named[channel] || measuredBy(c)
}

// channelOf reads what an import says of a channel.
func channelOf(c book.Object) series.Channel {
	return series.Channel{Code: c.Text("channel"), Quantity: c.Text("quantity"), Place: c.Text("place"), Unit: c.Text("unit"),
		Instrument: c.Text("instrument"), Deployment: c.Text("deployment")}
}

// channelIn reads what an import last says of the channel with that code.
func channelIn(e *book.Entry, code string) series.Channel {
	var out series.Channel
	for _, c := range e.Body.Objects("channels") {
		if c.Text("channel") == code {
			out = channelOf(c)
		}
	}
	return out
}

func (r *Record) openRejections() {
	list := append([]*book.Entry(nil), r.current["rejection.1"]...)
	sort.SliceStable(list, func(i, j int) bool { return list[i].Seq < list[j].Seq })
	for _, e := range list {
		mark, known := rejectionMarks[e.Body.Text("reason")]
		if !known {
			mark = series.Doubtful
		}
		from, to := e.Span()
		code := e.Body.Text("channel")
		r.rejects[code] = append(r.rejects[code], rejection{from, to, mark, e})
	}
}

// rejectionEntries returns the rejections of a channel that touch a span.
func (r *Record) rejectionEntries(channel string, span calendar.Span) []*book.Entry {
	var out []*book.Entry
	for _, x := range r.rejects[channel] {
		if x.from.Before(span.To) && x.to.After(span.From) {
			out = append(out, x.entry)
		}
	}
	return out
}

// deployed marks as doubtful what was read while a deployment did not stand: all
// that rules 1 to 3 heed of an instrument. Where no such deployment is on file
// nothing is known against readings.
func (r *Record) deployed(blocks []*series.Block, ref string) []*series.Block {
	for _, d := range r.current[deploymentKind] {
		if ref == "" || d.Body.Text("ref") != ref {
			continue
		}
		blocks = series.Reject(blocks, time.UnixMilli(0), d.At, series.Doubtful)
		if !d.Until.IsZero() {
			blocks = series.Reject(blocks, d.Until, endless, series.Doubtful)
		}
		return blocks
	}
	return blocks
}

// open opens an original; one that is not to be had is named.
func (r *Record) open(e *book.Entry, field string) (io.ReadCloser, error) {
	h, err := book.ParseHash(e.Body.Text(field))
	if err != nil {
		return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, field, err)
	}
	f, err := r.src.File(h)
	if err != nil {
		return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, field, err)
	}
	return f, nil
}

// planRevision is the plan from one entry on, read when first asked for.
type planRevision struct {
	entry    *book.Entry
	once     sync.Once
	features map[string]*plan.Feature
	err      error
}

func (r *Record) openPlans() {
	for _, e := range r.current["plan.1"] {
		r.plans = append(r.plans, &planRevision{entry: e})
	}
}

// feature returns the feature of the plan in force at t, and the entry of that
// plan.
func (r *Record) feature(code string, t time.Time) (*plan.Feature, *book.Entry, error) {
	var p *planRevision
	for _, one := range r.plans {
		if !one.entry.At.After(t) {
			p = one
		}
	}
	if p == nil {
		return nil, nil, nil
	}
	p.once.Do(func() { p.features, p.err = r.readPlan(p.entry) })
	return p.features[code], p.entry, p.err
}

func (r *Record) readPlan(e *book.Entry) (map[string]*plan.Feature, error) {
	f, err := r.open(e, "file")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	opts := plan.Options{Name: fmt.Sprintf("plan of entry %d", e.Seq), Frame: plan.FrameSite}
	if e.Body.Text("coordinates") == "wgs84" {
		opts.Frame = plan.FrameWGS84
	}
	list, err := plan.ReadFeatures(f, opts)
	if err != nil {
		return nil, err
	}
	r.ontoGrid(list)
	out := make(map[string]*plan.Feature, len(list))
	for i := range list {
		out[list[i].Code] = &list[i]
	}
	return out, nil
}

// ontoGrid turns features drawn in longitude and latitude into the site's
// grid, where that is one that can be computed; else they stay as they are,
// and say so by their frame.
func (r *Record) ontoGrid(list []plan.Feature) {
	sites := r.current["site.1"]
	if len(sites) == 0 {
		return
	}
	code, err := strconv.Atoi(strings.TrimPrefix(sites[len(sites)-1].Body.Text("grid"), "EPSG:"))
	if err != nil {
		return
	}
	system, err := grid.ByEPSG(code)
	if err != nil {
		return
	}
	for i := range list {
		f := &list[i]
		if f.Frame != plan.FrameWGS84 || f.Geometry == nil {
			continue
		}
		inside := true
		moved := project.Geometry(orb.Clone(f.Geometry), func(p orb.Point) orb.Point {
			e, n, err := system.FromWGS84(p[0], p[1])
			inside = inside && err == nil
			return orb.Point{e, n}
		})
		if inside {
			f.Geometry, f.Frame = moved, plan.FrameSite
		}
	}
}

// surfaceFile is the surface of one survey, made when first asked for.
type surfaceFile struct {
	once    sync.Once
	surface *surface.Surface
	entry   *book.Entry
	err     error
}

// makeSurface reads a survey and makes its surface. Of several entries with
// one ref the last counts.
func (r *Record) makeSurface(ref string) (*surface.Surface, *book.Entry, error) {
	var e *book.Entry
	for _, one := range r.current["survey.1"] {
		if one.Body.Text("ref") == ref || string(one.ID) == ref {
			e = one
		}
	}
	if e == nil {
		if gone := r.erased["survey.1"]; len(gone) > 0 {
			return nil, nil, &ErasedError{gone[0].ErasedBy}
		}
		return nil, nil, &fault{cause: "survey " + ref + " is not on file", remedy: "enter the survey, or correct its name in the condition"}
	}
	read, clean, err := decided(e)
	if err != nil {
		return nil, e, fmt.Errorf("survey %s: %w", ref, err)
	}
	s, err := r.readSurvey(e, read)
	if err != nil {
		return nil, e, fmt.Errorf("survey %s: %w", ref, err)
	}
	made, _, err := surface.FromSurvey(s, surface.Options{Conflicts: clean.Conflicts, LeaveOut: clean.LeaveOut})
	if err != nil {
		return nil, e, fmt.Errorf("survey %s: %w", ref, err)
	}
	return made, e, nil
}

func (r *Record) readSurvey(e *book.Entry, read survey.Options) (*survey.Survey, error) {
	name := fmt.Sprintf("survey of entry %d", e.Seq)
	f, err := r.open(e, "file")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s, err := survey.Read(f, name, read)
	if err != nil {
		return nil, err
	}
	if e.Body.Has("breaklines") {
		b, err := r.open(e, "breaklines")
		if err != nil {
			return nil, err
		}
		defer b.Close()
		lines, err := survey.ReadBreaklines(b, name, s)
		if err != nil {
			return nil, err
		}
		s.Breaklines = append(s.Breaklines, lines...)
	}
	if e.Body.Has("boundary") {
		b, err := r.open(e, "boundary")
		if err != nil {
			return nil, err
		}
		defer b.Close()
		if s.Boundary, err = survey.ReadBoundary(b, name); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// decided returns how a survey's file is read and its points cleaned, by the
// decisions its entry keeps. Rows the reader rejected or dropped are left out.
func decided(e *book.Entry) (survey.Options, survey.CleanOptions, error) {
	var list []survey.Decision
	for _, d := range e.Body.Objects("decisions") {
		list = append(list, survey.Decision{Row: int(d.Integer("row")), Word: d.Text("decision")})
	}
	read, clean, rest, err := survey.Decided(survey.Order(e.Body.Text("order")), list)
	for _, d := range rest {
		if d.Row > 0 && (strings.HasPrefix(d.Word, "reject") || strings.HasPrefix(d.Word, "drop")) {
			clean.LeaveOut = append(clean.LeaveOut, d.Row)
		}
	}
	return read, clean, err
}

// holidays returns a list with what was proclaimed later, and its entries.
func (r *Record) holidays(id string) (*calendar.Holidays, []*book.Entry) {
	var from []*book.Entry
	for _, e := range r.current["calendar.1"] {
		if e.Body.Text("id") == id {
			from = append(from, e)
		}
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if h, made := r.lists[id]; made {
		return h, from
	}
	h := holidayList(id, from)
	r.lists[id] = h
	return h, from
}

// holidayList joins the entries of one list: the first gives the years, later
// ones add days, and years where they follow on.
func holidayList(id string, from []*book.Entry) *calendar.Holidays {
	if len(from) == 0 {
		return nil
	}
	h := &calendar.Holidays{ID: id}
	seen := map[string]bool{}
	for i, e := range from {
		first, last := int(e.Body.Integer("from_year")), int(e.Body.Integer("to_year"))
		if i == 0 {
			h.FromYear, h.ToYear, h.Source = first, last, e.Body.Text("source")
		} else if first <= h.ToYear+1 && last >= h.FromYear-1 {
			h.FromYear, h.ToYear = min(h.FromYear, first), max(h.ToYear, last)
		}
		for _, d := range e.Body.Objects("days") {
			date, err := calendar.ParseDate(d.Text("date"))
			if err != nil || seen[d.Text("date")] {
				continue
			}
			seen[d.Text("date")] = true
			h.Days = append(h.Days, calendar.Holiday{Date: date, Title: d.Text("title"), Note: d.Text("note")})
		}
	}
	sort.SliceStable(h.Days, func(i, j int) bool { return h.Days[i].Date.Before(h.Days[j].Date) })
	return h
}
