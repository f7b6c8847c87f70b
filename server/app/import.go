package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// ImportRegister is the register whose rights bringing readings in needs.
const ImportRegister = "instruments"

// Import is how a logger file is to be read, and where its columns come from.
type Import struct {
	File    book.Hash
	Name    string
	Mapping series.Mapping
	Of      []monitoring.ImportChannel // one for each value column
	Changed bool                       // readings that differ from those on file are to take their place
}

// LoggerFile is what a file kept looks like, and how files like it were read.
type LoggerFile struct {
	*series.Looked
	Known *book.Entry // that brought the same bytes in; nil = none
	Past  []PastImport
}

// PastImport is how an earlier file with the same columns was read.
type PastImport struct {
	Entry   *book.Entry
	Mapping series.Mapping
	Of      []monitoring.ImportChannel
}

// looked is how much of a file is looked at before it is read.
const looked = 1 << 20

// mostPast is how many earlier ways of reading are offered.
const mostPastImports = 5

// LookAtFile tells what a file that was uploaded looks like.
func (s *Service) LookAtFile(ctx context.Context, who Actor, file book.Hash) (*LoggerFile, error) {
	snap, err := s.importing(ctx, who)
	if err != nil {
		return nil, err
	}
	head, err := s.headOf(ctx, file)
	if err != nil {
		return nil, err
	}
	out := &LoggerFile{Looked: series.Look(head), Known: importedAs(snap, file)}
	out.Past = pastImports(snap, mostPastImports, func(m *series.Mapping) bool { return fitsHeader(m, out.Header) })
	return out, nil
}

// pastImports lists how files were read that are in force, each way once, the
// last used first.
func pastImports(snap *Snapshot, most int, fits func(*series.Mapping) bool) []PastImport {
	var out []PastImport
	seen := map[string]bool{}
	list := snap.View.Current(monitoring.ImportKind)
	for i := len(list) - 1; i >= 0 && len(out) < most; i-- {
		e := list[i]
		if e.Body == nil {
			continue
		}
		m := monitoring.MappingOf(e.Body)
		key := fmt.Sprintf("%v", m)
		if seen[key] || !fits(&m) {
			continue
		}
		seen[key] = true
		past := PastImport{Entry: e, Mapping: m}
		for _, c := range e.Body.Objects("channels") {
			past.Of = append(past.Of, monitoring.ImportChannel{Place: c.Text("place"), Instrument: c.Text("instrument"), Deployment: c.Text("deployment")})
		}
		out = append(out, past)
	}
	return out
}

// importing lets through who may bring readings in.
func (s *Service) importing(ctx context.Context, who Actor) (*Snapshot, error) {
	if !who.Role.MayEnter(ImportRegister) {
		return nil, fault(Forbidden, "the role %q does not bring readings in", who.Role)
	}
	return s.on(ctx, who, When{})
}

func (s *Service) headOf(ctx context.Context, file book.Hash) ([]byte, error) {
	r, err := s.Book.OpenFile(ctx, file)
	if err != nil {
		return nil, &Error{Code: NotFound, Words: "the file is not kept here; send it first", Cause: err}
	}
	defer func() { _ = r.Close() }()
	head, err := io.ReadAll(io.LimitReader(r, looked))
	return head, internal("reading the file", err)
}

// importedAs returns the entry in force that brought a file in, for one of the
// channels where any are named; nil when there is none.
func importedAs(h *Snapshot, file book.Hash, of ...series.ValueColumn) *book.Entry {
	for _, e := range h.View.Current(monitoring.ImportKind) {
		if e.Body == nil || e.Body.Text("file") != file.String() {
			continue
		}
		if len(of) == 0 || slices.ContainsFunc(e.Body.Objects("channels"), func(c book.Object) bool {
			return slices.ContainsFunc(of, func(v series.ValueColumn) bool { return v.Channel == c.Text("channel") })
		}) {
			return e
		}
	}
	return nil
}

