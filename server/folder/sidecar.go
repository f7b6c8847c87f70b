package folder

import (
	"fmt"
	"path"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// entryKeys are the members of an entry: mapping, which says of a file what
// the shared columns say of a row.
var entryKeys = []string{"id", "at", "by", "for", "role", "supersedes", "reason", "made", "recorded"}

// sidecarOf is the file that says what the data file beside it cannot.
func sidecarOf(file string) string {
	name := strings.TrimSuffix(file, path.Ext(file))
	if strings.HasPrefix(file, "permits/") {
		return name + ".entry.yaml" // a notice is YAML itself
	}
	return name + ".yaml"
}

// sidecar reads the file beside a data file; nil when there is none or it
// cannot be read.
func (l *loader) sidecar(file string) *node {
	name := sidecarOf(file)
	if !l.exists(name) {
		return nil
	}
	data, ok := l.bytes(name)
	if !ok {
		return nil
	}
	return readYAML(name, data, &l.findings)
}

// entryNode fills a draft from an entry: mapping and returns the time of
// receipt, zero when not told. n may be nil.
func (l *loader) entryNode(file string, n *node, d *book.Draft) (recorded time.Time) {
	if n != nil {
		n.only(file, &l.findings, entryKeys)
	}
	if v := n.word("id"); v != "" {
		if d.ID = book.ID(v); !d.ID.Valid() {
			l.say(file, n.line, "id", fmt.Sprintf("%q is no entry id of 32 hex digits", v), "")
		}
	}
	if v := n.word("supersedes"); v != "" {
		if d.Supersedes = book.ID(v); !d.Supersedes.Valid() {
			l.say(file, n.line, "supersedes", fmt.Sprintf("%q is no entry id of 32 hex digits", v), "")
		}
	}
	if v := n.word("at"); v != "" {
		if m, err := parseMoment(v, l.site.Loc); err != nil {
			l.say(file, n.line, "at", err.Error(), "")
		} else {
			d.At, d.Precision, d.Offset = m.at, m.precision, m.offset
		}
	}
	d.Made, recorded = l.nodeInstant(file, n, "made"), l.nodeInstant(file, n, "recorded")
	d.By, d.For, d.Role, d.Reason = n.word("by"), n.word("for"), n.word("role"), n.word("reason")
	l.people.fill(d, d.At)
	return recorded
}

func (l *loader) nodeInstant(file string, n *node, name string) time.Time {
	v := n.word(name)
	if v == "" {
		return time.Time{}
	}
	m, err := parseMoment(v, l.site.Loc)
	if err != nil {
		l.say(file, n.line, name, err.Error(), "")
	}
	return m.at
}

// day sets the time of a draft to a date in the site's zone.
func (l *loader) day(d *book.Draft, m moment) {
	d.At, d.Precision, d.Offset = m.at, m.precision, m.offset
}
