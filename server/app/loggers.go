package app

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
)

// Logger is a device that sends its readings itself. What it sends is spooled,
// counts at once, and becomes an original file with an import entry each UTC
// hour. The entry stands under whoever set the logger up.
type Logger struct {
	ID, Name  string
	TokenHash string
	Person    string
	Role      Role
	Mapping   series.Mapping             // of its files
	Of        []monitoring.ImportChannel // one for each value column
	Made      time.Time
	Ended     time.Time // zero: in use

	sent *series.Mapping // of the rows it sends; nil where its columns have no names
}

// KeptLogger is a logger as a store keeps it: Reading holds mapping and channels.
type KeptLogger struct {
	ID, Name, TokenHash, Person, Role, Reading string
	Made, Ended                                time.Time
}

// Batch is what a logger sent at once and no entry holds yet.
type Batch struct {
	N        int64 // rises, and is never used again
	Logger   string
	Received time.Time
	Rows     string // CSV without a header, cells as series.Mapping.Columns has them
}

// LoggerStore keeps loggers and their spool for one site.
type LoggerStore interface {
	Loggers(ctx context.Context) ([]KeptLogger, error)
	SaveLogger(ctx context.Context, l KeptLogger) error
	EndLogger(ctx context.Context, id string, at time.Time) error
	// Spool returns once the rows are on the disk.
	Spool(ctx context.Context, logger string, received time.Time, rows string) (int64, error)
	Spooled(ctx context.Context) ([]Batch, error)
	Unspool(ctx context.Context, logger string, n, m int64) error
}

// Loggers takes what loggers send. It is safe for concurrent use.
type Loggers struct {
	App   *Service
	Store LoggerStore

	sealing sync.Mutex // one sealing at a time
	mu      sync.Mutex
	list    []*spool // by name, then by when made
	changes uint64   // of what is not yet sealed
}

// NewLoggers opens the loggers of a site with what they sent before, and lets
// the service judge that.
func NewLoggers(ctx context.Context, s *Service, store LoggerStore) (*Loggers, error) {
	l := &Loggers{App: s, Store: store}
	kept, err := store.Loggers(ctx)
	if err != nil {
		return nil, err
	}
	for _, k := range kept {
		one := Logger{ID: k.ID, Name: k.Name, TokenHash: k.TokenHash, Person: k.Person, Role: Role(k.Role), Made: k.Made, Ended: k.Ended}
		var r loggerReading
		if err := json.Unmarshal([]byte(k.Reading), &r); err != nil {
			return nil, fmt.Errorf("logger %s: how its rows are read is damaged: %w; restore a backup", k.Name, err)
		}
		one.reads(r.Mapping, r.Of)
		l.list = append(l.list, &spool{logger: one})
	}
	batches, err := store.Spooled(ctx)
	if err != nil {
		return nil, err
	}
	for _, b := range batches {
		sp := l.byID(b.Logger)
		if sp == nil {
			return nil, fmt.Errorf("the spool names logger %s, which is not on file; restore a backup", b.Logger)
		}
		if err := sp.replay(b); err != nil {
			return nil, fmt.Errorf("logger %s, batch %d of its spool: %w", sp.logger.Name, b.N, err)
		}
	}
	l.changes++
	s.Unsealed = l
	return l, nil
}

// loggerReading is how the rows of a logger are read, as it is kept.
type loggerReading struct {
	Mapping series.Mapping
	Of      []monitoring.ImportChannel
}

// reads gives a logger the way its files and its rows are read.
func (l *Logger) reads(m series.Mapping, of []monitoring.ImportChannel) {
	l.Mapping, l.Of, l.sent = m, of, nil
	if sent, err := m.Sent(); err == nil {
		l.sent = &sent
	}
}

// Columns are those of a row it sends; nil where it only leaves files.
func (l *Logger) Columns() []string {
	if l.sent == nil {
		return nil
	}
	return l.sent.Columns()
}

func (l *Loggers) byID(id string) *spool {
	for _, sp := range l.list {
		if sp.logger.ID == id {
			return sp
		}
	}
	return nil
}

// LoggerState is a logger with how it stands.
type LoggerState struct {
	Logger
	Spooled  int       // rows not yet sealed
	Heard    time.Time // last time it sent something, since the server was started; zero = not since
	Last     time.Time // begin of its last reading that is not yet sealed
	Refused  time.Time // last time something of it was refused; zero = never since the server was started
	Why      string
	Stuck    string // why its spool could not be sealed; "" = nothing in the way
	LastSeal time.Time
}

