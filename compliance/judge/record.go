package judge

import (
	"fmt"
	"io"
	"sort"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// Sources gives what entries point at: readings and original files.
type Sources interface {
	// Blocks returns the accepted readings of a channel that came with an
	// import entry and touch [from, to), in time order.
	Blocks(entry *book.Entry, channel string, from, to time.Time) ([]*series.Block, error)
	// File opens an original by its SHA-256.
	File(book.Hash) (io.ReadCloser, error)
}

// Record is a book opened for judging: what is in force, with its readings,
// surfaces, plan and calendars. It is safe for concurrent use, and reads files
// once.
type Record struct {
	site     quantity.Site
	siteErr  error
	view     *book.View
	src      Sources
	current  map[string][]*book.Entry // by kind, without erased ones
	erased   map[string][]*book.Entry // by kind
	channels []series.Channel         // by code
	imports  map[string][]*book.Entry // by channel, by seq
	named    map[string]bool          // channels of which an import names instrument or deployment
	rejects  map[string][]rejection   // by channel, by seq
	plans    []*planRevision          // by At, then seq
	pending  *Pending                 // readings no entry holds yet; nil when there are none

	mu       sync.Mutex
	surfaces map[string]*surfaceFile
	lists    map[string]*calendar.Holidays
}

// NewRecord opens the entries of a book, in seq order and already cut to what
// was known. It fails where the entries do not make a book; what single
// entries lack is said by the judgements that need it.
func NewRecord(entries []*book.Entry, src Sources) (*Record, error) {
	view, err := book.NewView(entries)
	if err != nil {
		return nil, err
	}
	r := &Record{
		view: view, src: src,
		current: map[string][]*book.Entry{}, erased: map[string][]*book.Entry{},
		imports: map[string][]*book.Entry{}, named: map[string]bool{}, rejects: map[string][]rejection{},
		surfaces: map[string]*surfaceFile{}, lists: map[string]*calendar.Holidays{},
	}
	for _, kind := range kindsOf(entries) {
		r.sort(kind)
	}
	if len(entries) > 0 {
		r.site.ID = entries[0].Site
	}
	r.openSite()
	r.openImports()
	r.openRejections()
	r.openPlans()
	return r, nil
}

func kindsOf(entries []*book.Entry) []string {
	seen := map[string]bool{}
	var out []string
	for _, e := range entries {
		if !seen[e.Kind] {
			seen[e.Kind] = true
			out = append(out, e.Kind)
		}
	}
	sort.Strings(out)
	return out
}

func (r *Record) sort(kind string) {
	for _, e := range r.view.Current(kind) {
		if e.Body == nil {
			r.erased[kind] = append(r.erased[kind], e)
		} else {
			r.current[kind] = append(r.current[kind], e)
		}
	}
}

// openSite reads the site entry that stands last.
func (r *Record) openSite() {
	r.site.Zone = time.UTC
	list := r.current["site.1"]
	if len(list) == 0 {
		r.siteErr = &fault{cause: "the site is not on file", remedy: "enter the site with its name, grid and zone"}
		return
	}
	e := list[len(list)-1]
	r.site.Name = e.Body.Text("name")
	zone, err := calendar.LoadZone(e.Body.Text("zone"))
	if err != nil {
		r.siteErr = &fault{cause: fmt.Sprintf("entry %d: zone: %v", e.Seq, err), remedy: "correct the site's zone"}
		return
	}
	r.site.Zone = zone
}

// View returns the book that the record was opened from.
func (r *Record) View() *book.View { return r.view }

// Site returns what the whole record shares. Its zone is UTC where none is on
// file.
func (r *Record) Site() quantity.Site { return r.site }

// Entries returns the entries of a kind in force, by At then Seq, without
// those whose body was erased.
func (r *Record) Entries(kind string) []*book.Entry { return r.current[kind] }

// Erased returns the entries of a kind in force whose body was erased.
func (r *Record) Erased(kind string) []*book.Entry { return r.erased[kind] }

// Line returns every entry of the line id belongs to, oldest first.
func (r *Record) Line(id book.ID) []*book.Entry { return r.view.Line(id) }

// Channels returns the channels of a quantity at a place, by code.
func (r *Record) Channels(code, place string) []series.Channel {
	var out []series.Channel
	for _, c := range r.channels {
		if (code == "" || c.Quantity == code) && (place == "" || c.Place == place) {
			out = append(out, c)
		}
	}
	return out
}

// Readings returns the blocks of a channel that touch [from, to), in time
// order: imports in force, of two readings of one time the later received,
// rejections applied, and what the record of the instrument has against them.
// First and last readings may lie outside.
func (r *Record) Readings(channel string, from, to time.Time) ([]*series.Block, error) {
	return newTracked(r, endless, Rules).readings(channel, from, to, asks{rules: Rules})
}

// readings is Readings with the mark that each import's readings are given.
func (r *Record) readings(channel string, from, to time.Time, mark marking) ([]*series.Block, error) {
	each, err := r.received(channel, from, to, mark)
	if err != nil {
		return nil, err
	}
	// A reading that reaches out may give way to one that lies outside.
	wide := reachOf(each, from, to)
	if r.layers(channel) > 1 && (wide.From.Before(from) || wide.To.After(to)) {
		if each, err = r.received(channel, wide.From, wide.To, mark); err != nil {
			return nil, err
		}
	}
	out := layered(each)
	for _, x := range r.rejects[channel] {
		if x.from.Before(wide.To) && x.to.After(wide.From) {
			out = series.Reject(out, x.from, x.to, x.mark)
		}
	}
	return out, nil
}

// AsReceived returns the readings of a channel that touch [from, to) as the
// imports in force brought them: of two readings of one time the later received,
// and nothing rejected nor doubted.
func (r *Record) AsReceived(channel string, from, to time.Time) ([]*series.Block, error) {
	each, err := r.received(channel, from, to, asTheyCame)
	if err != nil {
		return nil, err
	}
	return layered(each), nil
}

// marking marks the readings that do not count, of what one import says of a
// channel.
type marking func(blocks []*series.Block, c series.Channel) []*series.Block

func asTheyCame(blocks []*series.Block, _ series.Channel) []*series.Block { return blocks }

// received returns what each import in force brought of a channel that touches
// [from, to), marked, in order of receipt.
func (r *Record) received(channel string, from, to time.Time, mark marking) ([][]*series.Block, error) {
	var each [][]*series.Block
	for _, e := range r.imports[channel] {
		if !e.Until.IsZero() && (e.Until.Before(from) || e.At.After(to)) {
			continue // its readings lie elsewhere
		}
		got, err := r.src.Blocks(e, channel, from, to)
		if err != nil {
			return nil, fmt.Errorf("readings of %s from entry %d: %w", channel, e.Seq, err)
		}
		if len(got) > 0 {
			each = append(each, stamped(mark(got, channelIn(e, channel)), e.Seq))
		}
	}
	if got := r.unsealed(channel, from, to, mark); len(got) > 0 {
		each = append(each, got)
	}
	return each, nil
}

// layers counts what brings readings of a channel.
func (r *Record) layers(channel string) int {
	n := len(r.imports[channel])
	if r.pending != nil && len(r.pending.Blocks[channel]) > 0 {
		n++
	}
	return n
}

// reachOf is the span of the readings that touch [from, to), and that itself.
func reachOf(each [][]*series.Block, from, to time.Time) calendar.Span {
	least, most := from.UnixMilli(), to.UnixMilli()
	first, last := least, most
	for _, list := range each {
		for _, b := range list {
			i, j := b.Touching(first, last)
			if i < j {
				least, most = min(least, b.Start[i]), max(most, b.Start[j-1]+max(b.Span, 1))
			}
		}
	}
	out := calendar.Span{From: from, To: to}
	if least < first {
		out.From = msTime(least)
	}
	if most > last {
		out.To = msTime(most)
	}
	return out
}

// Surface returns the surface made from the survey with that ref.
func (r *Record) Surface(ref string) (*surface.Surface, *book.Entry, error) {
	r.mu.Lock()
	s := r.surfaces[ref]
	if s == nil {
		s = &surfaceFile{}
		r.surfaces[ref] = s
	}
	r.mu.Unlock()
	s.once.Do(func() { s.surface, s.entry, s.err = r.makeSurface(ref) })
	return s.surface, s.entry, s.err
}

// Feature returns the feature of the plan in force at t, or nil.
func (r *Record) Feature(code string, t time.Time) *plan.Feature {
	f, _, _ := r.feature(code, t)
	return f
}

// Holidays returns the holiday list with that id, with every day proclaimed
// later, or nil.
func (r *Record) Holidays(id string) *calendar.Holidays {
	h, _ := r.holidays(id)
	return h
}

// BySeq returns the entry with that seq, or nil.
func (r *Record) BySeq(seq int64) *book.Entry { return r.view.BySeq(seq) }

// ErasedError says that what is needed was erased.
type ErasedError struct{ By int64 } // seq of the redaction

func (e *ErasedError) Error() string { return fmt.Sprintf("erased by entry %d", e.By) }
