package handover

import (
	"bytes"
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/server/seal"
)

// FormatName names the format of packs in their manifest.
const FormatName = "swardbook/pack/1"

// Layout is the number of how derived members are set: it is raised whenever
// one of them comes out otherwise from the same book under the same rules. A
// pack of another layout is judged again and compared judgement by judgement,
// and not byte by byte.
const Layout = 1

// member is one member of a pack as the manifest lists it.
type member struct {
	name, media, what string
	size              int64
	sum               book.Hash
}

// manifest is what a pack says of itself.
type manifest struct {
	site        string
	upto        int64
	head        book.Hash
	at          time.Time
	rules       int64
	layout      int64
	program     string
	fingerprint string
	withheld    bool
	members     []member // without manifest and sums
}

// text writes manifest.json, members by name.
func (m *manifest) text() []byte {
	sort.Slice(m.members, func(i, j int) bool { return m.members[i].name < m.members[j].name })
	list := make([]any, len(m.members))
	for i, one := range m.members {
		list[i] = book.Object{"path": one.name, "bytes": one.size, "sha256": one.sum.String(), "media": one.media, "what": one.what}
	}
	o := book.Object{
		"format": FormatName, "site": m.site, "upto": m.upto, "head": m.head.String(), "judged_at": book.FormatInstant(m.at),
		"rules": m.rules, "layout": m.layout, "program": m.program, "fingerprint": plainFingerprint(m.fingerprint),
		"named_bodies": named(m.withheld), "members": list,
	}
	return append(o.Bytes(), '\n')
}

func named(withheld bool) string {
	if withheld {
		return "withheld"
	}
	return "included"
}

func plainFingerprint(s string) string { return strings.ReplaceAll(s, " ", "") }

// readManifest reads manifest.json strictly: it must be the very bytes that
// text writes.
func readManifest(b []byte) (*manifest, error) {
	o, err := book.ParseObject(bytes.TrimSuffix(b, []byte("\n")))
	if err != nil {
		return nil, err
	}
	if f := o.Text("format"); f != FormatName {
		return nil, fmt.Errorf("the format is %q; this program reads %s", f, FormatName)
	}
	m := &manifest{site: o.Text("site"), upto: o.Integer("upto"), rules: o.Integer("rules"), layout: o.Integer("layout"), program: o.Text("program"),
		fingerprint: o.Text("fingerprint"), withheld: o.Text("named_bodies") == named(true)}
	if m.head, err = book.ParseHash(o.Text("head")); err != nil {
		return nil, fmt.Errorf("head: %w", err)
	}
	if m.at, err = book.ParseInstant(o.Text("judged_at")); err != nil {
		return nil, fmt.Errorf("judged_at: %w", err)
	}
	for _, one := range o.Objects("members") {
		sum, err := book.ParseHash(one.Text("sha256"))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", one.Text("path"), err)
		}
		m.members = append(m.members, member{one.Text("path"), one.Text("media"), one.Text("what"), one.Integer("bytes"), sum})
	}
	if !bytes.Equal(m.text(), b) {
		return nil, errors.New("it is not in the form that manifests are written in")
	}
	return m, nil
}

// sums is SHA256SUMS: every member but itself, for sha256sum -c.
func sums(members []member) []byte {
	sort.Slice(members, func(i, j int) bool { return members[i].name < members[j].name })
	var b bytes.Buffer
	for _, m := range members {
		fmt.Fprintf(&b, "%s  %s\n", m.sum, m.name)
	}
	return b.Bytes()
}

// signedBy tells whether a manifest names the key that a pack is signed with.
func (m *manifest) signedBy(r *seal.Reader) bool {
	return m.fingerprint == plainFingerprint(seal.Fingerprint(r.Public))
}
