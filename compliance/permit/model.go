// Package permit is the condition language: a notice with all its clauses,
// and the conditions that are judged of it, as data. It reads and writes the
// language, checks it, resolves every default, and says a condition in words.
// It does not judge.
package permit

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Language is the version number of the condition language in this package.
const Language = 1

// Notice is one permit, permission, consent or approved scheme as granted, or
// a variation of one.
type Notice struct {
	Reference string        // the authority's own reference
	Type      string        // the document's own name, e.g. "planning permission"
	IssuedBy  string        //
	Granted   calendar.Date // of the notice; a variation: date of issue
	Revision  string        // of an approved scheme; may be ""
	Varies    string        // reference of the notice it varies; "" when none
	Effective calendar.Date // legal date of a variation; zero otherwise
	Zone      string        // IANA name; "" = the site's
	Holidays  string        // id of the holiday list; "" = none named
	Clauses   []Clause
	// Conditions stand in the order of the text, every default resolved.
	Conditions []*Condition
	// Removes lists condition ids that a variation takes away.
	Removes []string

	File  string // name of the text it was read from, for messages; not kept
	Where Where  // places in that text; not kept
}

// Mark is a place in a source text, both counted from 1.
type Mark struct{ Line, Column int }

// Where gives the place of each key of the text that something was read from,
// for messages; "" is the thing itself. Nil when it was not read from text.
type Where map[string]Mark

// Treatment says what becomes of a clause.
type Treatment string

// The treatments there are.
const (
	Judged      Treatment = "judged"
	Attested    Treatment = "attested" // a named role states it
	Information Treatment = "information"
	NotEntered  Treatment = "not yet entered"
)

// Clause is one clause of a notice. Number is text: 1.10 is not 1.1.
type Clause struct {
	Number    string
	Text      string
	Treated   Treatment
	Role      string // who attests; for Attested
	CheckedBy string // person who compared the entry with the notice; may be ""

	Where Where // for messages; not kept
}

// Kind is the kind of a condition.
type Kind string

// The seven kinds.
const (
	Measured Kind = "measured" // a number against a limit
	Counted  Kind = "counted"  // events against a number
	Ordered  Kind = "ordered"  // act A before act B
	Dated    Kind = "dated"    // done by a date
	Interval Kind = "interval" // acts only inside time or space
	Present  Kind = "present"  // a document or thing exists
	Stated   Kind = "attested" // a named role states it
)

// Condition is one condition with every dimension resolved.
type Condition struct {
	ID     string // unique within the notice; default: the clause number, then a letter when several
	Clause string
	Title  string // a few words; default made from the subject
	Kind   Kind

	// Subject is required of measured, counted and interval conditions; the
	// others name theirs in First, Then and Done.
	Subject string            // registered quantity
	Basis   string            // free field, façade, total, dissolved, bank …; may be ""
	With    map[string]string // further words for the quantity, e.g. act: strip
	Place   Place
	Window  calendar.Period
	Statistic
	Rule     Rule
	Schedule *calendar.Schedule // nil = at all times
	Edge     Edge
	Limits   []Limit // joined by Join; empty for severity information, ordered, dated, interval
	Join     Join
	InPlace  string // id of the condition this one stands in place of while it applies; "" = none

	Rounding  Rounding
	Nondetect Nondetect
	Coverage  Coverage
	Severity  Severity
	Missing   Missing
	Straddle  Straddle
	Duty      *Duty  // duty to monitor, judged apart; nil = none stated
	Quota     *Quota // declared days or weeks this condition may be used; nil = none

	First    *Happening // ordered: must have happened before Then
	Then     *Happening // ordered: each such act is judged
	GoodFor  *Length    // ordered: First must lie no longer than this before Then; nil = it never runs out
	Deadline *Deadline  // dated
	Done     *Happening // dated, present: what fulfils it
	Role     string     // attested: who states it
	Evidence []string   // documents wanted

	From  time.Time // in force from; zero = from grant; in the notice's zone where it names one
	To    time.Time // in force until, not included; zero = no end
	Phase string    // only while this phase runs; "" = always

	Line  int   // line in the source text, for messages; 0 when not read from text; not kept
	Where Where // places of its keys, likewise
}

// PlaceMode says how several places are judged.
type PlaceMode string

// The place modes there are.
const (
	WholeSite PlaceMode = "whole site"
	Each      PlaceMode = "each"
	Any       PlaceMode = "any"
	MeanOf    PlaceMode = "mean"
)

// Place says where a condition holds.
type Place struct {
	Mode    PlaceMode
	Codes   []string // feature codes
	BufferM string   // metres around the features, as a decimal; "" = none
}

// Statistic turns the samples of a window into its value.
type Statistic struct {
	Name       StatisticName
	Percentile string // of Percentile, "90"; of LowerBound the confidence, "90"
	Integrate  string // span the energy is divided by when the notice states another than the window's, "11 h"; "" = the window
}

// StatisticName names an inner statistic.
type StatisticName string

// The inner statistics there are.
const (
	Value          StatisticName = "value"
	EnergyMean     StatisticName = "energy mean"
	ArithmeticMean StatisticName = "arithmetic mean"
	FlowWeighted   StatisticName = "flow-weighted mean"
	GeometricMean  StatisticName = "geometric mean"
	Median         StatisticName = "median"
	Percentile     StatisticName = "percentile"
	Minimum        StatisticName = "min"
	Maximum        StatisticName = "max"
	Sum            StatisticName = "sum"
	Count          StatisticName = "count"
	Change         StatisticName = "difference" // final minus initial
	Duration       StatisticName = "duration"
	Share          StatisticName = "share"
	LowerBound     StatisticName = "lower bound" // one-sided lower confidence bound of the mean
)

