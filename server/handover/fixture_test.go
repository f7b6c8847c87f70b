package handover

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/seal"
)

// The site of the tests is invented: a strip of pasture borrowed for a pipe,
// two noise channels, a diary, one notice with a clause of each treatment.

const testSite = "long-pasture"

var (
	opened2026 = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	judgedAt   = time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC)
)

// kept is a whole book in memory, with its originals and readings.
type kept struct {
	entries []*book.Entry
	files   map[book.Hash][]byte
	chunks  []Chunk
	blocks  map[string][]*series.Block
	kinds   *book.Kinds
	list    *quantity.List
}

func (k *kept) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	var out []*series.Block
	for _, b := range k.blocks[fmt.Sprint(e.Seq, channel)] {
		if b.Start[0] < to.UnixMilli() && b.Start[b.Len()-1]+max(b.Span, 1) > from.UnixMilli() {
			out = append(out, b)
		}
	}
	return out, nil
}

func (k *kept) File(h book.Hash) (io.ReadCloser, error) {
	b, there := k.files[h]
	if !there {
		return nil, ErrErased
	}
	return io.NopCloser(bytes.NewReader(b)), nil
}

func (k *kept) OpenFile(_ context.Context, h book.Hash) (io.ReadCloser, error) { return k.File(h) }

func (k *kept) FileSize(_ context.Context, h book.Hash) (int64, error) {
	b, there := k.files[h]
	if !there {
		return 0, ErrErased
	}
	return int64(len(b)), nil
}

func (k *kept) Chunks(_ context.Context, do func(Chunk) error) error {
	for _, c := range k.chunks {
		if err := do(c); err != nil {
			return err
		}
	}
	return nil
}

// add checks a draft and seals it as the next entry; receipt an hour apart.
func (k *kept) add(t testing.TB, d book.Draft) *book.Entry {
	t.Helper()
	seq := int64(len(k.entries) + 1)
	if d.ID == "" {
		d.ID = book.RowID(testSite, d.Kind, "test", fmt.Sprint(seq))
	}
	if d.Precision == "" {
		d.Precision = book.ToMinute
	}
	if d.By == "" {
		d.By, d.Role = "P1", "officer"
	}
	if faults := k.kinds.Check(&d); len(faults) > 0 {
		t.Fatalf("entry %d, %s: %v", seq, d.Kind, faults)
	}
	prev := book.Genesis(testSite, opened2026)
	if seq > 1 {
		prev = k.entries[seq-2].Hash
	}
	var salt []byte
	if d.Body != nil {
		sum := sha256.Sum256([]byte(d.ID))
		salt = sum[:book.SaltSize]
	}
	e := book.Seal(d.Envelope(testSite, seq, opened2026.Add(time.Duration(seq)*time.Hour)), salt, d.Body, prev)
	k.entries = append(k.entries, e)
	return e
}

func (k *kept) file(text string) string {
	h := hashOf([]byte(text))
	k.files[h] = []byte(text)
	return h.String()
}

func hashes(t testing.TB, list ...string) []book.Hash {
	t.Helper()
	var out []book.Hash
	for _, s := range list {
		h, err := book.ParseHash(s)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, h)
	}
	return out
}

const testNotice = `
permit: {zone: Europe/London, reference: LP/26/001, type: planning permission, issued_by: Example County Council, granted: 2026-03-02, holidays: england-and-wales}
clauses:
  - {number: "1", text: "Between 07:00 and 19:00 on Monday to Friday the level at a dwelling is not to exceed 55 dB LAeq,1h.", treated: judged}
  - {number: "2", text: "Work is carried out from 08:00 to 18:00 on Monday to Friday and at no time on Sundays or public holidays.", treated: judged}
  - {number: "3", text: "The hedge on the northern side (élan, ŵ, ≤ 2 m) is kept.", treated: attested, role: ecologist}
  - {number: "4", text: "This permission is granted under the Act.", treated: information}
  - {number: "5", text: "A scheme of drainage is submitted.", treated: not yet entered}
conditions:
  - {id: noise, clause: "1", kind: measured, subject: noise.laeq, place: {each: [NSR1, NSR2]}, window: clock hour, statistic: energy mean,
     schedule: [{days: mon-fri, from: "07:00", to: "19:00"}], limit: <= 55 dB, coverage: 75 %, from: 2026-04-02T00:00:00+01:00}
  - {id: hours, clause: "2", kind: interval, subject: site.act, schedule: [{days: mon-fri, from: "08:00", to: "18:00"}]}
`

