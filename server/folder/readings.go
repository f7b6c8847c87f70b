package folder

import (
	"fmt"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

const readingsIndex = "readings/index.csv"

// channelColumns are the columns of readings/index.csv, a row for each channel
// of each file.
var channelColumns = []string{"channel", "quantity", "place", "deployment", "unit", "instrument", "zone", "mapping", "file", "column", "qualifier"}

// loggerFile is one logger file with its rows of the index.
type loggerFile struct {
	name string
	of   string // the entry it makes, where the index names it: its id and what it supersedes
	rows []row
}

// readReadings reads readings/index.csv and every logger file it names.
func (l *loader) readReadings() {
	if !l.exists(readingsIndex) {
		return
	}
	data, ok := l.bytes(readingsIndex)
	if !ok {
		return
	}
	t := readTable(readingsIndex, data, &l.findings)
	if t == nil {
		return
	}
	kind := *l.kinds.Named("import.1")
	kind.Fields = nil
	s := newSheet(t, &kind)
	if !l.columns(s, channelColumns...) || !l.channelColumnsThere(s) {
		return
	}
	known := map[book.Hash]string{}
	for _, f := range l.loggerFiles(s) {
		l.loggerFile(s, f, known)
	}
	l.tableReceipts(s)
}

func (l *loader) channelColumnsThere(s *sheet) bool {
	ok := true
	for _, name := range []string{"channel", "quantity", "place", "unit", "zone", "mapping", "file", "column"} {
		if _, there := s.column[name]; !there {
			l.say(s.path, 1, name, "the column is missing", "add it")
			ok = false
		}
	}
	return ok
}

// loggerFiles gathers the rows of each file, in the order files first stand.
func (l *loader) loggerFiles(s *sheet) []loggerFile {
	var out []loggerFile
	for _, r := range s.rows {
		name, of := s.cell(r, "file"), s.cell(r, "id")+" "+s.cell(r, "supersedes")
		i := slices.IndexFunc(out, func(f loggerFile) bool { return f.name == name && f.of == of })
		if i < 0 {
			i = len(out)
			out = append(out, loggerFile{name: name, of: of})
		}
		out[i].rows = append(out[i].rows, r)
	}
	return out
}

// loggerFile makes the import of one file.
func (l *loader) loggerFile(s *sheet, f loggerFile, known map[book.Hash]string) {
	before := len(l.problems)
	first := f.rows[0]
	l.dir = "readings/"
	h, err := l.file(f.name)
	l.dir = ""
	if err != nil {
		l.say(s.path, first.line, "file", err.Error(), "")
		return
	}
	if other, twice := known[h]; twice && s.cell(first, "supersedes") == "" {
		l.say(s.path, first.line, "file", fmt.Sprintf("%s is the same file as %s", f.name, other), "import it once; remove these rows")
		return
	}
	known[h] = f.name
	m, ok := l.mapping(s, first)
	if !ok {
		return
	}
	for _, r := range f.rows {
		l.channelRow(s, r, first, &m)
	}
	d, recorded := l.importEnvelope(s, first, f.name)
	if len(l.problems) > before {
		return
	}
	parsed := l.parse(l.out.Files[h].Path, m)
	if parsed == nil {
		return
	}
	l.importBody(s, f, &d, h, m, parsed)
	if d.At.IsZero() {
		l.say(l.out.Files[h].Path, 0, "", "the file holds no readings", "check the mapping, or leave the file out")
		return
	}
	l.importID(s, first, &d, f.name, h)
	if l.add(d, s.path, first.line, recorded) {
		blocks := map[string][]*series.Block{}
		for i := range parsed.Channels {
			blocks[parsed.Channels[i].Channel] = parsed.Channels[i].Blocks
		}
		l.out.Parsed[d.ID] = blocks
	}
}

// channelRow checks one channel of a file and adds it to the mapping.
func (l *loader) channelRow(s *sheet, r, first row, m *series.Mapping) {
	for _, same := range []string{"mapping", "zone", "id", "by", "role", "made", "recorded", "supersedes", "reason"} {
		if s.cell(r, same) != s.cell(first, same) {
			l.say(s.path, r.line, same, fmt.Sprintf("differs from line %d, which is of the same file", first.line), "write the same in every row of one file")
		}
	}
	v := series.ValueColumn{Column: s.cell(r, "column"), Channel: s.cell(r, "channel"), Unit: s.cell(r, "unit"),
		Quantity: s.cell(r, "quantity"), Qualifier: s.cell(r, "qualifier")}
	for _, must := range []string{"channel", "column", "place"} {
		if s.cell(r, must) == "" {
			l.say(s.path, r.line, must, "the cell is blank", "")
		}
	}
	q := l.quantities.Named(v.Quantity)
	switch {
	case q == nil || q.Form != quantity.Series:
		l.say(s.path, r.line, "quantity", fmt.Sprintf("%q is no quantity of readings", v.Quantity), meant(v.Quantity, l.seriesCodes()))
	case unit.Convertible(v.Unit, q.Unit) != nil:
		l.say(s.path, r.line, "unit", unit.Convertible(v.Unit, q.Unit).Error(), fmt.Sprintf("%s is kept in %s or a unit that turns into it", q.Code, q.Unit))
	}
	if on := l.onPlan(); on != nil && !on(s.cell(r, "place")) {
		l.say(s.path, r.line, "place", fmt.Sprintf("%s is on no revision of the plan", s.cell(r, "place")), "correct the code, or add the feature to the plan")
	}
	for _, ref := range []struct{ column, kind string }{{"instrument", "instrument.1"}, {"deployment", "deployment.1"}} {
		if v := s.cell(r, ref.column); v != "" && !l.hasRef(ref.kind, v) {
			l.say(s.path, r.line, ref.column, fmt.Sprintf("no %s has the id %s", ref.column, v), "correct it, or add the row to registers/"+ref.column+"s.csv")
		}
	}
	m.Values = append(m.Values, v)
}

func (l *loader) seriesCodes() []string {
	var out []string
	for _, q := range l.quantities.All() {
		if q.Form == quantity.Series {
			out = append(out, q.Code)
		}
	}
	return out
}

func (l *loader) hasRef(kind, ref string) bool {
	return slices.ContainsFunc(l.out.Drafts, func(d book.Draft) bool { return d.Kind == kind && d.Body.Text("ref") == ref })
}

// importEnvelope reads what the shared columns say of a file; when it happened
// is told by the readings themselves.
func (l *loader) importEnvelope(s *sheet, r row, name string) (book.Draft, time.Time) {
	d := book.Draft{Kind: "import.1", Source: source(s.path, r.line), By: s.cell(r, "by"), For: s.cell(r, "for"), Role: s.cell(r, "role"), Reason: s.cell(r, "reason")}
	var recorded time.Time
	if v := s.cell(r, "made"); v != "" {
		d.Made = l.instant(s, r, "made", v)
	}
	if v := s.cell(r, "recorded"); v != "" {
		recorded = l.instant(s, r, "recorded", v)
	}
	l.supersedes(s, r, &d)
	return d, recorded
}

// importBody puts down how a file was read and what came of it.
func (l *loader) importBody(s *sheet, f loggerFile, d *book.Draft, h book.Hash, m series.Mapping, p *series.Parsed) {
	of := make([]monitoring.ImportChannel, len(f.rows))
	for i, r := range f.rows {
		of[i] = monitoring.ImportChannel{Place: s.cell(r, "place"), Instrument: s.cell(r, "instrument"), Deployment: s.cell(r, "deployment")}
	}
	d.Body, d.Places, d.At, d.Until = monitoring.ImportBody(h, path.Base(l.out.Files[h].Path), m, p, of)
	if !d.At.IsZero() {
		d.Precision = book.ToMillisecond
	}
	l.people.fill(d, d.At)
	d.Files = []book.Hash{h}
}

// importID gives an import its id: from the file's bytes, so that a file
// brought in again is the same entry however it is read.
func (l *loader) importID(s *sheet, r row, d *book.Draft, name string, h book.Hash) {
	if d.ID = book.ID(s.cell(r, "id")); !d.ID.Valid() {
		d.ID = book.RowID(l.site.ID, d.Kind, s.path, importKey(h, s.seen))
	}
	s.refs[name] = append(s.refs[name], d.ID)
	if d.Supersedes != "" {
		s.lines[d.Supersedes] = d.ID
	}
	s.at[d.ID] = r.line
}

// importKey is the row key of an import: the hash of its file, numbered from
// the second entry of one file on.
func importKey(h book.Hash, seen map[string]int) string {
	key := h.String()
	seen[key]++
	if n := seen[key]; n > 1 {
		return fmt.Sprintf("%s correction %d", key, n-1)
	}
	return key
}

func (l *loader) parse(file string, m series.Mapping) *series.Parsed {
	r, err := l.fsys.Open(file)
	if err != nil {
		l.say(file, 0, "", plainError(err), "")
		return nil
	}
	defer r.Close()
	p, err := series.ReadDelimited(r, file, m)
	if err != nil {
		l.cause(file, 0, "", err)
		return nil
	}
	return p
}

// mapping reads the mapping a row names and completes it with the zone.
func (l *loader) mapping(s *sheet, r row) (series.Mapping, bool) {
	name := s.cell(r, "mapping")
	if name != "" && !strings.Contains(name, "/") {
		name = "readings/mappings/" + name
	}
	if path.Ext(name) == "" && name != "" {
		name += ".yaml"
	}
	if name == "" || !l.exists(name) {
		l.say(s.path, r.line, "mapping", fmt.Sprintf("there is no mapping %q", s.cell(r, "mapping")), "name a file in readings/mappings that says how the logger file is read")
		return series.Mapping{}, false
	}
	data, ok := l.bytes(name)
	if !ok {
		return series.Mapping{}, false
	}
	n := readYAML(name, data, &l.findings)
	if n == nil {
		return series.Mapping{}, false
	}
	m, ok := l.mappingNode(name, n)
	m.Time.Zone = s.cell(r, "zone")
	return m, ok
}
