package series

import (
	"errors"
	"io"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

var errNotBuilt = errors.New("not built in this commit")

// Mapping says how a delimited logger file is read. Nothing in it is guessed.
type Mapping struct {
	Encoding    string // "utf-8" (default) or "latin-1"
	Delimiter   string // "," ";" "|" or "tab"
	DecimalMark string // "." (default) or ","
	HeaderRow   int    // line of the column names, from 1; 0 = none, columns are then named by number from 1
	SkipRows    int    // rows to pass over after the header, such as a row of units
	FooterRows  int    // rows to leave out at the end
	Time        TimeColumns
	Values      []ValueColumn
	Missing     []string // texts that mean "no value", such as "NA"
	Flags       []Flag   // texts in a value or qualifier cell with their meaning
}

// TimeColumns says how the time of a row is read.
type TimeColumns struct {
	Columns  []string // one, or date and time
	Layout   string   // "iso" (default) or such as "DD/MM/YYYY hh:mm:ss"
	Stamp    string   // begin, mid, end or instant
	Interval string   // seconds a reading stands for, such as "60", or "local day"; "" for instants
	Zone     string   // IANA name, "UTC", "+01:00", or "in file"
}

// ValueColumn is one channel in the file.
type ValueColumn struct {
	Column    string
	Channel   string
	Unit      string
	Quantity  string
	Qualifier string // column with "<", ">" or a flag; "" = none
}

// Flag gives a text its meaning: the name of a Mark.
type Flag struct{ Text, Means string }

// Parsed is what a file holds.
type Parsed struct {
	Name       string
	Rows       int // rows of data
	Duplicates int // rows dropped because the row before was the same
	Channels   []ParsedChannel
	Decisions  []Decision
}

// ParsedChannel is one channel of a file.
type ParsedChannel struct {
	ValueColumn
	Blocks []*Block // by UTC day, in time order
	Count  int64    // readings of whatever mark, as Digest counts them
	Valid  int64    // readings whose mark counts
	Digest [32]byte
}

// Decision is one thing done to rows in reading them.
type Decision struct {
	From, To int // lines, both included
	Column   string
	What     string
	Rows     int
}

// ReadDelimited reads a logger file by its mapping.
func ReadDelimited(r io.Reader, name string, m Mapping) (*Parsed, error) { return nil, errNotBuilt }

// Digest returns the count of readings and the SHA-256 over them.
func Digest(blocks []*Block) (count int64, sha [32]byte) { return 0, sha }

// Encode writes a block as a chunk. Import is not part of it.
func Encode(b *Block) []byte { return nil }

// Decode reads a chunk.
func Decode(data []byte) (*Block, error) { return nil, errNotBuilt }

// Reject returns the blocks with the readings that begin in [from, to) given
// the mark; blocks without such readings come back as they are.
func Reject(blocks []*Block, from, to time.Time, mark Mark) []*Block { return nil }

// Request says what is computed of each window.
type Request struct {
	Stat       string       // name as in the condition language: "energy mean", "max" …
	Percentile unit.Decimal // of "percentile": per cent, "90"
	Rank       string       // "nearest rank" (default) or "linear"
	Comparator string       // of count, duration, share: "<=" "<" ">=" ">" "="; "" with Threshold = ">"
	Threshold  *unit.Decimal
	Nondetect  string   // "bracket" (default), "zero", "half", "full"
	Weights    []*Block // of "flow-weighted mean": the flow
}

// Result is the statistic of one window.
type Result struct {
	Value                  float64 // rounded by unit.Round9
	OK                     bool    // there is a value
	Why                    string  // why there is none
	N                      int     // readings that counted
	Below, Above           int     // of these, by mark
	Low, High              float64 // bounds of Value from Below and Above readings
	AsZero, AsHalf, AsFull float64
	LeastEnergyMean        float64      // of energy mean: missing time taken as silence
	Sum                    unit.Decimal // exact sum of the counting values, non-detects as the full limit; see SumExact
	SumExact               bool
	CoveredMs              int64
	WindowMs               int64
	Coverage               float64 // share 0 to 1
	Excluded               []Exclusion
	First, Last            int64 // begin of the first and last counting reading, UTC ms
	At                     int64 // begin of the reading that gives min, max or value
}

// Exclusion is how much was left out for one reason.
type Exclusion struct {
	Mark Mark
	N    int
	Ms   int64
}

// Windows computes one result for each span.
func Windows(blocks []*Block, spans []calendar.Span, req Request) ([]Result, error) {
	return nil, errNotBuilt
}

// Over computes one result over several disjoint stretches taken together.
func Over(blocks []*Block, parts []calendar.Span, req Request) (Result, error) {
	return Result{}, errNotBuilt
}
