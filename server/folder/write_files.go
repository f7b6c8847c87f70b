package folder

import (
	"fmt"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/monitoring"
)

// sidecarText writes the file beside a data file, when there is anything to
// say.
func (w *writer) sidecarText(file, entry string) error {
	if entry == "" {
		return nil
	}
	return w.file(sidecarOf(file), []byte("entry: "+entry+"\n"))
}

// calendars writes the holiday lists: the original where one was kept.
func (w *writer) calendars() error {
	for _, e := range w.byKind["calendar.1"] {
		id := e.Body.Text("id")
		name := "calendars/" + slug(id) + ".json"
		if len(e.Files) > 0 {
			name = w.place(e.Files[0], name)
		} else {
			name = w.free(name)
			if err := w.file(name, calendarText(e.Body)); err != nil {
				return err
			}
		}
		derived := book.RowID(w.siteID, e.Kind, name, id)
		if err := w.sidecarText(name, w.entryMapping(e, derived, w.opened(), w.receiptDefault())); err != nil {
			return err
		}
	}
	return nil
}

// plans writes the revisions of the plan with their sidecars.
func (w *writer) plans() error {
	kind := w.kinds.Named("plan.1")
	for _, e := range w.byKind["plan.1"] {
		h, err := book.ParseHash(e.Body.Text("file"))
		if err != nil {
			return fmt.Errorf("entry %d: file: %w", e.Seq, err)
		}
		name := w.place(h, "plan/"+calendar.DateOf(e.At, w.loc).String()+".geojson")
		var b strings.Builder
		fmt.Fprintf(&b, "valid_from: %s\n", formatMoment(momentOf(e), w.loc))
		w.yamlLines(&b, "", kind, e.Body, "file")
		derived := book.RowID(w.siteID, e.Kind, name, path.Base(name))
		if m := w.entryMapping(e, derived, momentOf(e), w.receiptOf(e)); m != "" {
			b.WriteString("entry: " + m + "\n")
		}
		if err := w.file(sidecarOf(name), []byte(b.String())); err != nil {
			return err
		}
	}
	return nil
}

// receiptOf is when a plan or notice was received where nothing says it.
func (w *writer) receiptOf(e *book.Entry) time.Time {
	if w.opts.Receipts != Received {
		return time.Time{}
	}
	if e.At.After(w.created) {
		return e.At
	}
	return w.created
}

// permits writes the notices: the original text where one was kept.
func (w *writer) permits() error {
	for _, e := range append(slices.Clone(w.byKind["permit.1"]), w.byKind["variation.1"]...) {
		head, _ := e.Body["permit"].(book.Object)
		name := "permits/" + slug(head.Text("reference"))
		text := noticeText(e.Body)
		if len(e.Files) > 0 {
			name = w.place(e.Files[0], name+".yaml")
		} else {
			name = w.free(name + ".json")
			if err := w.file(name, text); err != nil {
				return err
			}
		}
		derived := book.RowID(w.siteID, e.Kind, name, path.Base(name))
		if err := w.sidecarText(name, w.entryMapping(e, derived, w.noticeMoment(e), w.receiptOf(e))); err != nil {
			return err
		}
	}
	return nil
}

// noticeMoment is the time that reading a notice gives its entry.
func (w *writer) noticeMoment(e *book.Entry) moment {
	head, _ := e.Body["permit"].(book.Object)
	text := head.Text("effective")
	if text == "" {
		text = head.Text("granted")
	}
	date, err := calendar.ParseDate(text)
	if err != nil {
		return moment{}
	}
	at := date.Start(w.loc)
	return moment{at.UTC(), book.ToDay, offsetOf(at.In(w.loc))}
}

// readings writes readings/index.csv with the mappings and names the logger
// files.
func (w *writer) readings() error {
	list := w.byKind["import.1"]
	if len(list) == 0 {
		return nil
	}
	t := &rowsOf{path: readingsIndex, kind: &book.Kind{Name: "import.1"}, seen: map[string]int{}, refs: map[string][]book.ID{}}
	mappings := map[string]string{} // text → name
	for _, e := range list {
		h, err := book.ParseHash(e.Body.Text("file"))
		if err != nil {
			return fmt.Errorf("entry %d: file: %w", e.Seq, err)
		}
		if _, there := w.paths[h]; !there {
			name := path.Base(e.Body.Text("name"))
			if name == "." || name == "/" || name == "index.csv" {
				name = h.String()[:16] + ".csv"
			}
			w.place(h, "readings/"+name)
		}
		file := strings.TrimPrefix(w.paths[h], "readings/")
		m := monitoring.MappingOf(e.Body)
		text := string(mappingText(m))
		if mappings[text] == "" {
			name := w.free("readings/mappings/" + strings.TrimSuffix(file, path.Ext(file)) + ".yaml")
			mappings[text] = strings.TrimSuffix(path.Base(name), ".yaml")
			if err := w.file(name, []byte(text)); err != nil {
				return err
			}
		}
		w.channelRows(t, e, h, file, mappings[text])
	}
	return w.file(readingsIndex, t.channels())
}

func (w *writer) channelRows(t *rowsOf, e *book.Entry, h book.Hash, file, mapping string) {
	cells := w.envelopeCells(t, e)
	for _, gone := range []string{"at", "until", "places", "files", "ref", "id"} {
		delete(cells, gone)
	}
	before := t.seen[h.String()]
	if book.RowID(w.siteID, e.Kind, t.path, importKey(h, t.seen)) != e.ID {
		cells["id"] = string(e.ID)
		t.seen[h.String()] = before
	}
	m := monitoring.MappingOf(e.Body)
	for i, c := range e.Body.Objects("channels") {
		row := map[string]string{}
		for k, v := range cells {
			row[k] = v
		}
		row["zone"], row["file"], row["mapping"] = m.Time.Zone, file, mapping
		for _, key := range []string{"channel", "quantity", "place", "deployment", "unit", "instrument"} {
			row["."+key] = c.Text(key)
		}
		if i < len(m.Values) {
			row[".column"], row[".qualifier"] = m.Values[i].Column, m.Values[i].Qualifier
		}
		t.rows = append(t.rows, row)
	}
}

// channels writes the table of channels.
func (t *rowsOf) channels() []byte {
	var keys, head []string
	for _, name := range channelColumns {
		key := "." + name
		if name == "zone" || name == "file" || name == "mapping" {
			key = name
		}
		if name == "qualifier" && !t.needs(key) {
			continue
		}
		keys, head = append(keys, key), append(head, name)
	}
	for _, name := range envelopeColumns {
		if name != "at" && t.needs(name) {
			keys, head = append(keys, name), append(head, name)
		}
	}
	return csvText(head, keys, t.rows)
}
