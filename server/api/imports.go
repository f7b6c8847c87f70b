package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/app"
)

// FileMapping says how a delimited logger file is read. What is left out is
// taken from the file where it shows it.
type FileMapping struct {
	Encoding    string       `json:"encoding,omitempty" enum:"utf-8,latin-1"`
	Delimiter   string       `json:"delimiter,omitempty" maxLength:"3" doc:"what parts the cells: comma, semicolon, bar or tab"`
	DecimalMark string       `json:"decimal_mark,omitempty"`
	HeaderRow   int          `json:"header_row,omitempty" minimum:"0"`
	SkipRows    int          `json:"skip_rows,omitempty" minimum:"0"`
	FooterRows  int          `json:"footer_rows,omitempty" minimum:"0"`
	TimeColumns []string     `json:"time_columns" maxItems:"2"`
	Layout      string       `json:"layout,omitempty" maxLength:"60"`
	Stamp       string       `json:"stamp,omitempty" doc:"begin, mid, end or instant"`
	Interval    string       `json:"interval,omitempty" maxLength:"20" doc:"seconds, or local day"`
	Zone        string       `json:"zone,omitempty" maxLength:"60" doc:"IANA name, UTC, +01:00 or in file"`
	Values      []FileColumn `json:"values" maxItems:"60"`
	Missing     []string     `json:"missing,omitempty" maxItems:"40"`
	Flags       []FileFlag   `json:"flags,omitempty" maxItems:"40"`
}

// FileColumn is one column of readings, and where they come from.
type FileColumn struct {
	Column     string `json:"column"`
	Channel    string `json:"channel" maxLength:"80"`
	Quantity   string `json:"quantity"`
	Unit       string `json:"unit"`
	Qualifier  string `json:"qualifier,omitempty"`
	Place      string `json:"place" maxLength:"80"`
	Instrument string `json:"instrument,omitempty" maxLength:"80"`
	Deployment string `json:"deployment,omitempty" maxLength:"80"`
}

// FileFlag gives a text in a cell its meaning.
type FileFlag struct {
	Text  string `json:"text"`
	Means string `json:"means"`
}

// LoggerFile is what a file looks like, and how others like it were read.
type LoggerFile struct {
	Encoding   string           `json:"encoding"`
	Mark       bool             `json:"mark" doc:"a byte order mark stands before the text"`
	Lines      []string         `json:"lines" doc:"the first, as they stand"`
	Delimiter  string           `json:"delimiter"`
	HeaderRow  int              `json:"header_row" doc:"0: none was found"`
	Header     []string         `json:"header"`
	Rows       [][]string       `json:"rows" doc:"the first below the header, as parted"`
	Times      []string         `json:"times" doc:"columns that look like the time"`
	Numbers    []string         `json:"numbers"`
	Known      string           `json:"known" doc:"the entry that brought the same bytes in"`
	Past       []PastMapping    `json:"past"`
	Quantities []ReadingSubject `json:"quantities"`
}

// PastMapping is how an earlier file with the same columns was read.
type PastMapping struct {
	Entry   string      `json:"entry"`
	Seq     int64       `json:"seq"`
	Name    string      `json:"name"`
	Mapping FileMapping `json:"mapping"`
}

// ReadingSubject is what a channel may measure.
type ReadingSubject struct {
	Code  string `json:"code"`
	Title string `json:"title"`
	Unit  string `json:"unit"`
}

// ImportTrial is what bringing a file in would come to.
type ImportTrial struct {
	Good      bool            `json:"good"`
	Mapping   FileMapping     `json:"mapping" doc:"completed by what the file shows"`
	Faults    []Fault         `json:"faults"`
	Orders    []DateOrder     `json:"orders" doc:"where the file leaves day and month open"`
	Bad       []BadLine       `json:"bad"`
	BadCount  int             `json:"bad_count"`
	Rows      int             `json:"rows"`
	Repeated  int             `json:"repeated"`
	Decisions []RowDecision   `json:"decisions"`
	Channels  []ImportChannel `json:"channels"`
	Zones     []ZoneMeaning   `json:"zones" doc:"what each zone would make of the first and last time"`
	Changed   int             `json:"changed" doc:"readings that differ from those on file"`
}

// DateOrder is one way to read the dates.
type DateOrder struct {
	Layout string `json:"layout"`
	First  string `json:"first"`
}

// BadLine is a line that cannot be read.
type BadLine struct {
	Line   int    `json:"line"`
	Column string `json:"column"`
	Why    string `json:"why"`
}

// RowDecision is one thing done to rows.
type RowDecision struct {
	From   int    `json:"from"`
	To     int    `json:"to"`
	Column string `json:"column"`
	What   string `json:"what"`
	Rows   int    `json:"rows"`
}