// States lists the loggers, those in use first.
func (l *Loggers) States(_ context.Context, who Actor) ([]LoggerState, error) {
	if err := who.Need(Read); err != nil {
		return nil, err
	}
	l.mu.Lock()
	list := slices.Clone(l.list)
	l.mu.Unlock()
	var out []LoggerState
	for _, ended := range []bool{false, true} {
		for _, sp := range list {
			if s := sp.state(); s.Ended.IsZero() != ended {
				out = append(out, s)
			}
		}
	}
	return out, nil
}

// mostPatterns is how many ways of reading are offered to a new logger.
const mostPatterns = 20

// Patterns lists how files were read, for a logger that is to be set up.
func (l *Loggers) Patterns(ctx context.Context, who Actor) ([]PastImport, error) {
	snap, err := l.App.importing(ctx, who)
	if err != nil {
		return nil, err
	}
	return pastImports(snap, mostPatterns, func(*series.Mapping) bool { return true }), nil
}

var loggerName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{1,39}$`)

// MakeLogger sets a logger up and returns its token, which is shown once and
// kept only as a hash.
func (l *Loggers) MakeLogger(ctx context.Context, who Actor, name string, m series.Mapping, of []monitoring.ImportChannel) (Logger, string, error) {
	snap, err := l.App.importing(ctx, who)
	if err != nil {
		return Logger{}, "", err
	}
	in := Import{Mapping: m, Of: of}
	faults := l.App.importFaults(snap, &in)
	say := func(field, reason, remedy string) {
		faults = append(faults, book.Fault{Field: field, Reason: reason, Remedy: remedy})
	}
	if !loggerName.MatchString(name) {
		say("name", fmt.Sprintf("%q is no name of a logger", name), "write 2 to 40 small letters, digits and hyphens, such as noise-nm1")
	}
	if _, err := m.Sent(); err != nil && !errors.Is(err, series.ErrNumbered) && len(faults) == 0 {
		say("mapping", err.Error(), "change how the rows are read")
	}
	l.mu.Lock()
	for _, sp := range l.list {
		if sp.logger.Name == name && sp.logger.Ended.IsZero() {
			say("name", name+" is in use", "choose another name, or end that logger first")
		}
		for _, v := range m.Values {
			if sp.logger.Ended.IsZero() && sp.logger.sends(v.Channel) {
				say("values", fmt.Sprintf("the logger %s sends %s already", sp.logger.Name, v.Channel), "give the channel another code, or end that logger first")
			}
		}
	}
	l.mu.Unlock()
	if len(faults) > 0 {
		return Logger{}, "", &Error{Code: Invalid, Words: "the logger was not set up: something needs attention", Faults: faults}
	}
	token := randomText()
	one := Logger{ID: randomID(), Name: name, TokenHash: hashToken(token), Person: who.Person, Role: who.Role, Made: l.App.now()}
	one.reads(m, of)
	reading, err := json.Marshal(loggerReading{m, of})
	if err != nil {
		return Logger{}, "", internal("setting up the logger", err)
	}
	err = l.Store.SaveLogger(ctx, KeptLogger{ID: one.ID, Name: name, TokenHash: one.TokenHash, Person: one.Person, Role: string(one.Role), Reading: string(reading), Made: one.Made})
	if err != nil {
		return Logger{}, "", internal("setting up the logger", err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.list = append(l.list, &spool{logger: one})
	slices.SortStableFunc(l.list, func(a, b *spool) int {
		if a.logger.Name != b.logger.Name {
			if a.logger.Name < b.logger.Name {
				return -1
			}
			return 1
		}
		return a.logger.Made.Compare(b.logger.Made)
	})
	return one, token, nil
}

func (l *Logger) sends(channel string) bool {
	return slices.ContainsFunc(l.Mapping.Values, func(v series.ValueColumn) bool { return v.Channel == channel })
}

// EndLogger makes a logger's token count no longer. What it sent stays and is
// sealed.
func (l *Loggers) EndLogger(ctx context.Context, who Actor, id string) error {
	if _, err := l.App.importing(ctx, who); err != nil {
		return err
	}
	l.mu.Lock()
	sp := l.byID(id)
	l.mu.Unlock()
	if sp == nil {
		return fault(NotFound, "there is no such logger")
	}
	at := l.App.now()
	if err := l.Store.EndLogger(ctx, id, at); err != nil {
		return internal("ending the logger", err)
	}
	l.mu.Lock() // whoever reads it holds one of the two
	sp.mu.Lock()
	if sp.logger.Ended.IsZero() {
		sp.logger.Ended = at
	}
	sp.mu.Unlock()
	l.mu.Unlock()
	return l.seal(ctx, func(one *spool, _ time.Time) bool { return one == sp })
}
