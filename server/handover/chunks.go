package handover

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// Chunks of one channel of one import stand one after another in one member,
// since a member for each would be more than an archive of this form holds;
// index.csv says where each begins.

// run is one chunk as index.csv lists it.
type run struct {
	seq      int64
	channel  string
	number   int
	offset   int64 // in its member
	bytes    int64
	readings int
	from, to int64 // ms: first start, end of the last reading
	sum      book.Hash
}

// channelKey names a channel of an import.
type channelKey struct {
	seq     int64
	channel string
}

func (k channelKey) member() string {
	return fmt.Sprintf("%s%08d/%s.chunks", chunksDir, k.seq, plainName(k.channel))
}

// plainName is a name for a file: the channel's code, or ~ and its bytes in
// hex where it holds anything but letters, digits, - and _.
func plainName(s string) string {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return fmt.Sprintf("~%x", s)
		}
	}
	if s == "" {
		return "~"
	}
	return s
}

// newRun notes a chunk after reading it whole.
func newRun(k channelKey, number int, offset int64, data []byte) (run, *series.Block, error) {
	b, err := series.Decode(data)
	if err != nil {
		return run{}, nil, fmt.Errorf("readings of %s from entry %d, chunk %d: %w", k.channel, k.seq, number, err)
	}
	r := run{seq: k.seq, channel: k.channel, number: number, offset: offset, bytes: int64(len(data)), readings: b.Len(), sum: hashOf(data)}
	if b.Len() > 0 {
		r.from, r.to = b.Start[0], b.Start[b.Len()-1]+max(b.Span, 1)
	}
	return r, b, nil
}

var runColumns = []string{"import", "channel", "number", "member", "offset", "bytes", "readings", "from", "to", "sha256"}

func writeRuns(w io.Writer, runs []run) error {
	t := newTable(w)
	t.row(runColumns...)
	whole := func(n int64) string { return strconv.FormatInt(n, 10) }
	for i := range runs {
		r := &runs[i]
		t.row(whole(r.seq), safe(r.channel), strconv.Itoa(r.number), channelKey{r.seq, r.channel}.member(), whole(r.offset), whole(r.bytes),
			strconv.Itoa(r.readings), book.FormatInstant(time.UnixMilli(r.from)), book.FormatInstant(time.UnixMilli(r.to)), r.sum.String())
	}
	return t.flush()
}

// readRuns reads index.csv. What it says of single chunks is checked against
// them when readings are checked.
func readRuns(r io.Reader) ([]run, error) {
	rows := csv.NewReader(r)
	rows.FieldsPerRecord = len(runColumns)
	var out []run
	for n := 1; ; n++ {
		row, err := rows.Read()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", chunksName, err)
		}
		if n == 1 {
			continue
		}
		one, err := readRun(row)
		if err != nil {
			return nil, fmt.Errorf("%s line %d: %w", chunksName, n, err)
		}
		out = append(out, one)
	}
}

func readRun(row []string) (r run, err error) {
	whole := func(s string) int64 {
		n, e := strconv.ParseInt(s, 10, 64)
		if err == nil && (e != nil || n < 0) {
			err = fmt.Errorf("%q is no whole number", s)
		}
		return n
	}
	instant := func(s string) int64 {
		t, e := book.ParseInstant(s)
		if err == nil && e != nil {
			err = e
		}
		return t.UnixMilli()
	}
	r = run{seq: whole(row[0]), channel: unsafe(row[1]), number: int(whole(row[2])), offset: whole(row[4]), bytes: whole(row[5]),
		readings: int(whole(row[6])), from: instant(row[7]), to: instant(row[8])}
	sum, e := book.ParseHash(row[9])
	if err == nil && e != nil {
		err = e
	}
	if want := (channelKey{r.seq, r.channel}).member(); err == nil && row[3] != want {
		err = fmt.Errorf("the member is %s, and not %s", want, row[3])
	}
	r.sum = sum
	return r, err
}

// unsafe takes back what safe put before a text.
func unsafe(s string) string {
	if len(s) > 1 && s[0] == '\'' && safe(s[1:]) == s {
		return s[1:]
	}
	return s
}

// gather hands over the chunks of one channel of one import at a time, those
// of imports up to the last entry of the pack.
func gather(ctx context.Context, rec Record, last int64, do func(k channelKey, data [][]byte) error) error {
	var k channelKey
	var held [][]byte
	flush := func() error {
		if len(held) == 0 {
			return nil
		}
		data := held
		held = nil
		return do(k, data)
	}
	err := rec.Chunks(ctx, func(c Chunk) error {
		if c.Import > last {
			return nil
		}
		if hashOf(c.Data) != c.SHA256 {
			return fmt.Errorf("readings of %s from entry %d, chunk %d: they do not fit their SHA-256", c.Channel, c.Import, c.Number)
		}
		next := channelKey{c.Import, c.Channel}
		if next != k {
			if err := flush(); err != nil {
				return err
			}
			k = next
		}
		if c.Number != len(held) {
			return fmt.Errorf("readings of %s from entry %d: chunk %d comes where %d belongs", c.Channel, c.Import, c.Number, len(held))
		}
		held = append(held, c.Data)
		return nil
	})
	if err != nil {
		return err
	}
	return flush()
}

// joined is the member of one channel and its part of the index.
func joined(k channelKey, data [][]byte) ([]byte, []run, error) {
	var all bytes.Buffer
	runs := make([]run, 0, len(data))
	for i, d := range data {
		r, _, err := newRun(k, i, int64(all.Len()), d)
		if err != nil {
			return nil, nil, err
		}
		runs = append(runs, r)
		all.Write(d)
	}
	return all.Bytes(), runs, nil
}
