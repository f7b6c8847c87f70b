package folder

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

const siteFile = "site.yaml"

// siteKeys are the keys of site.yaml that are not fields of the site's entry.
var siteKeys = []string{"id", "opened", "judge_at", "entered_by", "people", "corrections", "entry"}

// people is who may stand in a folder's entries, and in which roles.
type people struct {
	by    string // who entered what names nobody
	roles []heldRole
	known map[string]bool
}

// heldRole is a role a person holds from a day on.
type heldRole struct {
	person, role string
	from, until  time.Time
}

// fill completes who entered a draft and in which role.
func (p *people) fill(d *book.Draft, at time.Time) {
	if d.By == "" {
		d.By = p.by
	}
	if d.Role == "" {
		d.Role = p.role(d.By, at)
	}
}

// role returns the first role a person holds at an instant; where none is held
// then, the first there is.
func (p *people) role(person string, at time.Time) string {
	first := ""
	for _, r := range p.roles {
		if r.person != person {
			continue
		}
		if !at.Before(r.from) && (r.until.IsZero() || at.Before(r.until)) {
			return r.role
		}
		if first == "" {
			first = r.role
		}
	}
	return first
}

var siteIDForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{1,62}$`)

// readSite reads site.yaml: the site, its people and their roles. Without a
// site and its zone nothing else can be read.
func (l *loader) readSite() bool {
	if !l.exists(siteFile) {
		l.say(siteFile, 0, "", "the file is not there", "every site folder begins with it: id, name, zone, opened")
		return false
	}
	data, ok := l.bytes(siteFile)
	if !ok {
		return false
	}
	n := readYAML(siteFile, data, &l.findings)
	if n == nil {
		return false
	}
	kind := l.kinds.Named("site.1")
	if n.form != yaml.MappingNode {
		l.say(siteFile, n.line, "", "a mapping (name: value) is wanted here", "")
		return false
	}
	if !l.siteBasics(n) {
		return false
	}
	l.people.by = n.word("entered_by")
	if l.people.by == "" {
		l.say(siteFile, 0, "entered_by", "who entered what names nobody is missing", "put the id of one of the people")
	}
	l.readPeopleRoles(n.get("people"))
	l.addSite(n, kind, siteKeys, book.RowID(l.site.ID, kind.Name, siteFile, l.site.ID))
	if list := n.get("corrections"); list != nil {
		for _, c := range list.list {
			l.addSite(c, kind, []string{"entry"}, "")
		}
	}
	l.addPeople(n.get("people"))
	return true
}

// addSite makes the entry of the site, or of a correction of it. The rules of
// its zone are kept with it, as the program holds them.
func (l *loader) addSite(n *node, kind *book.Kind, other []string, id book.ID) {
	d := l.opened(kind, n.line)
	d.Body = l.yamlBody(siteFile, n, kind, other)
	if zone, err := calendar.ZoneData(d.Body.Text("zone")); err == nil && !d.Body.Has("zone_data") {
		d.Body["zone_data"] = l.memory("zone.tzif", zone).String()
	}
	d.Files = withBodyFiles(nil, kind.Fields, d.Body)
	recorded := l.entryNode(siteFile, n.get("entry"), &d)
	if d.ID == "" {
		d.ID = id
	}
	l.add(d, siteFile, n.line, recorded)
}

// opened is a draft of what has held since the book was opened.
func (l *loader) opened(kind *book.Kind, line int) book.Draft {
	at := l.site.Created
	return book.Draft{Kind: kind.Name, At: at, Precision: book.ToMinute, Offset: offsetOf(at.In(l.site.Loc)), Source: source(siteFile, line)}
}

func (l *loader) siteBasics(n *node) bool {
	before := len(l.problems)
	l.site.ID, l.site.Name, l.site.Zone = n.word("id"), n.word("name"), n.word("zone")
	if !siteIDForm.MatchString(l.site.ID) {
		l.say(siteFile, lineOf(n, "id"), "id", fmt.Sprintf("%q is no site id", l.site.ID), "use small letters, digits and hyphens, two at least; it can never change")
	}
	loc, err := calendar.LoadZone(l.site.Zone)
	if err != nil {
		l.say(siteFile, lineOf(n, "zone"), "zone", err.Error(), "")
		return false
	}
	l.site.Loc = loc
	for _, one := range []struct {
		key  string
		into *time.Time
		must bool
	}{{"opened", &l.site.Created, true}, {"judge_at", &l.site.JudgeAt, false}} {
		v := n.word(one.key)
		if v == "" && !one.must {
			continue
		}
		m, err := parseMoment(v, loc)
		if err != nil || v == "" {
			l.say(siteFile, lineOf(n, one.key), one.key, fmt.Sprintf("%q is no time", v), momentForms)
			continue
		}
		*one.into = m.at
	}
	return len(l.problems) == before
}

func lineOf(n *node, name string) int {
	if v := n.get(name); v != nil {
		return v.line
	}
	return 0
}

// yamlBody turns a YAML mapping into the body of an entry, by the fields of
// its kind. Keys in other are not fields and are passed over.
func (l *loader) yamlBody(file string, n *node, kind *book.Kind, other []string) book.Object {
	o := book.Object{}
	known := slices.Clone(other)
	for i := range kind.Fields {
		known = append(known, kind.Fields[i].Name)
	}
	for _, k := range n.keys {
		fd := fieldNamed(kind, k.name)
		switch {
		case slices.Contains(other, k.name):
		case fd == nil:
			l.say(file, k.line, k.name, "the key is not known here", meant(k.name, known))
		default:
			if v := l.yamlValue(file, k.value, fd); v != nil {
				o[k.name] = v
			}
		}
	}
	return o
}

// yamlValue turns a YAML node into the value of a field; nil when it is blank
// or wrong.
func (l *loader) yamlValue(file string, n *node, fd *book.Field) any {
	switch {
	case fd.Type == book.List && n.form == yaml.SequenceNode:
		out := []any{}
		for _, c := range n.list {
			if v := l.yamlValue(file, c, &book.Field{Type: book.Group, Fields: fd.Fields, Name: fd.Name}); v != nil {
				out = append(out, v)
			}
		}
		return out
	case fd.Type == book.Group && n.form == yaml.MappingNode:
		return l.yamlBody(file, n, &book.Kind{Fields: fd.Fields}, nil)
	case fd.Type == book.Group && n.form == yaml.ScalarNode && len(fd.Fields) == 0:
		return n.text
	case fd.Type == book.List || fd.Type == book.Group || n.form != yaml.ScalarNode:
		l.say(file, n.line, fd.Name, "the value has not the form of this field", fd.Title)
		return nil
	case strings.TrimSpace(n.text) == "":
		return nil
	}
	v, err := l.parseCell(fd, n.text)
	if err != nil {
		l.say(file, n.line, fd.Name, err.Error(), "")
		return nil
	}
	return v
}

// readPeopleRoles learns who holds which role, before any entry needs it.
func (l *loader) readPeopleRoles(n *node) {
	l.people.known = map[string]bool{}
	if n == nil || n.form != yaml.SequenceNode {
		l.say(siteFile, 0, "people", "the list of people is missing", "list each with id, name and roles")
		return
	}
	for _, p := range n.list {
		id := p.word("id")
		if id == "" || l.people.known[id] && p.get("entry").word("supersedes") == "" {
			l.say(siteFile, p.line, "people", fmt.Sprintf("id %q is blank or stands twice", id), "give each person an id of their own that says nothing about them")
			continue
		}
		l.people.known[id] = true
		if p.get("roles") == nil {
			continue
		}
		for _, r := range p.get("roles").list {
			from, until, ok := l.roleSpan(r)
			if ok {
				l.people.roles = append(l.people.roles, heldRole{id, r.word("role"), from, until})
			}
		}
	}
	if l.people.by != "" && !l.people.known[l.people.by] {
		l.say(siteFile, 0, "entered_by", fmt.Sprintf("%s is not among the people", l.people.by), "")
	}
}

func (l *loader) roleSpan(r *node) (from, until time.Time, ok bool) {
	m, err := parseMoment(r.word("from"), l.site.Loc)
	if err != nil {
		l.say(siteFile, r.line, "roles", fmt.Sprintf("from: %s", err), "say since when the role is held")
		return from, until, false
	}
	if v := r.word("until"); v != "" {
		until, err = parseUntil(v, m, l.site.Loc)
		if err != nil {
			l.say(siteFile, r.line, "roles", fmt.Sprintf("until: %s", err), "")
			return from, until, false
		}
	}
	return m.at, until, true
}

// addPeople makes the entries of people and their roles.
func (l *loader) addPeople(n *node) {
	if n == nil {
		return
	}
	kind := l.kinds.Named("person.1")
	done := map[string]bool{}
	for _, p := range n.list {
		id := p.word("id")
		d := l.opened(kind, p.line)
		d.Body = l.yamlBody(siteFile, p, kind, []string{"id", "roles", "entry"})
		d.Body["ref"] = id
		recorded := l.entryNode(siteFile, p.get("entry"), &d)
		if d.ID == "" {
			d.ID = personID(l.site.ID, id, done[id])
		}
		done[id] = true
		l.add(d, siteFile, p.line, recorded)
	}
	for _, p := range n.list {
		if roles := p.get("roles"); roles != nil {
			for _, r := range roles.list {
				l.addRole(p.word("id"), r)
			}
		}
	}
}

func (l *loader) addRole(person string, r *node) {
	kind := l.kinds.Named("role.1")
	body := l.yamlBody(siteFile, r, kind, []string{"from", "until", "entry"})
	body["person"] = person
	at, err := parseMoment(r.word("from"), l.site.Loc)
	if err != nil {
		return // told already
	}
	d := book.Draft{Kind: kind.Name, At: at.at, Precision: at.precision, Offset: at.offset, Body: body, Source: source(siteFile, r.line)}
	if v := r.word("until"); v != "" {
		if d.Until, err = parseUntil(v, at, l.site.Loc); err != nil {
			return
		}
	}
	recorded := l.entryNode(siteFile, r.get("entry"), &d)
	if d.ID == "" {
		d.ID = roleID(l.site.ID, person, r.word("role"), formatMoment(at, l.site.Loc))
	}
	l.add(d, siteFile, r.line, recorded)
}