// ImportChannel is what a channel would come to.
type ImportChannel struct {
	Channel  string    `json:"channel"`
	Column   string    `json:"column"`
	Unit     string    `json:"unit"`
	Count    int64     `json:"count"`
	Valid    int64     `json:"valid"`
	First    time.Time `json:"first"`
	Last     time.Time `json:"last"`
	New      int       `json:"new"`
	Same     int       `json:"same"`
	Changed  int       `json:"changed"`
	Gaps     []FileGap `json:"gaps"`
	Below    int       `json:"below" doc:"readings lower than the quantity can be"`
	Least    *float64  `json:"least"`
	Greatest *float64  `json:"greatest"`
}

// FileGap is a span without a row.
type FileGap struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// ZoneMeaning is what the first and last time are in UTC by one zone.
type ZoneMeaning struct {
	Zone  string    `json:"zone"`
	First time.Time `json:"first"`
	Last  time.Time `json:"last"`
}

type lookInput struct {
	Body struct {
		File string `json:"file" doc:"SHA-256 of a file that was sent"`
	}
}

// ImportAsked is a file and how it is to be read.
type ImportAsked struct {
	File    string      `json:"file"`
	Name    string      `json:"name" maxLength:"200"`
	Mapping FileMapping `json:"mapping"`
	Changed bool        `json:"changed,omitempty" doc:"readings that differ from those on file take their place"`
}

type tryImportInput struct{ Body ImportAsked }

type keepImportInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body ImportAsked
}

type undoInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"the import"`
	With string `path:"with" pattern:"^[0-9a-f]{32}$" doc:"id of the withdrawal, made by the device"`
	Body struct {
		Reason string `json:"reason" maxLength:"2000"`
	}
}

func (s *Server) importOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "look-import", Method: http.MethodPost, Path: "/imports/look", Summary: "What a logger file looks like, and how others like it were read"},
		func(ctx context.Context, in *lookInput) (*answer[LoggerFile], error) {
			return reply(s.lookAtFile(ctx, in.Body.File))
		})
	huma.Register(api, huma.Operation{OperationID: "try-import", Method: http.MethodPost, Path: "/imports/try", Summary: "Read a logger file and compare it with what is on file; nothing is saved"},
		func(ctx context.Context, in *tryImportInput) (*answer[ImportTrial], error) {
			return reply(s.tryImport(ctx, &in.Body))
		})
	huma.Register(api, huma.Operation{OperationID: "put-import", Method: http.MethodPut, Path: "/imports/{id}", Summary: "Bring a logger file in", DefaultStatus: http.StatusCreated,
		Description: "One entry with its readings, or nothing. The same id again answers 200 and keeps what stands."}, s.keepImport)
	huma.Register(api, huma.Operation{OperationID: "undo-import", Method: http.MethodPut, Path: "/imports/{id}/withdrawal/{with}", Summary: "Take an import back, visibly", DefaultStatus: http.StatusCreated}, s.undoImport)
}

func (s *Server) lookAtFile(ctx context.Context, file string) (LoggerFile, error) {
	h, err := hashOf(file)
	if err != nil {
		return LoggerFile{}, err
	}
	l, err := s.App.LookAtFile(ctx, who(ctx), h)
	if err != nil {
		return LoggerFile{}, err
	}
	out := LoggerFile{
		Encoding: l.Encoding, Mark: l.Mark, Lines: list(l.Lines), Delimiter: l.Delimiter, HeaderRow: l.HeaderRow, Header: list(l.Header), Rows: list(l.Rows),
		Times: list(l.Times), Numbers: list(l.Numbers), Past: []PastMapping{}, Quantities: []ReadingSubject{},
	}
	if l.Known != nil {
		out.Known = string(l.Known.ID)
	}
	for _, p := range l.Past {
		out.Past = append(out.Past, PastMapping{string(p.Entry.ID), p.Entry.Seq, p.Entry.Body.Text("name"), fileMapping(&p.Mapping, p.Of)})
	}
	for _, q := range s.App.ReadingQuantities() {
		out.Quantities = append(out.Quantities, ReadingSubject{q.Code, q.Title, q.Unit})
	}
	return out, nil
}

func hashOf(file string) (book.Hash, error) {
	h, err := book.ParseHash(file)
	if err != nil {
		return h, &app.Error{Code: app.Invalid, Words: "the file is not named by its SHA-256; send it first", Cause: err}
	}
	return h, nil
}

func (a *ImportAsked) asked() (app.Import, error) {
	h, err := hashOf(a.File)
	if err != nil {
		return app.Import{}, err
	}
	m, of := a.Mapping.read()
	return app.Import{File: h, Name: a.Name, Changed: a.Changed, Mapping: m, Of: of}, nil
}

// read returns the mapping as the use cases have it, and where each column comes
// from.
func (m *FileMapping) read() (series.Mapping, []monitoring.ImportChannel) {
	out := series.Mapping{
		Encoding: m.Encoding, Delimiter: m.Delimiter, DecimalMark: m.DecimalMark, HeaderRow: m.HeaderRow, SkipRows: m.SkipRows, FooterRows: m.FooterRows,
		Time:    series.TimeColumns{Columns: m.TimeColumns, Layout: m.Layout, Stamp: m.Stamp, Interval: m.Interval, Zone: m.Zone},
		Missing: m.Missing,
	}
	var of []monitoring.ImportChannel
	for _, f := range m.Flags {
		out.Flags = append(out.Flags, series.Flag{Text: f.Text, Means: f.Means})
	}
	for _, v := range m.Values {
		out.Values = append(out.Values, series.ValueColumn{Column: v.Column, Channel: v.Channel, Unit: v.Unit, Quantity: v.Quantity, Qualifier: v.Qualifier})
		of = append(of, monitoring.ImportChannel{Place: v.Place, Instrument: v.Instrument, Deployment: v.Deployment})
	}
	return out, of
}

func fileMapping(m *series.Mapping, of []monitoring.ImportChannel) FileMapping {
	out := FileMapping{
		Encoding: m.Encoding, Delimiter: m.Delimiter, DecimalMark: m.DecimalMark, HeaderRow: m.HeaderRow, SkipRows: m.SkipRows, FooterRows: m.FooterRows,
		TimeColumns: list(m.Time.Columns), Layout: m.Time.Layout, Stamp: m.Time.Stamp, Interval: m.Time.Interval, Zone: m.Time.Zone, Values: []FileColumn{}, Missing: m.Missing,
	}
	for i, v := range m.Values {
		one := FileColumn{Column: v.Column, Channel: v.Channel, Quantity: v.Quantity, Unit: v.Unit, Qualifier: v.Qualifier}
		if i < len(of) {
			one.Place, one.Instrument, one.Deployment = of[i].Place, of[i].Instrument, of[i].Deployment
		}
		out.Values = append(out.Values, one)
	}
	for _, f := range m.Flags {
		out.Flags = append(out.Flags, FileFlag{f.Text, f.Means})
	}
	return out
}

func (s *Server) tryImport(ctx context.Context, a *ImportAsked) (ImportTrial, error) {
	in, err := a.asked()
	if err != nil {
		return ImportTrial{}, err
	}
	t, err := s.App.TryImport(ctx, who(ctx), in)
	if err != nil {
		return ImportTrial{}, err
	}
	out := ImportTrial{
		Good: t.Good(), Mapping: fileMapping(&t.Mapping, in.Of), Faults: []Fault{}, Orders: []DateOrder{}, Bad: []BadLine{}, BadCount: t.BadCount,
		Rows: t.Rows, Repeated: t.Repeated, Decisions: []RowDecision{}, Channels: []ImportChannel{}, Zones: []ZoneMeaning{}, Changed: t.Changed(),
	}
	for _, f := range t.Faults {
		out.Faults = append(out.Faults, Fault(f))
	}
	for _, o := range t.Orders {
		out.Orders = append(out.Orders, DateOrder(o))
	}
	for _, b := range t.Bad {
		out.Bad = append(out.Bad, BadLine(b))
	}
	for _, d := range t.Decisions {
		out.Decisions = append(out.Decisions, RowDecision{d.From, d.To, d.Column, d.What, d.Rows})
	}
	for _, z := range t.Zones {
		out.Zones = append(out.Zones, ZoneMeaning(z))
	}
	for i := range t.Channels {
		c := &t.Channels[i]
		one := ImportChannel{Channel: c.Channel, Column: c.Column, Unit: c.Unit, Count: c.Count, Valid: c.Valid, First: c.First, Last: c.Last, New: c.New, Same: c.Same, Changed: c.Changed, Gaps: []FileGap{}, Below: c.Below, Least: c.Least, Greatest: c.Greatest}
		for _, g := range c.Gaps {
			one.Gaps = append(one.Gaps, FileGap{g.From, g.To})
		}
		out.Channels = append(out.Channels, one)
	}
	return out, nil
}

func (s *Server) keepImport(ctx context.Context, in *keepImportInput) (*putAnswer, error) {
	asked, err := in.Body.asked()
	if err != nil {
		return nil, asProblem(err)
	}
	e, fresh, _, err := s.App.KeepImport(ctx, who(ctx), book.ID(in.ID), asked)
	if err != nil {
		return nil, asProblem(err)
	}
	return received(e, fresh), nil
}

func (s *Server) undoImport(ctx context.Context, in *undoInput) (*putAnswer, error) {
	e, fresh, err := s.App.UndoImport(ctx, who(ctx), book.ID(in.With), book.ID(in.ID), in.Body.Reason)
	if err != nil {
		return nil, asProblem(err)
	}
	return received(e, fresh), nil
}