// fitsHeader tells whether every column that a mapping names is there.
func fitsHeader(m *series.Mapping, header []string) bool {
	columns := slices.Clone(m.Time.Columns)
	for _, v := range m.Values {
		columns = append(columns, v.Column)
		if v.Qualifier != "" {
			columns = append(columns, v.Qualifier)
		}
	}
	return len(header) > 0 && !slices.ContainsFunc(columns, func(c string) bool { return !slices.Contains(header, c) && !strings.HasPrefix(c, "#") })
}

// Trial is what bringing a file in would come to. Nothing is saved.
type Trial struct {
	Mapping   series.Mapping // completed by what the file shows
	Faults    []book.Fault   // of the mapping and its channels
	Orders    []DateOrder    // where the file leaves day and month open
	Bad       []series.BadLine
	BadCount  int
	Rows      int
	Repeated  int
	Decisions []series.Decision
	Channels  []TrialChannel
	Zones     []ZoneMeaning
	parsed    *series.Parsed
}

// Good tells whether the file can be brought in as it is read.
func (t *Trial) Good() bool {
	return len(t.Faults) == 0 && len(t.Orders) == 0 && t.BadCount == 0 && t.parsed != nil && t.Rows > 0
}

// Changed counts the readings that differ from those on file.
func (t *Trial) Changed() int {
	n := 0
	for i := range t.Channels {
		n += t.Channels[i].Changed
	}
	return n
}

// DateOrder is one way to read the dates of a file.
type DateOrder struct {
	Layout string
	First  string // what the first stamp is by it
}

// ZoneMeaning is what the first and the last stamp are in UTC by one zone.
type ZoneMeaning struct {
	Zone        string
	First, Last time.Time
}

// TrialChannel is what a channel would come to.
type TrialChannel struct {
	Channel, Column    string
	Count, Valid       int64
	First, Last        time.Time
	New, Same, Changed int
	Gaps               []Stretch
	Below              int // readings lower than the quantity can be
	Least, Greatest    *float64
	Unit               string
}

// TryImport reads a file as asked and compares it with what is on file.
func (s *Service) TryImport(ctx context.Context, who Actor, in Import) (*Trial, error) {
	snap, err := s.importing(ctx, who)
	if err != nil {
		return nil, err
	}
	return s.tryImport(ctx, snap, in)
}

func (s *Service) tryImport(ctx context.Context, snap *Snapshot, in Import) (*Trial, error) {
	head, err := s.headOf(ctx, in.File)
	if err != nil {
		return nil, err
	}
	t := &Trial{Mapping: in.Mapping}
	t.complete(head)
	t.Faults = append(t.Faults, s.importFaults(snap, &in)...)
	if e := importedAs(snap, in.File, in.Mapping.Values...); e != nil {
		t.Faults = append(t.Faults, book.Fault{Field: "file", Reason: fmt.Sprintf("entry %d brought the same bytes in", e.Seq), Remedy: "import it once; to read it otherwise, take that import back first"})
	}
	if len(t.Faults)+len(t.Orders) > 0 {
		return t, nil
	}
	r, err := s.Book.OpenFile(ctx, in.File)
	if err != nil {
		return nil, internal("opening the file", err)
	}
	defer func() { _ = r.Close() }()
	name := in.Name
	if name == "" {
		name = "the file"
	}
	p, err := series.ReadDelimited(r, name, t.Mapping)
	var bad *series.BadFile
	switch {
	case errors.As(err, &bad):
		t.Bad, t.BadCount = bad.Lines, bad.Count
		return t, nil
	case err != nil:
		t.Faults = append(t.Faults, book.Fault{Field: "mapping", Reason: strings.TrimPrefix(err.Error(), name+": "), Remedy: "change how the file is read"})
		return t, nil
	}
	t.parsed, t.Rows, t.Repeated, t.Decisions = p, p.Rows, p.Duplicates, p.Decisions
	if p.Rows == 0 {
		t.Faults = append(t.Faults, book.Fault{Field: "file", Reason: "no row holds a reading", Remedy: "check the header line and the columns"})
		return t, nil
	}
	for i := range p.Channels {
		one, err := s.trialChannel(snap, &p.Channels[i])
		if err != nil {
			return nil, err
		}
		t.Channels = append(t.Channels, one)
	}
	t.meanings(snap.Record.Site())
	return t, nil
}