// build makes the book of the tests.
func build(t testing.TB) *kept {
	t.Helper()
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	k := &kept{files: map[book.Hash][]byte{}, blocks: map[string][]*series.Block{}, kinds: kinds, list: list}
	zone, err := calendar.ZoneData("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	zoneFile := k.file(string(zone))
	day := func(s string) time.Time {
		at, err := time.Parse("2006-01-02 15:04", s)
		if err != nil {
			t.Fatal(err)
		}
		return at.UTC()
	}
	k.add(t, book.Draft{Kind: "site.1", At: opened2026, Files: hashes(t, zoneFile), Body: book.Object{
		"name": "Long Pasture, pipe easement", "location": "Invented valley", "grid": "EPSG:27700", "datum": "Ordnance Datum Newlyn", "zone": "Europe/London", "zone_data": zoneFile}})
	k.add(t, book.Draft{Kind: "person.1", At: opened2026, Body: book.Object{"ref": "P1", "name": "Zofia Przykład"}})
	k.add(t, book.Draft{Kind: "calendar.1", At: opened2026, Body: book.Object{"id": "england-and-wales", "source": "GOV.UK bank holidays", "from_year": int64(2026), "to_year": int64(2026),
		"days": []any{book.Object{"date": "2026-04-03", "title": "Good Friday"}, book.Object{"date": "2026-04-06", "title": "Easter Monday"}}}})
	k.notice(t, testNotice)
	diary := func(from, to, act string) *book.Entry {
		return k.add(t, book.Draft{Kind: "diary.1", At: day(from), Until: day(to), Body: book.Object{"act": act, "text": "topsoil, \"dry\"\nand loose"}})
	}
	diary("2026-04-02 08:00", "2026-04-02 15:00", "strip")
	wrong := diary("2026-04-06 08:12", "2026-04-06 08:50", "delivery")
	taken := diary("2026-04-07 03:00", "2026-04-07 03:10", "haul")
	k.add(t, book.Draft{Kind: "diary.1", At: day("2026-04-06 08:12"), Until: day("2026-04-06 08:40"), Supersedes: wrong.ID, Reason: "gate camera says 08:40",
		Body: book.Object{"act": "delivery", "text": "=fence panels"}})
	k.add(t, book.Draft{Kind: "diary.1", At: taken.At, Until: taken.Until, Supersedes: taken.ID, Reason: "another site"})
	k.imported(t, "logger 1.csv", map[string]string{"N/1": "NSR1", "N2": "NSR2"})
	doc := k.file("a letter that names a neighbour")
	letter := k.add(t, book.Draft{Kind: "document.1", At: day("2026-04-08 09:00"), Files: hashes(t, doc),
		Body: book.Object{"title": "Letter", "type": "letter", "file": doc}})
	erasure := k.add(t, book.Draft{Kind: "redaction.1", At: day("2026-04-09 09:00"), Reason: "asked for by the neighbour",
		Body: book.Object{"seq": letter.Seq, "what": "body and files", "ground": "right to erasure"}})
	letter.Body, letter.Salt, letter.ErasedBy = nil, nil, erasure.Seq
	delete(k.files, hashOf([]byte("a letter that names a neighbour")))
	return k
}

func (k *kept) notice(t testing.TB, text string) {
	t.Helper()
	n, err := permit.Read(strings.NewReader(text), "notice")
	if err != nil {
		t.Fatal(err)
	}
	k.add(t, book.Draft{Kind: "permit.1", At: n.Granted.Start(time.UTC), Precision: book.ToDay, Body: permit.ToObject(n)})
}

// imported brings in a logger file of quarter hours over two days: NSR1 keeps
// the limit but for one hour, NSR2 has a gap.
func (k *kept) imported(t testing.TB, name string, places map[string]string) {
	t.Helper()
	var text strings.Builder
	text.WriteString("time,N/1,N2\r\n")
	from := time.Date(2026, 4, 2, 0, 0, 0, 0, time.UTC)
	for i := 0; i < 2*96; i++ {
		at := from.Add(time.Duration(i) * 15 * time.Minute)
		a := 46.0 + math.Round(40*math.Abs(float64(i%31)/31-0.5))/10
		if i >= 60 && i < 64 {
			a += 11
		}
		b := fmt.Sprintf("%.1f", 44+float64(i%7)/10)
		if i >= 40 && i < 48 {
			b = ""
		}
		fmt.Fprintf(&text, "%s,%.1f,%s\r\n", at.Format("2006-01-02T15:04:05Z"), a, b)
	}
	file := k.file(text.String())
	mapping := series.Mapping{Delimiter: ",", HeaderRow: 1,
		Time:   series.TimeColumns{Columns: []string{"time"}, Layout: "iso", Stamp: "begin", Interval: "900", Zone: "in file"},
		Values: []series.ValueColumn{{Column: "N/1", Channel: "N/1", Unit: "dB", Quantity: "noise.laeq"}, {Column: "N2", Channel: "N2", Unit: "dB", Quantity: "noise.laeq"}}}
	parsed, err := series.ReadDelimited(strings.NewReader(text.String()), name, mapping)
	if err != nil {
		t.Fatal(err)
	}
	values, channels := []any{}, []any{}
	for _, c := range parsed.Channels {
		values = append(values, book.Object{"column": c.Column, "channel": c.Channel, "unit": c.Unit, "quantity": c.Quantity})
		channels = append(channels, book.Object{"channel": c.Channel, "quantity": c.Quantity, "place": places[c.Channel], "unit": c.Unit,
			"count": c.Count, "valid": c.Valid, "digest": book.Hash(c.Digest).String()})
	}
	e := k.add(t, book.Draft{Kind: "import.1", At: from, Until: from.Add(48 * time.Hour), Files: hashes(t, file), Body: book.Object{
		"file": file, "name": name, "parser": "delimited", "parser_version": "1", "rows": int64(parsed.Rows), "channels": channels,
		"mapping": book.Object{"delimiter": ",", "header_row": int64(1), "time_columns": []any{book.Object{"column": "time"}}, "time_layout": "iso",
			"stamp": "begin", "interval": "900", "zone": "in file", "values": values},
	}})
	for _, c := range parsed.Channels {
		for i, b := range c.Blocks {
			data := series.Encode(b)
			k.chunks = append(k.chunks, Chunk{Import: e.Seq, Channel: c.Channel, Number: i, SHA256: hashOf(data), Data: data})
		}
		k.blocks[fmt.Sprint(e.Seq, c.Channel)] = c.Blocks
	}
}

func testKey() *seal.Key { return seal.NewKey([32]byte{7}) }

func (k *kept) input(key *seal.Key) Input {
	return Input{Site: testSite, Created: opened2026, Entries: k.entries, At: judgedAt, Program: "test", Key: key,
		Record: k, Sources: k, Kinds: k.kinds, Quantities: k.list}
}

// pack seals the book of the tests.
func pack(t testing.TB, in Input) []byte {
	t.Helper()
	in.Temp = t.TempDir()
	var b bytes.Buffer
	if _, err := Write(context.Background(), &b, in); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// verify verifies a pack as a reader does who expects the key given.
func verify(t testing.TB, b []byte, fingerprint string) *Outcome {
	t.Helper()
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	out, err := Verify(context.Background(), bytes.NewReader(b), int64(len(b)), Check{Fingerprint: fingerprint, Kinds: kinds, Quantities: list, Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