// SelectionWords are the further words that say which values a count, a
// duration or a share is of, such as with: {over: 50 µg/m³}.
func SelectionWords() []string { return []string{"over", "at least", "under", "at most"} }

// RuleName names an outer rule: from window values to a verdict.
type RuleName string

// The outer rules there are.
const (
	Every       RuleName = "every"         // each window by itself
	AtMost      RuleName = "at most"       // at most K of the windows in each Per may be over
	AtMostShare RuleName = "at most share" // at most Share of the windows in each Per
	AtMostTable RuleName = "look-up table" // K from Table by the number of windows judged
	MeanOfAll   RuleName = "mean"          // mean of the windows in each Per
	LastOf      RuleName = "last"
	AtLeastOf   RuleName = "at least of" // at least K of any N consecutive
)

// Rule is the outer rule. A quota counts over Per.
type Rule struct {
	Name  RuleName
	K, N  int
	Share string // decimal percent
	Per   calendar.Period
	Table []Step
}

// Step is one line of a look-up table: for From to To windows, K may be over.
type Step struct{ From, To, K int }

// Edge says what a window partly outside the schedule is.
type Edge string

// The edges there are.
const (
	WholeWindows Edge = "whole windows" // left out
	CutAtEdge    Edge = "cut"
)

// Comparator compares a value with a limit.
type Comparator string

// The comparators there are.
const (
	AtMostLimit  Comparator = "<="
	Below        Comparator = "<"
	AtLeastLimit Comparator = ">="
	Above        Comparator = ">"
	Equal        Comparator = "="
	Between      Comparator = "between"
)

// LimitForm says where a limit's number comes from.
type LimitForm string

// The forms there are.
const (
	Constant     LimitForm = "constant"
	OfBackground LimitForm = "background" // Background + Value, with Floor and Cap
	OfCurve      LimitForm = "curve"      // by frequency or distance, interpolated in Points
	OfOtherPlace LimitForm = "other place"
	OfSurface    LimitForm = "surface"
	OfShare      LimitForm = "share of other" // Value per cent of another quantity
)

// Limit is one limit, with the number as written.
type Limit struct {
	Comparator Comparator
	Form       LimitForm
	Value      unit.Decimal
	Upper      unit.Decimal // of Between
	OpenLow    bool         // of Between: the lower end is excluded
	OpenHigh   bool
	Unit       string
	Background string        // id of the background value: feature code or text
	Floor, Cap *unit.Decimal // of OfBackground
	Points     []CurvePoint  // of OfCurve: X ascending, straight lines between, level beyond the ends
	Along      Along         // of OfCurve: what X is
	Other      string        // place or quantity, of OfOtherPlace and OfShare
}

// CurvePoint is one point of a limit curve: X in the unit of Along, Y in the
// limit's unit.
type CurvePoint struct{ X, Y unit.Decimal }

// Along says what a limit curve runs along.
type Along string

// What there is to run along.
const (
	Frequency Along = "frequency" // Hz
	Distance  Along = "distance"  // m
)

// Join says how several limits are taken together.
type Join string

// The joins there are.
const (
	AllOf Join = "all of"
	AnyOf Join = "any of"
)

// Rounding says what is done to a value before it is compared.
type Rounding struct {
	Mode RoundingMode
	To   string // step of ToStep, as a decimal in the limit's unit, "0.1"
}

// RoundingMode names a rounding.
type RoundingMode string

// The roundings there are. Unrounded is the default.
const (
	Unrounded       RoundingMode = "none"
	ToLimitDecimals RoundingMode = "to the limit's decimals"
	ToStep          RoundingMode = "to step"
)

// Nondetect says how a result below its reporting limit counts.
type Nondetect string

// The rules there are. Bracket is the default.
const (
	Bracket   Nondetect = "bracket"
	AsZero    Nondetect = "zero"
	AsHalf    Nondetect = "half"
	AsFull    Nondetect = "full"
	Estimated Nondetect = "estimate" // robust estimate, named in With
)

// Coverage is how much valid data is needed.
type Coverage struct {
	Window       string // least share of a window, decimal per cent; "" = none stated
	Per          string // least share of valid windows in the rule's Per, decimal per cent; "" = none
	LeastWindows int    // least number of windows in Per; 0 = none
	SpacingHours string // least spacing of samples, hours; "" = none
}

// Severity is what going over means.
type Severity string

// The severities there are.
const (
	AsLimit       Severity = "limit"
	AsBenchmark   Severity = "benchmark"    // action is due, no breach
	AsActionLevel Severity = "action level" // internal
	AsInformation Severity = "information"
)

// Missing says what a gap is.
type Missing string

// What a gap may be.
const (
	CannotBeJudged Missing = "cannot be judged"
	GapIsBreach    Missing = "breach"            // the gap breaks the duty to monitor
	NotDone        Missing = "presumed not done" // until evidence is filed
	CountGoesOn    Missing = "counting goes on"
)

// Straddle says which version judges a window that a variation falls into.
type Straddle string

// The rules there are. AtStart is the default.
const (
	AtStart     Straddle = "version at window start"
	SplitWindow Straddle = "split at the change"
	ByOwnTime   Straddle = "each sample by its own time"
)

// Duty is the duty to monitor that goes with a limit: windows measured with
// the coverage stated, at least Least per cent of those due; or samples at
// least every Every.
type Duty struct {
	Least string           // decimal per cent of windows due; "100" when stated without a number
	Every *calendar.Period // one sample at least in each; nil = by windows
}

// Quota is how much of a declared allowance there is.
type Quota struct {
	Days int             // declared days
	Per  calendar.Period // in each
	Act  string          // the declared act that uses it
}
