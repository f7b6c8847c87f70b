package app

import (
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
)

// spool is what one logger sent and no entry holds yet, as it stands in memory.
type spool struct {
	pushing sync.Mutex // one batch of a logger after another; never taken with mu held
	upto    int64      // seq up to which the book was looked through; with pushing held
	onEnd   int64      // end of the last reading on file of its channels, UTC ms; likewise

	mu     sync.Mutex // holds what follows; the service is never asked with it held
	logger Logger
	rows   []sentRow         // by begin, each begin once; replaced, never changed in place
	blocks [][]*series.Block // by value column: the rows as read, never changed in place

	heard, refused, sealed time.Time
	why, stuck             string
}

// sentRow is one row a logger sent.
type sentRow struct {
	begin, span int64 // UTC ms
	n           int64 // of its batch
	received    time.Time
	cells       []string
	line        int // in what was sent
}

// mostBlocks is how many blocks of a channel stand side by side before they are
// made one.
const mostBlocks = 64

// file makes a CSV file of rows.
func (l *Logger) file(rows []sentRow) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.Write(l.Columns()) // to memory: never fails
	for _, r := range rows {
		_ = w.Write(r.cells)
	}
	w.Flush()
	return b.String()
}

// cellsOnly writes rows without the names of the columns.
func cellsOnly(rows []sentRow) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	for _, r := range rows {
		_ = w.Write(r.cells)
	}
	w.Flush()
	return b.String()
}

// replay takes a batch that was spooled before.
func (sp *spool) replay(b Batch) error {
	if sp.logger.sent == nil {
		return errors.New("its columns have no names; restore a backup")
	}
	r := csv.NewReader(strings.NewReader(b.Rows))
	r.FieldsPerRecord = len(sp.logger.Columns())
	cells, err := r.ReadAll()
	if err != nil {
		return err
	}
	begin, span, err := sp.logger.sent.Begins(cells)
	if err != nil {
		return err
	}
	rows := make([]sentRow, len(cells))
	for i := range cells {
		rows[i] = sentRow{begin: begin[i], span: span[i], n: b.N, received: b.Received, cells: cells[i]}
	}
	return sp.take(rows)
}

// read reads rows in time order.
func (sp *spool) read(rows []sentRow) ([][]*series.Block, error) {
	p, err := series.ReadDelimited(strings.NewReader(sp.logger.file(rows)), sp.logger.Name, *sp.logger.sent)
	if err != nil {
		return nil, err
	}
	out := make([][]*series.Block, len(p.Channels))
	for i := range p.Channels {
		out[i] = p.Channels[i].Blocks
	}
	return out, nil
}

// take adds rows, in time order, that are on the disk.
func (sp *spool) take(rows []sentRow) error {
	if len(rows) == 0 {
		return nil
	}
	sp.mu.Lock()
	defer sp.mu.Unlock()
	n := len(sp.rows)
	follows := n == 0 || rows[0].begin > sp.rows[n-1].begin
	all := append(sp.rows[:n:n], rows...)
	if !follows {
		sort.SliceStable(all, func(i, j int) bool { return all[i].begin < all[j].begin })
	}
	if follows && len(sp.blocks) > 0 && len(sp.blocks[0]) < mostBlocks {
		more, err := sp.read(rows)
		if err != nil {
			return err
		}
		blocks := make([][]*series.Block, len(more))
		for i := range more {
			k := len(sp.blocks[i])
			blocks[i] = append(sp.blocks[i][:k:k], more[i]...)
		}
		sp.rows, sp.blocks = all, blocks
		return nil
	}
	blocks, err := sp.read(all)
	if err != nil {
		return err
	}
	sp.rows, sp.blocks = all, blocks
	return nil
}

// drop forgets the batches from n to m, which an entry holds now.
func (sp *spool) drop(n, m int64) error {
	sp.mu.Lock()
	defer sp.mu.Unlock()
	rest := slices.DeleteFunc(slices.Clone(sp.rows), func(r sentRow) bool { return r.n >= n && r.n <= m })
	if len(rest) == 0 {
		sp.rows, sp.blocks = nil, nil
		return nil
	}
	blocks, err := sp.read(rest)
	if err != nil {
		return err
	}
	sp.rows, sp.blocks = rest, blocks
	return nil
}

func (sp *spool) state() LoggerState {
	sp.mu.Lock()
	defer sp.mu.Unlock()
	s := LoggerState{Logger: sp.logger, Spooled: len(sp.rows), Heard: sp.heard, Refused: sp.refused, Why: sp.why, Stuck: sp.stuck, LastSeal: sp.sealed}
	if n := len(sp.rows); n > 0 {
		s.Last = time.UnixMilli(sp.rows[n-1].begin).UTC()
	}
	return s
}

// current returns the rows that are spooled now.
func (sp *spool) current() spooledRows {
	sp.mu.Lock()
	defer sp.mu.Unlock()
	return sp.rows
}

// spooledRows are rows in time order.
type spooledRows []sentRow

// at returns the row that begins at an instant; nil when there is none.
func (l spooledRows) at(begin int64) *sentRow {
	i := sort.Search(len(l), func(i int) bool { return l[i].begin >= begin })
	if i < len(l) && l[i].begin == begin {
		return &l[i]
	}
	return nil
}

// crosses says of a row which one it overlaps.
func (l spooledRows) crosses(r *sentRow) string {
	i := sort.Search(len(l), func(i int) bool { return l[i].begin >= r.begin })
	switch {
	case i > 0 && l[i-1].begin+l[i-1].span > r.begin:
		return fmt.Sprintf("the reading before it, of %s, lasts into it", instantOf(l[i-1].begin))
	case i < len(l) && r.begin+r.span > l[i].begin:
		return fmt.Sprintf("it lasts into the reading of %s", instantOf(l[i].begin))
	}
	return ""
}

func instantOf(ms int64) string { return time.UnixMilli(ms).UTC().Format("2006-01-02 15:04:05Z") }

// Pending returns the readings that are not yet sealed, nil when there are none,
// and how often they changed.
func (l *Loggers) Pending() (*judge.Pending, uint64) {
	l.mu.Lock()
	list, changes := slices.Clone(l.list), l.changes
	l.mu.Unlock()
	p := &judge.Pending{Blocks: map[string][]*series.Block{}}
	for _, sp := range list {
		sp.mu.Lock()
		for i, v := range sp.logger.Mapping.Values {
			if len(sp.blocks) == 0 || len(p.Blocks[v.Channel]) > 0 {
				continue // a channel of a logger that was ended waits for its sealing
			}
			of := sp.logger.Of[i]
			p.Channels = append(p.Channels, series.Channel{Code: v.Channel, Quantity: v.Quantity, Place: of.Place, Unit: v.Unit, Instrument: of.Instrument, Deployment: of.Deployment})
			p.Blocks[v.Channel] = sp.blocks[i]
		}
		sp.mu.Unlock()
	}
	if len(p.Channels) == 0 {
		return nil, changes
	}
	return p, changes
}

// Changes counts how often what is not yet sealed changed.
func (l *Loggers) Changes() uint64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.changes
}

func (l *Loggers) changed() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.changes++
}
