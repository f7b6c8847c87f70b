package folder

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// envelopeColumns may stand in every register, in the order they are written.
var envelopeColumns = []string{"id", "ref", "at", "until", "places", "by", "for", "role", "supersedes", "withdraws", "reason", "files", "made", "recorded"}

// sheet is a table being turned into entries: its columns by name.
type sheet struct {
	*table
	kind   *book.Kind
	column map[string]int       // envelope column → position
	fields map[int]*book.Field  // position → field of the body
	lines  lines                // corrections within this sheet
	seen   map[string]int       // content → how often it stood
	at     map[book.ID]int      // entry → line
	refs   map[string][]book.ID // reference → entries that carry it, in order
}

// lines tells what superseded what within a sheet.
type lines map[book.ID]book.ID

func newSheet(t *table, kind *book.Kind) *sheet {
	return &sheet{table: t, kind: kind, column: map[string]int{}, fields: map[int]*book.Field{},
		lines: lines{}, seen: map[string]int{}, at: map[book.ID]int{}, refs: map[string][]book.ID{}}
}

// columnName is the name of an envelope column in the register of a kind:
// where the kind has a field of that name, the field keeps it.
func columnName(k *book.Kind, name string) string {
	if fd := fieldNamed(k, name); fd != nil && name != "ref" {
		return "entry_" + name
	}
	return name
}

// cell returns the text of an envelope column in a row, trimmed.
func (s *sheet) cell(r row, name string) string {
	i, ok := s.column[name]
	if !ok {
		return ""
	}
	return strings.TrimSpace(r.cells[i])
}

// columns sorts the columns into envelope and body, and files the unknown.
// more are further names this sheet reads by itself.
func (l *loader) columns(s *sheet, more ...string) bool {
	before := len(l.problems)
	known := slices.Clone(more)
	envelope := map[string]string{} // name in the head → envelope column
	for _, name := range envelopeColumns {
		known = append(known, columnName(s.kind, name))
		envelope[columnName(s.kind, name)] = name
	}
	for i := range s.kind.Fields {
		if fd := &s.kind.Fields[i]; fd.Name != "ref" {
			known = append(known, header(fd))
		}
	}
	for i, h := range s.head {
		fd := fieldNamed(s.kind, h.name)
		switch {
		case fd != nil && fd.Name != "ref" && !slices.Contains(more, h.name):
			if fd.Unit != h.unit {
				l.unitProblem(s.path, h, fd)
				continue
			}
			s.fields[i] = fd
		case h.unit == "" && slices.Contains(more, h.name):
			s.column[h.name] = i
		case h.unit == "" && envelope[h.name] != "":
			s.column[envelope[h.name]] = i
		default:
			l.say(s.path, 1, h.text, "no such column in "+s.kind.Register, meant(h.text, known))
		}
	}
	for i := range s.kind.Fields {
		fd := &s.kind.Fields[i]
		if fd.Required && fd.Name != "ref" && !s.has(fd) && !slices.Contains(more, fd.Name) {
			l.say(s.path, 1, header(fd), "the column is missing", "add it: "+fd.Title)
		}
	}
	return len(l.problems) == before
}

func (s *sheet) has(fd *book.Field) bool { return s.fieldAt(fd.Name) >= 0 }

// fieldAt returns the position of the column of a field, -1 when there is none.
func (s *sheet) fieldAt(name string) int {
	for i, f := range s.fields {
		if f.Name == name {
			return i
		}
	}
	return -1
}

func (l *loader) unitProblem(path string, h headCell, fd *book.Field) {
	switch {
	case fd.Unit == "":
		l.say(path, 1, h.text, "the column carries no unit", fmt.Sprintf("head it %s", fd.Name))
	case h.unit == "":
		l.say(path, 1, h.text, fmt.Sprintf("the unit is missing; this field is in %s", fd.Unit), fmt.Sprintf("head it %s, with values in %s", header(fd), fd.Unit))
	default:
		l.say(path, 1, h.text, fmt.Sprintf("unit %s, but this field is in %s", h.unit, fd.Unit), fmt.Sprintf("convert the values to %s and head the column %s", fd.Unit, header(fd)))
	}
}

