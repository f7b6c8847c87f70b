package permit

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// rule says how many windows may lie outside.
func (s speaker) rule() string {
	r := s.c.Rule
	if !s.c.measures() || s.c.Severity == AsInformation {
		return ""
	}
	nouns := windowNouns(s.c.Window)
	switch r.Name {
	case AtMost:
		return fmt.Sprintf("%s, at most %d of the %s may be outside this", periodWords(r.Per), r.K, nouns)
	case AtMostShare:
		return fmt.Sprintf("%s, at most %s %% of the %s may be outside this", periodWords(r.Per), r.Share, nouns)
	case AtLeastOf:
		return fmt.Sprintf("of any %d consecutive %s, at least %d must be within this", r.N, nouns, r.K)
	case AtMostTable:
		var steps []string
		for _, t := range r.Table {
			steps = append(steps, fmt.Sprintf("%d of %d to %d", t.K, t.From, t.To))
		}
		return fmt.Sprintf("%s, by the number of %s judged, this many may be outside this: %s", periodWords(r.Per), nouns, listed(steps, "and"))
	}
	return ""
}

// cut says what becomes of windows partly outside the hours.
func (s speaker) cut() string {
	if s.c.Schedule == nil || s.c.Edge != CutAtEdge {
		return ""
	}
	return "a window partly outside the hours is cut at their edge"
}

// instead says when the condition applies and what it stands in place of.
func (s speaker) instead() string {
	var words string
	if q := s.c.Quota; q != nil {
		words = fmt.Sprintf("it applies only on days declared for %s, and to at most %d such days %s", q.Act, q.Days, periodWords(q.Per))
	}
	if s.c.InPlace == "" {
		return words
	}
	if words != "" {
		words += "; "
	}
	return words + "while it applies it stands in place of condition " + s.c.InPlace
}

func (s speaker) severity() string {
	switch s.c.Severity {
	case AsBenchmark:
		return "this is a benchmark: beyond it action is due, but it is no breach in itself"
	case AsActionLevel:
		return "this is an action level of the site's own, never counted with the limits"
	}
	return ""
}

func (s speaker) coverage() string {
	c := s.c
	var needs []string
	if c.Coverage.Window != "" {
		needs = append(needs, fmt.Sprintf("valid data for at least %s %% of each window", c.Coverage.Window))
	}
	per := ""
	if c.Rule.Per != (calendar.Period{}) {
		per = " " + periodWords(c.Rule.Per)
	}
	if c.Coverage.Per != "" {
		needs = append(needs, fmt.Sprintf("at least %s %% of the %s valid%s", c.Coverage.Per, windowNouns(c.Window), per))
	}
	if c.Coverage.LeastWindows > 0 {
		needs = append(needs, fmt.Sprintf("at least %d %s%s", c.Coverage.LeastWindows, windowNouns(c.Window), per))
	}
	if c.Coverage.SpacingHours != "" {
		needs = append(needs, fmt.Sprintf("samples at least %s h apart", c.Coverage.SpacingHours))
	}
	if len(needs) == 0 {
		return ""
	}
	return "judging needs " + listed(needs, "and")
}

// readings says how single values are treated, where it is not the usual way.
func (s speaker) readings() string {
	var parts []string
	switch s.c.Rounding.Mode {
	case ToLimitDecimals:
		parts = append(parts, "values are rounded to the decimals of the limit before they are compared")
	case ToStep:
		parts = append(parts, fmt.Sprintf("values are rounded to the nearest %s before they are compared", s.c.Rounding.To))
	}
	switch s.c.Nondetect {
	case AsZero:
		parts = append(parts, "a less-than result counts as zero")
	case AsHalf:
		parts = append(parts, "a less-than result counts as half its figure")
	case AsFull:
		parts = append(parts, "a less-than result counts as its full figure")
	case Estimated:
		parts = append(parts, "less-than results are estimated as "+s.c.With["estimate"])
	}
	return strings.Join(parts, "; ")
}

