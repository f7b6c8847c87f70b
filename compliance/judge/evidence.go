package judge

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"sort"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

var marks = [...]string{
	series.Valid: "valid", series.Below: "below the reporting limit", series.Above: "above the range",
	series.Blank: "blank in the file", series.Wind: "wind", series.Rain: "rain", series.Calibrating: "calibration",
	series.Overload: "overload", series.Maintenance: "maintenance", series.Interference: "interference",
	series.Doubtful: "instrument out of check or its place not recorded", series.Unreadable: "unreadable in the file",
}

// markWords says what a mark means.
func markWords(m series.Mark) string {
	if int(m) < len(marks) {
		return marks[m]
	}
	return "marked in a way this program does not know"
}

// excludedOf lists what a window of readings left out, by reason.
func excludedOf(r *series.Result, chans []series.Channel) []Excluded {
	code := ""
	if len(chans) > 0 {
		code = chans[0].Code
	}
	out := make([]Excluded, 0, len(r.Excluded))
	for _, x := range r.Excluded {
		out = append(out, Excluded{Channel: code, Reason: markWords(x.Mark), Count: x.N, Seconds: float64(x.Ms) / 1000})
	}
	return out
}

// bySeq sorts entries by seq, each once.
func bySeq(list []*book.Entry) []*book.Entry {
	sort.SliceStable(list, func(i, j int) bool { return list[i].Seq < list[j].Seq })
	out := list[:0]
	for _, e := range list {
		if len(out) == 0 || out[len(out)-1].ID != e.ID {
			out = append(out, e)
		}
	}
	return out
}

// evidence names entries.
func evidence(list []*book.Entry) []Evidence {
	out := make([]Evidence, 0, len(list))
	for _, e := range list {
		ref, _ := e.Body["ref"].(string)
		out = append(out, Evidence{Seq: e.Seq, ID: string(e.ID), Kind: e.Kind, Ref: ref})
	}
	return out
}

// digest is the SHA-256 over the rules number, what was judged and the hash of
// every entry it rests on, each part preceded by its length. An entry that is
// not sealed stands with its id and its body.
func digest(rules int, what []string, list []*book.Entry) string {
	h := sha256.New()
	put := func(b []byte) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(b)))
		_, _ = h.Write(n[:])
		_, _ = h.Write(b)
	}
	put([]byte("swardbook/judged/1"))
	put([]byte{byte(rules)})
	for _, s := range what {
		put([]byte(s))
	}
	for _, e := range list {
		if e.Hash != (book.Hash{}) {
			put(e.Hash[:])
			continue
		}
		put([]byte(e.ID))
		put(e.Body.Bytes())
	}
	return hex.EncodeToString(h.Sum(nil))
}