// header is the head of a field's column: its name and unit.
func header(fd *book.Field) string {
	if fd.Unit == "" {
		return fd.Name
	}
	return fd.Name + " [" + fd.Unit + "]"
}

func fieldNamed(k *book.Kind, name string) *book.Field {
	for i := range k.Fields {
		if k.Fields[i].Name == name {
			return &k.Fields[i]
		}
	}
	return nil
}

// envelope reads the columns that every register shares. It files what is
// wrong and tells whether all was well.
func (l *loader) envelope(s *sheet, r row) (d book.Draft, recorded time.Time, ok bool) {
	before := len(l.problems)
	d.Kind, d.Source = s.kind.Name, source(s.path, r.line)
	at := l.moments(s, r, &d)
	if v := s.cell(r, "made"); v != "" {
		d.Made = l.instant(s, r, "made", v)
	}
	if v := s.cell(r, "recorded"); v != "" {
		recorded = l.instant(s, r, "recorded", v)
	}
	if v := s.cell(r, "places"); v != "" {
		d.Places = splitList(v)
	}
	d.By, d.For, d.Role, d.Reason = s.cell(r, "by"), s.cell(r, "for"), s.cell(r, "role"), s.cell(r, "reason")
	l.people.fill(&d, at.at)
	for _, p := range splitList(s.cell(r, "files")) {
		h, err := l.file(p)
		if err != nil {
			l.say(s.path, r.line, "files", err.Error(), "")
			continue
		}
		d.Files = append(d.Files, h)
	}
	l.supersedes(s, r, &d)
	return d, recorded, len(l.problems) == before
}

func (l *loader) moments(s *sheet, r row, d *book.Draft) moment {
	at, err := parseMoment(s.cell(r, "at"), l.site.Loc)
	if err != nil {
		if s.cell(r, "at") == "" {
			err = errors.New("when it happened is missing; " + momentForms)
		}
		l.say(s.path, r.line, "at", err.Error(), "")
		return at
	}
	d.At, d.Precision, d.Offset = at.at, at.precision, at.offset
	if v := s.cell(r, "until"); v != "" {
		until, err := parseUntil(v, at, l.site.Loc)
		switch {
		case err != nil:
			l.say(s.path, r.line, "until", err.Error(), "")
		case !until.After(at.at):
			l.say(s.path, r.line, "until", fmt.Sprintf("the end %s is not after the beginning %s", v, s.cell(r, "at")), "check both; an end on the next day needs its date")
		default:
			d.Until = until
		}
	}
	return at
}

func (l *loader) instant(s *sheet, r row, name, v string) time.Time {
	m, err := parseMoment(v, l.site.Loc)
	if err == nil && m.precision == book.ToDay {
		err = fmt.Errorf("%q has no time of day; %s", v, momentForms)
	}
	if err != nil {
		l.say(s.path, r.line, name, err.Error(), "")
	}
	return m.at
}

