package handover

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sort"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/seal"
)

// opened is a pack opened for judging it again: its record is the only source.
// It gives the judge readings and originals, and is safe for concurrent use.
type opened struct {
	packed
	r        *seal.Reader
	manifest *manifest
	runs     []run
	byKey    map[channelKey][]run // in order

	mu   sync.Mutex
	held map[channelKey][]byte // members of readings, unpacked
	size int64                 // of held
}

// mostText bounds a member that is read whole, mostHeld the readings held
// unpacked while judging; bytes.
const (
	mostText = 1 << 28
	mostHeld = 64 << 20
)

// text reads a member whole.
func (o *opened) text(name string) ([]byte, error) {
	m, there := o.r.Member(name)
	if !there {
		return nil, fmt.Errorf("%s is missing", name)
	}
	if m.Size > mostText {
		return nil, fmt.Errorf("%s is larger than this program reads whole", name)
	}
	c := o.r.Content(m)
	b, err := io.ReadAll(c)
	return b, errors.Join(err, c.Close())
}

// stream opens a member for reading.
func (o *opened) stream(name string) (io.ReadCloser, error) {
	m, there := o.r.Member(name)
	if !there {
		return nil, fmt.Errorf("%s is missing", name)
	}
	return o.r.Content(m), nil
}

// openRecord reads genesis, book and the list of readings.
func (o *opened) openRecord() error {
	b, err := o.text(genesisName)
	if err != nil {
		return err
	}
	if err := o.readGenesis(b); err != nil {
		return err
	}
	r, err := o.stream(bookName)
	if err != nil {
		return err
	}
	if err := errors.Join(o.readBook(r), r.Close()); err != nil {
		return err
	}
	if r, err = o.stream(chunksName); err != nil {
		return err
	}
	o.runs, err = readRuns(r)
	if err := errors.Join(err, r.Close()); err != nil {
		return err
	}
	return o.sortRuns()
}

// sortRuns finds each channel's chunks and sees that they fill its member.
func (o *opened) sortRuns() error {
	o.byKey, o.held = map[channelKey][]run{}, map[channelKey][]byte{}
	for _, r := range o.runs {
		k := channelKey{r.seq, r.channel}
		before := o.byKey[k]
		end := int64(0)
		if n := len(before); n > 0 {
			end = before[n-1].offset + before[n-1].bytes
		}
		if r.number != len(before) || r.offset != end {
			return fmt.Errorf("%s: chunk %d of %s from entry %d does not follow the one before it", chunksName, r.number, r.channel, r.seq)
		}
		o.byKey[k] = append(before, r)
	}
	for k, runs := range o.byKey {
		last := runs[len(runs)-1]
		if m, there := o.r.Member(k.member()); !there || m.Size != last.offset+last.bytes {
			return fmt.Errorf("%s does not fit what %s says of it", k.member(), chunksName)
		}
	}
	return nil
}

// member returns the unpacked chunks of a channel.
func (o *opened) member(k channelKey) ([]byte, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if b, there := o.held[k]; there {
		return b, nil
	}
	b, err := o.text(k.member())
	if err != nil {
		return nil, err
	}
	if o.size += int64(len(b)); o.size > mostHeld {
		o.held, o.size = map[channelKey][]byte{}, int64(len(b))
	}
	o.held[k] = b
	return b, nil
}

// Blocks gives the judge the readings of an import.
func (o *opened) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	k := channelKey{e.Seq, channel}
	runs := o.byKey[k]
	a, b := from.UnixMilli(), to.UnixMilli()
	first := sort.Search(len(runs), func(i int) bool { return runs[i].to > a })
	var out []*series.Block
	for _, r := range runs[first:] {
		if r.from >= b {
			break
		}
		one, err := o.block(k, r)
		if err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, nil
}

// block reads one chunk, which must be what the index says of it.
func (o *opened) block(k channelKey, r run) (*series.Block, error) {
	data, err := o.member(k)
	if err != nil {
		return nil, err
	}
	if r.offset+r.bytes > int64(len(data)) {
		return nil, fmt.Errorf("%s is shorter than %s says", k.member(), chunksName)
	}
	got, one, err := newRun(k, r.number, r.offset, data[r.offset:r.offset+r.bytes])
	if err != nil {
		return nil, err
	}
	if got != r {
		return nil, fmt.Errorf("chunk %d of %s is not what %s says of it", r.number, k.member(), chunksName)
	}
	one.Import = r.seq
	return one, nil
}

// File gives the judge an original.
func (o *opened) File(h book.Hash) (io.ReadCloser, error) {
	m, there := o.r.Member(filesDir + h.String())
	if !there {
		return nil, &fs.PathError{Op: "open", Path: h.String(), Err: fs.ErrNotExist}
	}
	return o.r.Content(m), nil
}
