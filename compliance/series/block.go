// Package series holds readings: runs of numbers in time with their validity,
// and the statistics of a window of them with its coverage. Times are UTC in
// milliseconds. Gaps are gaps: nothing is filled in.
package series

// Mark says what a reading is. Only Valid, Below and Above carry a value that
// counts; every other mark makes its span missing, for the reason it names.
type Mark uint8

// The marks there are. The numbers are part of the chunk format.
const (
	Valid        Mark = 0
	Below        Mark = 1 // "<value": less than the reporting limit
	Above        Mark = 2 // ">value": more than the instrument can show
	Blank        Mark = 3 // the file holds no value here
	Wind         Mark = 4 // rejected, for the reason named
	Rain         Mark = 5
	Calibrating  Mark = 6
	Overload     Mark = 7
	Maintenance  Mark = 8
	Interference Mark = 9
	Doubtful     Mark = 10 // instrument out of check, or no record of where it stood
	Unreadable   Mark = 11 // the file holds something that is no number
)

// Counts tells whether a reading with the mark carries a value that counts.
func (m Mark) Counts() bool { return m <= Above }

// Block is a run of readings of one channel in time order, from one import
// (or one UTC day or hour of it). Value i stands for [Start[i], Start[i]+Span)
// and is Coefficient[i] × 10^-Places in the channel's unit. Span 0 means the
// readings are instants. Starts never repeat within a channel in force.
type Block struct {
	Start       []int64 // UTC ms, ascending
	Span        int64   // ms
	Places      int8
	Coefficient []int64 // 0 where the mark carries no value
	Mark        []Mark
	Import      int64 // seq of the import entry it came with; 0 when judged from a folder not sealed
}

// Len returns the number of readings, of whatever mark.
func (b *Block) Len() int { return len(b.Start) }

// Channel names a series: what is measured, where, in what unit.
type Channel struct {
	Code       string // unique within the site, e.g. "N1-LAEQ"
	Quantity   string // registered quantity, e.g. "noise.laeq"
	Place      string // feature code of the monitoring point
	Unit       string
	Instrument string // ref of the instrument; may be ""
	Deployment string // ref of the deployment; may be ""
}