func splitList(v string) []string {
	var out []string
	for _, p := range strings.Split(v, ";") {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}

// supersedes finds the entry that a row corrects or withdraws.
func (l *loader) supersedes(s *sheet, r row, d *book.Draft) {
	v := s.cell(r, "supersedes")
	if w := s.cell(r, "withdraws"); w != "" {
		flag, err := parseFlag(w)
		if err != nil {
			l.say(s.path, r.line, "withdraws", err.Error(), "")
		}
		if flag && v == "" {
			l.say(s.path, r.line, "supersedes", "the row withdraws, but names no entry", "put the id of the row that is withdrawn here")
		}
	}
	if v == "" {
		return
	}
	if d.Reason == "" {
		l.say(s.path, r.line, "reason", "a correction or withdrawal needs its reason", "say in a sentence why")
	}
	target := book.ID(v)
	if !target.Valid() {
		carriers := s.refs[v]
		if len(carriers) == 0 {
			l.say(s.path, r.line, "supersedes", fmt.Sprintf("no row above has the id %s", v), "name the id of a row further up in this file")
			return
		}
		target = carriers[len(carriers)-1]
	}
	if by, superseded := s.lines[target]; superseded {
		l.say(s.path, r.line, "supersedes", fmt.Sprintf("%s was superseded already, by line %d", v, s.at[by]), "correct that row instead")
		return
	}
	d.Supersedes = target
}

// withdrawal tells whether a row takes back what it names.
func (s *sheet) withdrawal(r row) bool {
	flag, err := parseFlag(s.cell(r, "withdraws"))
	return err == nil && flag
}

// identify gives a draft its id from its id column or its content, and keeps
// its reference.
func (l *loader) identify(s *sheet, r row, d *book.Draft) bool {
	own, ref := s.cell(r, "id"), s.cell(r, "ref")
	id := book.ID(own)
	switch {
	case id.Valid():
		d.ID = id
	case own != "" && ref != "":
		l.say(s.path, r.line, "id", "id and ref both hold a reference", "keep one; with ref, id is the entry's own 32 hex digits")
		return false
	case own != "":
		ref = own
	}
	if d.Body == nil && ref != "" {
		l.say(s.path, r.line, "id", "a row that withdraws has no reference of its own", "leave id blank")
		return false
	}
	if !l.sameRef(s, r, d, ref) {
		return false
	}
	if ref != "" {
		d.Body["ref"] = ref
	}
	d.Files = withBodyFiles(d.Files, s.kind.Fields, d.Body)
	if d.ID == "" {
		d.ID = s.rowID(l.site.ID, d, ref)
		if n := s.seen[contentKey(d)]; ref == "" && n > 1 {
			l.note(s.path, r.line, fmt.Sprintf("a row above says exactly the same; this one is taken as entry %d of its kind; remove it if it stands twice by mistake, or give both an id", n))
		}
	}
	if ref != "" {
		s.refs[ref] = append(s.refs[ref], d.ID)
	}
	if d.Supersedes != "" {
		s.lines[d.Supersedes] = d.ID
	}
	s.at[d.ID] = r.line
	return true
}

// withBodyFiles adds the files that a body names to those of its envelope, in
// the order of the fields.
func withBodyFiles(files []book.Hash, fields []book.Field, body book.Object) []book.Hash {
	for i := range fields {
		fd := &fields[i]
		switch v := body[fd.Name].(type) {
		case string:
			if h, err := book.ParseHash(v); fd.Type == book.File && err == nil && !slices.Contains(files, h) {
				files = append(files, h)
			}
		case book.Object:
			files = withBodyFiles(files, fd.Fields, v)
		case []any:
			for _, one := range v {
				if o, ok := one.(book.Object); ok {
					files = withBodyFiles(files, fd.Fields, o)
				}
			}
		}
	}
	return files
}

// sameRef refuses a second row of one reference that is no correction of the
// first.
func (l *loader) sameRef(s *sheet, r row, d *book.Draft, ref string) bool {
	carriers := s.refs[ref]
	if ref == "" || len(carriers) == 0 || d.ID != "" || d.Supersedes == carriers[len(carriers)-1] {
		return true
	}
	l.say(s.path, r.line, "id", fmt.Sprintf("%s stands already in line %d", ref, s.at[carriers[0]]),
		"if this row corrects that one, put its id under supersedes; if it is the same row twice, remove one; else give it an id of its own")
	return false
}

// rowID derives an id as design of the book has it: from the reference, or
// from the content and how often it stood before.
func (s *sheet) rowID(site string, d *book.Draft, ref string) book.ID {
	return book.RowID(site, d.Kind, s.path, rowKey(d, ref, len(s.refs[ref]), s.seen))
}

// rowKey returns the key of a row: its reference, numbered from the second
// row of one reference on, or its content with its occurrence number.
func rowKey(d *book.Draft, ref string, carriers int, seen map[string]int) string {
	if ref != "" {
		if carriers > 0 {
			return ref + " correction " + strconv.Itoa(carriers)
		}
		return ref
	}
	content := contentKey(d)
	seen[content]++
	return content + " " + strconv.Itoa(seen[content])
}

// contentKey is what a draft says, as canonical bytes, without its id, the
// times it was made and received.
func contentKey(d *book.Draft) string {
	v := d.Envelope("", 0, time.Time{})
	v.ID, v.Made = "", time.Time{}
	o := book.Object{"envelope": string(v.Bytes())}
	if d.Body != nil {
		o["body"] = d.Body
	}
	return string(o.Bytes())
}
