package handover

import (
	"fmt"
	"sort"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
)

// originals sees that every original an entry names is there under its own
// hash, and that there is no other.
func (v *verifying) originals() error {
	before := len(v.out.Faults)
	named := map[string]bool{}
	for _, e := range v.entries {
		for _, h := range e.Files {
			name := filesDir + h.String()
			named[name] = true
			if _, there := v.sums[name]; !there && !v.filesErased(e) {
				v.out.fault("original %s of entry %d is missing", h, e.Seq)
			}
		}
	}
	zone, rules := v.zoneEntry()
	n := 0
	for i := range v.r.Members {
		name := v.r.Members[i].Name
		switch {
		case strings.HasPrefix(name, filesDir) && !named[name]:
			v.out.fault("%s is named by no entry", name)
		case strings.HasPrefix(name, filesDir) && filesDir+v.sums[name].String() != name:
			v.out.fault("%s is not what its name says", name)
		case strings.HasPrefix(name, filesDir):
			n++
		case strings.HasPrefix(name, zoneDir) && (name != zoneDir+zone || v.sums[name] != rules):
			v.out.fault("%s is not the time zone that the site entry names", name)
		}
	}
	if len(v.out.Faults) == before {
		v.out.checked("%d originals are those that entries name", n)
	}
	return v.zoneRules(zone)
}

// zoneRules says where the pack's time zone differs from the program's own.
func (v *verifying) zoneRules(zone string) error {
	if _, there := v.r.Member(zoneDir + zone); !there {
		return nil
	}
	text, err := v.text(zoneDir + zone)
	if err != nil {
		return err
	}
	if own, err := calendar.ZoneData(zone); err != nil || string(own) != string(text) {
		v.out.note("the rules of %s in the pack are not those of this program's release %s: days and hours may be cut otherwise", zone, calendar.Release)
	}
	return nil
}

// readings sees that the readings of every import are those its entry commits
// to, by count and digest, and that there are no others.
func (v *verifying) readings() error {
	before := len(v.out.Faults)
	left := map[channelKey]bool{}
	for k := range v.byKey {
		left[k] = true
	}
	for _, e := range v.entries {
		if !strings.HasPrefix(e.Kind, "import.") {
			continue
		}
		if e.Body == nil && e.BodyHash != (book.Hash{}) {
			for k := range left {
				if k.seq == e.Seq {
					delete(left, k)
				}
			}
			v.out.note("entry %d, an import, was erased: its readings cannot be checked against it", e.Seq)
			continue
		}
		for _, ch := range e.Body.Objects("channels") {
			k := channelKey{e.Seq, ch.Text("channel")}
			delete(left, k)
			if err := v.committed(k, ch); err != nil {
				v.out.fault("%v", err)
			}
		}
	}
	for _, k := range sortedKeys(left) {
		v.out.fault("readings of %s stand under entry %d, which does not name them", k.channel, k.seq)
	}
	v.strayReadings()
	if len(v.out.Faults) == before {
		v.out.checked("readings of %d channels are those their entries commit to", len(v.byKey))
	}
	v.stopped = len(v.out.Faults) > before
	return v.ctx.Err()
}

// committed checks one channel of an import against its entry.
func (v *verifying) committed(k channelKey, ch book.Object) error {
	blocks := make([]*series.Block, 0, len(v.byKey[k]))
	for _, r := range v.byKey[k] {
		one, err := v.block(k, r)
		if err != nil {
			return err
		}
		blocks = append(blocks, one)
	}
	n, sum := series.Digest(blocks)
	if n != ch.Integer("count") || book.Hash(sum).String() != ch.Text("digest") {
		return fmt.Errorf("the readings of %s are not those entry %d commits to", k.channel, k.seq)
	}
	return nil
}

// strayReadings finds members among the readings that no list names, and a
// list that is not in its form.
func (v *verifying) strayReadings() {
	known := map[string]bool{chunksName: true}
	for k := range v.byKey {
		known[k.member()] = true
	}
	for i := range v.r.Members {
		if name := v.r.Members[i].Name; strings.HasPrefix(name, chunksDir) && !known[name] {
			v.out.fault("%s stands in no list of readings", name)
		}
	}
	sorted := sort.SliceIsSorted(v.runs, func(i, j int) bool {
		a, b := &v.runs[i], &v.runs[j]
		if a.seq != b.seq {
			return a.seq < b.seq
		}
		if a.channel != b.channel {
			return a.channel < b.channel
		}
		return a.number < b.number
	})
	h := newHash()
	if err := writeRuns(h, v.runs); err != nil || !sorted || book.Hash(h.Sum(nil)) != v.sums[chunksName] {
		v.out.fault("%s is not in the form it is written in", chunksName)
	}
}

func sortedKeys(set map[channelKey]bool) []channelKey {
	var out []channelKey
	for k := range set {
		out = append(out, k)
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].seq != out[j].seq {
			return out[i].seq < out[j].seq
		}
		return out[i].channel < out[j].channel
	})
	return out
}
