package folder

import (
	"bytes"
	"errors"
	"path"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// readNotice is one notice with the entry it makes.
type readNotice struct {
	file     string
	notice   *permit.Notice
	draft    book.Draft
	recorded time.Time
}

// readPermits reads the notices, and after them their variations.
func (l *loader) readPermits() {
	var list []readNotice
	superseded := map[book.ID]bool{}
	for _, file := range l.names("permits", ".yaml", ".json") {
		if strings.HasSuffix(file, ".entry.yaml") {
			continue
		}
		data, ok := l.bytes(file)
		if !ok {
			continue
		}
		n, err := permit.Read(bytes.NewReader(data), file)
		if err != nil {
			l.permitError(file, err)
			continue
		}
		r := l.noticeDraft(file, n, data)
		superseded[r.draft.Supersedes] = true
		list = append(list, r)
	}
	var standing []*permit.Notice
	for _, r := range list {
		l.permitFaults(permit.Check(r.notice, l.quantities, l.onPlan()))
		if !superseded[r.draft.ID] {
			standing = append(standing, r.notice)
		}
	}
	l.permitFaults(permit.CheckTogether(standing))
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, r := range list {
			if r.draft.Kind == kind {
				l.add(r.draft, r.file, 0, r.recorded)
			}
		}
	}
	l.strayFiles("permits", ".json", ".yaml")
}

// permitError files what is wrong with a text that is not of the language.
func (l *loader) permitError(file string, err error) {
	var fs permit.Faults
	if !errors.As(err, &fs) {
		l.cause(file, 0, "", err)
		return
	}
	l.permitFaults(fs)
}

func (l *loader) permitFaults(fs permit.Faults) {
	for _, f := range fs {
		l.say(f.File, f.Line, f.Field, f.Reason, f.Remedy)
	}
}

// onPlan tells whether a code stands on any revision of the plan; nil when the
// folder has no plan to look at.
func (l *loader) onPlan() func(string) bool {
	if len(l.codes) == 0 {
		return nil
	}
	return func(code string) bool { return l.codes[code] }
}

// noticeDraft makes the entry of a notice. Its text is kept as an original,
// unless it is what this package writes for a notice that has none.
func (l *loader) noticeDraft(file string, n *permit.Notice, data []byte) readNotice {
	d := book.Draft{Kind: "permit.1", Source: file, Body: permit.ToObject(n)}
	if n.Varies != "" {
		d.Kind = "variation.1"
	}
	date := n.Granted
	if !n.Effective.IsZero() {
		date = n.Effective
	}
	l.day(&d, l.moment(date))
	if !bytes.Equal(data, noticeText(d.Body)) {
		h, err := l.file(file)
		if err != nil {
			l.cause(file, 0, "", err)
		}
		d.Files = []book.Hash{h}
	}
	side := l.sidecar(file)
	if side != nil {
		side.only(sidecarOf(file), &l.findings, nil, "entry")
	}
	recorded := l.entryNode(sidecarOf(file), side.get("entry"), &d)
	if d.ID == "" {
		d.ID = book.RowID(l.site.ID, d.Kind, file, path.Base(file))
	}
	return readNotice{file, n, d, recorded}
}

// moment is a date in the site's zone.
func (l *loader) moment(date calendar.Date) moment {
	at := date.Start(l.site.Loc)
	return moment{at.UTC(), book.ToDay, offsetOf(at.In(l.site.Loc))}
}

// noticeText is a notice without a text of its own, as this package writes it:
// the language in JSON.
func noticeText(body book.Object) []byte { return prettyJSON(plainJSON(body)) }

// plainJSON turns a body into what the JSON encoder takes.
func plainJSON(v any) any {
	switch v := v.(type) {
	case book.Object:
		out := map[string]any{}
		for k, e := range v {
			out[k] = plainJSON(e)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = plainJSON(v[i])
		}
		return out
	}
	return v
}