// complete fills in what the file itself shows and nobody has said.
func (t *Trial) complete(head []byte) {
	m := &t.Mapping
	var values []string
	for _, v := range m.Values {
		values = append(values, v.Column)
	}
	if len(m.Time.Columns) == 0 || len(values) == 0 {
		return
	}
	if m.Encoding == "latin-1" {
		head = bytes.ToValidUTF8(head, []byte("?"))
	}
	seen, err := series.SniffTimes(head, m.Time.Columns, values, m.Time.Layout)
	var order *series.DateOrderError
	switch {
	case errors.As(err, &order):
		for _, l := range []string{order.Day, order.Month} {
			t.Orders = append(t.Orders, DateOrder{l, series.Spoken(order.Stamp, l)})
		}
	case err != nil:
		t.Faults = append(t.Faults, book.Fault{Field: "time.columns", Reason: err.Error(), Remedy: "choose other columns, or say the header line"})
		return
	}
	fill := func(into *string, v string) {
		if *into == "" {
			*into = v
		}
	}
	fill(&m.Delimiter, seen.Delimiter)
	fill(&m.DecimalMark, seen.DecimalMark)
	fill(&m.Time.Layout, seen.Layout)
	if m.HeaderRow == 0 {
		m.HeaderRow, m.SkipRows = seen.HeaderRow, seen.SkipRows
	}
	if m.Time.Interval == "" && m.Time.Stamp != "instant" {
		m.Time.Interval = seen.Interval
	}
}

// importFaults checks what a person has said of a file against the book.
func (s *Service) importFaults(snap *Snapshot, in *Import) []book.Fault {
	var out []book.Fault
	say := func(field, reason, remedy string) {
		out = append(out, book.Fault{Field: field, Reason: reason, Remedy: remedy})
	}
	if len(in.Mapping.Time.Columns) == 0 {
		say("time.columns", "the column of the times is not chosen", "choose it, or the two of date and time")
	}
	if in.Mapping.Time.Zone == "" {
		say("time.zone", "the zone of the logger's clock is not said", "ask whoever set the logger; a clock that is not put forward in summer is +00:00 here, never a guess")
	}
	if in.Mapping.Time.Stamp == "" {
		say("time.stamp", "it is not said what the stamp marks", "choose begin, mid or end of the interval, or instant")
	}
	if len(in.Mapping.Values) == 0 {
		say("values", "no column of readings is chosen", "choose at least one")
	}
	features := snap.Record.Features(snap.At)
	taken := map[string]bool{}
	for i, v := range in.Mapping.Values {
		field := func(name string) string { return fmt.Sprintf("values.%d.%s", i, name) }
		q := s.Quantities.Named(v.Quantity)
		switch {
		case v.Channel == "":
			say(field("channel"), "the channel has no code", "give it one, such as NM1-LAEQ; later files of the same logger keep it")
		case taken[v.Channel]:
			say(field("channel"), v.Channel+" stands twice", "give each column a channel of its own")
		}
		taken[v.Channel] = true
		switch {
		case q == nil || q.Form != quantity.Series:
			say(field("quantity"), "it is not said what is measured", "choose a quantity")
		case unit.Convertible(v.Unit, q.Unit) != nil:
			say(field("unit"), unit.Convertible(v.Unit, q.Unit).Error(), fmt.Sprintf("%s is kept in %s or a unit that turns into it", q.Title, q.Unit))
		}
		for _, c := range snap.Record.Channels("", "") {
			if c.Code == v.Channel && (c.Quantity != v.Quantity || c.Unit != v.Unit) {
				say(field("channel"), fmt.Sprintf("%s is on file as %s in %s", v.Channel, c.Quantity, c.Unit), "choose the same, or another code")
			}
		}
		place := ""
		if i < len(in.Of) {
			place = in.Of[i].Place
		}
		known := false
		for _, f := range features {
			known = known || f.Code == place
		}
		if place == "" || len(features) > 0 && !known {
			say(field("place"), fmt.Sprintf("%q is no place of the plan", place), "choose where it is measured")
		}
	}
	return out
}

