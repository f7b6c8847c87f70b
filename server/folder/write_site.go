package folder

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

var plainYAML = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_./+ -]*$`)

// quoted writes a text as a YAML value: bare where nothing in it could be
// taken for something else, else in double quotes.
func quoted(s string) string {
	if plainYAML.MatchString(s) && !strings.HasSuffix(s, " ") && strings.ToLower(s) != "null" {
		return s
	}
	return jsonText(s)
}

// yamlLines writes the fields of a body, each on a line of its own.
func (w *writer) yamlLines(b *strings.Builder, indent string, kind *book.Kind, body book.Object, but ...string) {
	for i := range kind.Fields {
		fd := &kind.Fields[i]
		v, there := body[fd.Name]
		if !there || slices.Contains(but, fd.Name) {
			continue
		}
		text := w.formatCell(fd, v)
		if fd.Type != book.List && fd.Type != book.Group {
			text = quoted(text)
		}
		fmt.Fprintf(b, "%s%s: %s\n", indent, fd.Name, text)
	}
}

// entryMapping writes what an entry has that a reader would not supply by
// itself: derived is the id it would give, at the time and receipt the time of
// receipt it would take. "" when there is nothing.
func (w *writer) entryMapping(e *book.Entry, derived book.ID, at moment, receipt time.Time) string {
	var parts []string
	add := func(key, v string) {
		if v != "" {
			parts = append(parts, key+": "+quoted(v))
		}
	}
	if e.ID != derived {
		add("id", string(e.ID))
	}
	if m := momentOf(e); !m.at.Equal(at.at) || m.precision != at.precision || m.offset != at.offset {
		add("at", formatMoment(momentOf(e), w.loc))
	}
	if e.By != w.people.by {
		add("by", e.By)
	}
	add("for", e.For)
	if e.Role != w.people.role(e.By, e.At) {
		add("role", e.Role)
	}
	add("supersedes", string(e.Supersedes))
	add("reason", e.Reason)
	add("made", stamp(w.made(e)))
	if r := w.recorded(e); !r.Equal(receipt) {
		add("recorded", stamp(r))
	}
	if len(parts) == 0 {
		return ""
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// opened is the time that stands for what has none of its own.
func (w *writer) opened() moment {
	return moment{w.created, book.ToMinute, offsetOf(w.created.In(w.loc))}
}

// site writes site.yaml.
func (w *writer) site() error {
	var b strings.Builder
	kind := w.kinds.Named("site.1")
	for i, e := range w.byKind["site.1"] {
		indent := ""
		if i == 1 {
			b.WriteString("corrections:\n")
		}
		if i > 0 {
			b.WriteString("  - name: " + quoted(e.Body.Text("name")) + "\n")
			indent = "    "
		}
		if i == 0 {
			fmt.Fprintf(&b, "id: %s\nname: %s\nopened: %s\n", e.Site, quoted(e.Body.Text("name")), formatMoment(w.opened(), w.loc))
			if !w.opts.JudgeAt.IsZero() {
				fmt.Fprintf(&b, "judge_at: %s\n", stamp(w.opts.JudgeAt))
			}
			fmt.Fprintf(&b, "entered_by: %s\n", quoted(e.By))
		}
		but := []string{"name"}
		if own, err := w.ownZone(e); err != nil {
			return err
		} else if own {
			but = append(but, "zone_data")
		}
		w.yamlLines(&b, indent, kind, e.Body, but...)
		derived := book.ID("")
		if i == 0 {
			derived = book.RowID(w.siteID, kind.Name, siteFile, w.siteID)
		}
		if m := w.entryMapping(e, derived, w.opened(), w.receiptDefault()); m != "" {
			fmt.Fprintf(&b, "%sentry: %s\n", indent, m)
		}
	}
	w.persons(&b)
	return w.file(siteFile, []byte(b.String()))
}

// receiptDefault is when what stands in no table was received.
func (w *writer) receiptDefault() time.Time {
	if w.opts.Receipts == Received {
		return w.created
	}
	return time.Time{}
}

// ownZone tells whether a site entry keeps the very zone rules that this
// program brings; others are kept as an original.
func (w *writer) ownZone(e *book.Entry) (bool, error) {
	h, err := book.ParseHash(e.Body.Text("zone_data"))
	if err != nil {
		return true, nil
	}
	r, err := w.open(h)
	if err != nil {
		return false, fmt.Errorf("zone rules of entry %d: %w", e.Seq, err)
	}
	defer r.Close()
	kept, err := io.ReadAll(r)
	if err != nil {
		return false, fmt.Errorf("zone rules of entry %d: %w", e.Seq, err)
	}
	own, err := calendar.ZoneData(e.Body.Text("zone"))
	if err == nil && bytes.Equal(kept, own) {
		return true, nil
	}
	w.place(h, "documents/zone.tzif")
	return false, nil
}

// persons writes the people, each with the roles they hold.
func (w *writer) persons(b *strings.Builder) {
	if len(w.byKind["person.1"]) == 0 {
		return
	}
	b.WriteString("people:\n")
	kind := w.kinds.Named("person.1")
	done := map[string]bool{}
	for _, e := range w.byKind["person.1"] {
		ref := e.Body.Text("ref")
		fmt.Fprintf(b, "  - id: %s\n", quoted(ref))
		w.yamlLines(b, "    ", kind, e.Body)
		if m := w.entryMapping(e, personID(w.siteID, ref, done[ref]), w.opened(), w.receiptDefault()); m != "" {
			fmt.Fprintf(b, "    entry: %s\n", m)
		}
		if !done[ref] {
			w.roles(b, ref)
		}
		done[ref] = true
	}
}

// personID is the id of a person's entry; a second one has none of itself.
func personID(site, ref string, second bool) book.ID {
	if second {
		return ""
	}
	return book.RowID(site, "person.1", siteFile, ref)
}

// roleID is the id of the entry of a role held.
func roleID(site, person, role, from string) book.ID {
	return book.RowID(site, "role.1", siteFile, person+" "+role+" "+from)
}

func (w *writer) roles(b *strings.Builder, person string) {
	kind := w.kinds.Named("role.1")
	head := false
	for _, e := range w.byKind["role.1"] {
		if e.Body.Text("person") != person {
			continue
		}
		if !head {
			b.WriteString("    roles:\n")
			head = true
		}
		from := formatMoment(momentOf(e), w.loc)
		fmt.Fprintf(b, "      - role: %s\n        from: %s\n", quoted(e.Body.Text("role")), from)
		if !e.Until.IsZero() {
			fmt.Fprintf(b, "        until: %s\n", formatUntil(e.Until, momentOf(e), w.loc))
		}
		w.yamlLines(b, "        ", kind, e.Body, "person", "role")
		derived := roleID(w.siteID, person, e.Body.Text("role"), from)
		if m := w.entryMapping(e, derived, momentOf(e), w.receiptDefault()); m != "" {
			fmt.Fprintf(b, "        entry: %s\n", m)
		}
	}
}
