package folder

import (
	"bytes"
	"encoding/json"
	"path"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

// readCalendars reads the holiday lists. The name of a file is the list's id.
func (l *loader) readCalendars() {
	kind := l.kinds.Named("calendar.1")
	for _, file := range l.names("calendars", ".json") {
		data, ok := l.bytes(file)
		if !ok {
			continue
		}
		id := strings.TrimSuffix(path.Base(file), ".json")
		h, err := calendar.ReadHolidays(bytes.NewReader(data), id)
		if err != nil {
			l.cause(file, 0, "", err)
			continue
		}
		d := book.Draft{Kind: kind.Name, Source: file, Body: calendarBody(h)}
		l.day(&d, moment{l.site.Created, book.ToMinute, offsetOf(l.site.Created.In(l.site.Loc))})
		if !bytes.Equal(data, calendarText(d.Body)) {
			original, err := l.file(file)
			if err != nil {
				l.cause(file, 0, "", err)
				continue
			}
			d.Files = []book.Hash{original}
		}
		n := l.sidecar(file)
		if n != nil {
			n.only(sidecarOf(file), &l.findings, nil, "entry")
		}
		recorded := l.entryNode(sidecarOf(file), n.get("entry"), &d)
		if d.ID == "" {
			d.ID = book.RowID(l.site.ID, kind.Name, file, id)
		}
		l.add(d, file, 0, recorded)
	}
	l.strayFiles("calendars", ".json", ".yaml")
}

func calendarBody(h *calendar.Holidays) book.Object {
	days := []any{}
	for _, d := range h.Days {
		o := book.Object{"date": d.Date.String(), "title": d.Title}
		if d.Note != "" {
			o["note"] = d.Note
		}
		days = append(days, o)
	}
	return book.Object{"id": h.ID, "source": h.Source, "from_year": int64(h.FromYear), "to_year": int64(h.ToYear), "days": days}
}

// calendarText is a holiday list as this package writes it.
func calendarText(body book.Object) []byte {
	type day struct {
		Date  string `json:"date"`
		Title string `json:"title"`
		Note  string `json:"note,omitempty"`
	}
	list := struct {
		ID       string `json:"id"`
		Source   string `json:"source"`
		FromYear int64  `json:"from_year"`
		ToYear   int64  `json:"to_year"`
		Days     []day  `json:"days"`
	}{body.Text("id"), body.Text("source"), body.Integer("from_year"), body.Integer("to_year"), []day{}}
	for _, o := range body.Objects("days") {
		list.Days = append(list.Days, day{o.Text("date"), o.Text("title"), o.Text("note")})
	}
	return prettyJSON(list)
}

// prettyJSON writes a value as indented JSON with a line end.
func prettyJSON(v any) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return []byte(err.Error())
	}
	return b.Bytes()
}