// trialChannel compares the readings of a channel with those on file.
func (s *Service) trialChannel(snap *Snapshot, c *series.ParsedChannel) (TrialChannel, error) {
	out := TrialChannel{Channel: c.Channel, Column: c.Column, Count: c.Count, Valid: c.Valid, Unit: c.Unit}
	if len(c.Blocks) == 0 {
		return out, nil
	}
	q := s.Quantities.Named(c.Quantity)
	first, last := c.Blocks[0], c.Blocks[len(c.Blocks)-1]
	from, to := first.Start[0], last.Start[len(last.Start)-1]+max(last.Span, 1)
	out.First, out.Last = time.UnixMilli(from).UTC(), time.UnixMilli(to).UTC()
	held, err := snap.Record.AsReceived(c.Channel, out.First, out.Last)
	if err != nil {
		return out, internal("reading the channel", err)
	}
	on := map[int64]unit.Decimal{}
	for _, b := range held {
		for i, at := range b.Start {
			on[at] = unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}
		}
	}
	end := from
	for _, b := range c.Blocks {
		for i, at := range b.Start {
			v := unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}
			switch old, there := on[at]; {
			case !there:
				out.New++
			case old.Cmp(v) == 0:
				out.Same++
			default:
				out.Changed++
			}
			if b.Span > 0 && at > end {
				out.Gaps = stretch(out.Gaps, end, at, "no row in the file")
			}
			end = at + b.Span
			if !b.Mark[i].Counts() {
				continue
			}
			x := v.Float()
			if q != nil && q.NotBelow != nil && x < *q.NotBelow {
				out.Below++
			}
			if out.Least == nil || x < *out.Least {
				out.Least = &x
			}
			if out.Greatest == nil || x > *out.Greatest {
				out.Greatest = &x
			}
		}
	}
	return out, nil
}

// meanings says what the zones that are likely would make of the first and the
// last time, so that nobody has to guess which was meant.
func (t *Trial) meanings(site quantity.Site) {
	if len(t.Channels) == 0 || t.Mapping.Time.Zone == "in file" {
		return
	}
	first, last := t.Channels[0].First, t.Channels[0].Last
	own, err := zoneNamed(t.Mapping.Time.Zone)
	if err != nil {
		return
	}
	_, winter := time.Date(first.Year(), 1, 1, 0, 0, 0, 0, site.Zone).Zone()
	seen := map[string]bool{}
	for _, name := range []string{t.Mapping.Time.Zone, site.Zone.String(), fmt.Sprintf("%+03d:%02d", winter/3600, winter%3600/60), "UTC"} {
		loc, err := zoneNamed(name)
		if err != nil || seen[name] {
			continue
		}
		seen[name] = true
		as := func(at time.Time) time.Time {
			w := at.In(own)
			return time.Date(w.Year(), w.Month(), w.Day(), w.Hour(), w.Minute(), w.Second(), w.Nanosecond(), loc).UTC()
		}
		t.Zones = append(t.Zones, ZoneMeaning{name, as(first), as(last)})
	}
}

func zoneNamed(name string) (*time.Location, error) {
	if at, err := time.Parse("-07:00", name); err == nil {
		_, offset := at.Zone()
		return time.FixedZone(name, offset), nil
	}
	return calendar.LoadZone(name)
}