// gap says what missing records mean, where it is not the usual meaning.
func (s speaker) gap() string {
	usual := &Condition{Kind: s.c.Kind}
	usual.resolve()
	switch s.c.Missing {
	case GapIsBreach:
		if usual.Missing == NotDone {
			return "until the record shows it, it is taken as not done, and that is itself a breach"
		}
		return "a gap in the record is itself a breach of the duty to monitor"
	case CountGoesOn:
		return "over a gap in the record the count goes on, and the gap is shown"
	case NotDone:
		return "until the record shows it, it is taken as not done"
	case CannotBeJudged:
		if usual.Missing != CannotBeJudged {
			return "where the record is silent it cannot be judged"
		}
	}
	return ""
}

func (s speaker) duty() string {
	d := s.c.Duty
	switch {
	case d == nil:
		return ""
	case d.Every != nil:
		return fmt.Sprintf("apart from the limit, there must be at least one result %s", periodWords(*d.Every))
	}
	if d.Least == "100" {
		return fmt.Sprintf("apart from the limit, every one of the %s due must be measured", windowNouns(s.c.Window))
	}
	return fmt.Sprintf("apart from the limit, at least %s %% of the %s due must be measured", d.Least, windowNouns(s.c.Window))
}

func (s speaker) straddle() string {
	switch s.c.Straddle {
	case SplitWindow:
		return "a window in which the condition is varied is split at the change"
	case ByOwnTime:
		return "when the condition is varied within a window, each result is held against the words in force at its own time"
	}
	return ""
}

func (s speaker) force() string {
	var parts []string
	if !s.c.From.IsZero() {
		parts = append(parts, "from "+instantWords(s.c.From))
	}
	if !s.c.To.IsZero() {
		parts = append(parts, "until "+instantWords(s.c.To))
	}
	var words string
	if len(parts) > 0 {
		words = "in force " + strings.Join(parts, " ")
	}
	if s.c.Phase != "" {
		if words == "" {
			words = "in force"
		}
		words += " only while the phase " + s.c.Phase + " runs"
	}
	return words
}

// instantWords writes midnight in the instant's own zone as a date.
func instantWords(t time.Time) string {
	if t.Equal(calendar.DateOf(t, t.Location()).Start(t.Location())) {
		return "the start of " + t.Format("2 January 2006")
	}
	return t.Format("15:04 on 2 January 2006 (-07:00)")
}

func dateWords(d calendar.Date) string {
	return fmt.Sprintf("%d %s %d", d.Day, d.Month, d.Year)
}

// deadline says by when.
func (s speaker) deadline() string {
	d := s.c.Deadline
	if d == nil {
		return "in time"
	}
	var parts []string
	if !d.By.IsZero() {
		parts = append(parts, "by the end of "+dateWords(d.By))
	}
	if d.N > 0 {
		parts = append(parts, s.term(d))
	}
	words := strings.Join(parts, " or ")
	if len(parts) == 2 {
		which := "earlier"
		if d.Later {
			which = "later"
		}
		words += ", whichever is " + which
	}
	if d.Roll != NoRoll && d.Roll != "" {
		words += fmt.Sprintf("; a last day that is no working day moves to the %s", d.Roll)
	}
	return words
}

// term says a deadline that is counted from something.
func (s speaker) term(d *Deadline) string {
	length := Length{d.N, d.Unit}.String()
	if d.Counting == ClearDays {
		number, u, _ := strings.Cut(length, " ")
		length = number + " clear " + u
	}
	words := "no later than " + length + " after "
	if d.Before {
		words = "at least " + length + " before "
	}
	switch d.Start {
	case FirstHappening:
		words += "the first of " + s.happening(d.Of)
	case WindowEnd:
		_, window, _ := strings.Cut(periodWords(s.c.Window), " ")
		words += "the end of " + window
	case Grant:
		words += "the notice was granted"
	default:
		words += s.happening(d.Of) + ", each by itself"
	}
	if d.Unit == "minute" || d.Unit == "hour" {
		return words
	}
	switch d.Counting {
	case BeginningWith:
		words += ", that day being the first counted"
	case After, "":
		words += ", that day not counted"
	}
	return words
}
