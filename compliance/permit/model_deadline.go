package permit

import "github.com/swardbook/swardbook/compliance/calendar"

// Happening names a dated thing in the record: an act, a paper's stage, an
// entry of a quantity.
type Happening struct {
	Subject string            // registered quantity of form acts, events, papers or samples
	With    map[string]string // e.g. act: strip; scheme: soil handling, stage: approved
	Place   string            // feature code; "" = the condition's place
}

// Deadline says by when.
type Deadline struct {
	By       calendar.Date // fixed date, included; zero when relative
	N        int           // so many Unit
	Unit     string        // minute, hour, day, working day, week, month, year
	Start    Start         // what a relative deadline is counted from; "" with By alone
	Of       *Happening    // of EachHappening and FirstHappening; nil otherwise
	Counting Counting
	Before   bool // N Unit before Of, not after
	Roll     Roll
	Later    bool // the later of By and relative; default the earlier when both stand
}

// Start says what a relative deadline is counted from.
type Start string

// The starts there are.
const (
	EachHappening  Start = "each"       // each Of by itself
	FirstHappening Start = "first"      // the first Of alone; later ones start no new clock
	WindowEnd      Start = "window end" // the end of each of the condition's windows, as for returns
	Grant          Start = "grant"      // the date the notice was granted
)

// Length is a length of legal time: N of Unit, as in Deadline.
type Length struct {
	N    int
	Unit string
}

// Counting says which days count.
type Counting string

// The countings there are. After is the default: the day itself is not counted.
const (
	After         Counting = "after"
	BeginningWith Counting = "beginning with"
	ClearDays     Counting = "clear"
)

// Roll says what becomes of a last day that is no working day.
type Roll string

// The rolls there are. NoRoll is the default.
const (
	NoRoll      Roll = "none"
	NextWorking Roll = "next working day"
	PrevWorking Roll = "previous working day"
)
