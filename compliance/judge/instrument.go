package judge

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Kinds of entry that say what became of an instrument.
const (
	deploymentKind  = "deployment.1"
	fieldCheckKind  = "field_check.1"
	calibrationKind = "calibration.1"
	instrumentKind  = "instrument.1"
)

// Drift between two checks of a sound level meter from which its readings are
// flagged, and from which they no longer count, in dB.
//
// Source: common practice; clause not checked. A condition may state its own.
const (
	driftFlagged = 0.5
	driftLeftOut = 1.0
)

// Instrument is what the record says of one instrument up to an instant.
type Instrument struct {
	Ref          string
	Entries      []*book.Entry // that describe it, oldest first; may be empty
	Stands       []Stood       // in order of time
	Checks       []Checked     // in the field and in the laboratory, in order of time
	Certificates []Certificate // in order of time
	Doubts       []Doubt       // in order of time
}

// Stood is one deployment.
type Stood struct {
	From, To time.Time // To zero: it still stands
	Entry    *book.Entry
}

// Checked is one check of an instrument.
type Checked struct {
	At     time.Time
	Error  *float64 // shown less expected, in Unit; nil of a laboratory's
	Drift  *float64 // of Error since the check before; since no error where that was adjusted or there was none
	Unit   string
	Bad    bool // out of tolerance, or drifted too far
	Flag   bool // drifted so far that readings are uncertain by it
	Adjust bool // it was adjusted, so that it shows no error from here on
	Entry  *book.Entry
}

// Field tells whether the check was made where the instrument stood.
func (c *Checked) Field() bool { return c.Entry.Kind == fieldCheckKind }

// Certificate is how long a laboratory's certificate is good for.
type Certificate struct {
	From, To time.Time // To zero: no last day is stated
	Entry    *book.Entry
}

// Doubt is a span in which readings of an instrument are doubtful.
type Doubt struct {
	From, To time.Time // To zero: without an end so far
	LeftOut  bool      // readings do not count; else they may lie Low to High off
	Low      float64   // dB, 0 or less
	High     float64   // dB, 0 or more
	Noted    bool      // said beside the reading, which counts as it is
	Words    string
	Remedy   string
	Entries  []*book.Entry // that it rests on
}

// InstrumentOf returns what the record says of an instrument up to an instant,
// going by common practice for drift; nil when it is not named anywhere.
func InstrumentOf(rec *Record, ref string, at time.Time) *Instrument {
	t := newTracked(rec, at, Rules)
	out := t.instrument(ref, asks{rules: Rules})
	if len(out.Entries)+len(out.Stands)+len(out.Checks)+len(out.Certificates) == 0 {
		return nil
	}
	out.Doubts = slices.DeleteFunc(out.Doubts, func(d Doubt) bool { return d.From.After(at) }) // a certificate that will lapse
	return out
}

// InstrumentRefs lists the instruments that entries describe or name, sorted.
func InstrumentRefs(rec *Record) []string {
	seen := map[string]bool{}
	for _, e := range rec.Entries(instrumentKind) {
		seen[e.Body.Text("ref")] = true
	}
	for _, kind := range []string{deploymentKind, fieldCheckKind, calibrationKind} {
		for _, e := range rec.Entries(kind) {
			seen[e.Body.Text("instrument")] = true
		}
	}
	delete(seen, "")
	return names(seen)
}

// instrument reads the entries of an instrument up to the time of judging.
func (t *tracked) instrument(ref string, by asks) *Instrument {
	of := func(kind, field string) []*book.Entry {
		var out []*book.Entry
		for _, e := range t.Entries(kind) {
			if e.Body.Text(field) == ref {
				out = append(out, e)
			}
		}
		return out
	}
	x := &Instrument{Ref: ref, Entries: of(instrumentKind, "ref")}
	for _, e := range of(deploymentKind, "instrument") {
		x.Stands = append(x.Stands, Stood{e.At, e.Until, e})
	}
	zone := t.site.Zone
	for _, e := range of(calibrationKind, "instrument") {
		c := Certificate{From: e.At, Entry: e}
		if last, err := calendar.ParseDate(e.Body.Text("valid_until")); err == nil {
			c.To = last.AddDays(1).Start(zone)
		}
		bad := e.Body.Text("outcome") == outOfTolerance
		x.Checks = append(x.Checks, Checked{At: e.At, Entry: e, Bad: bad, Adjust: !bad})
		if !bad {
			x.Certificates = append(x.Certificates, c)
		}
	}
	for _, e := range of(fieldCheckKind, "instrument") {
		x.Checks = append(x.Checks, fieldCheck(e))
	}
	sort.SliceStable(x.Checks, func(i, j int) bool { return x.Checks[i].At.Before(x.Checks[j].At) })
	x.drifted(by, zone)
	x.moved(zone)
	x.lapsed(zone)
	if by.checked {
		x.unchecked(zone)
	}
	if by.certified {
		x.uncertified(zone)
	}
	sort.SliceStable(x.Doubts, func(i, j int) bool { return x.Doubts[i].From.Before(x.Doubts[j].From) })
	return x
}

// outOfTolerance is the outcome of a check that was failed.
const outOfTolerance = "out of tolerance"

// fieldCheck reads what an instrument showed where it stood. A figure that is
// no number leaves the outcome alone to speak.
func fieldCheck(e *book.Entry) Checked {
	c := Checked{At: e.At, Entry: e, Unit: e.Body.Text("unit")}
	outcome := e.Body.Text("outcome")
	c.Bad, c.Adjust = outcome == outOfTolerance, outcome == "adjusted"
	want, err1 := unit.ParseDecimal(e.Body.Text("expected"))
	got, err2 := unit.ParseDecimal(e.Body.Text("shown"))
	if err1 == nil && err2 == nil {
		off := unit.Round9(got.Float() - want.Float())
		c.Error = &off
	}
	return c
}

// drifted compares each check with the one before. What lies between a good
// check and a bad one is left out, for nobody knows when it went wrong; what
// lies between two that drifted apart noticeably is uncertain by so much. What
// is shown at a check is never added to a reading.
func (x *Instrument) drifted(by asks, zone *time.Location) {
	var good *Checked // the last that was passed
	bad := false      // the check before was failed and nothing was adjusted
	for i := range x.Checks {
		c := &x.Checks[i]
		before := 0.0
		if good != nil && good.Error != nil && !good.Adjust {
			before = *good.Error
		}
		if c.Error != nil {
			drift := unit.Round9(*c.Error - before)
			c.Drift = &drift
			flag, most := by.drift(c.Unit)
			c.Bad = c.Bad || math.Abs(drift) > most
			c.Flag = !c.Bad && math.Abs(drift) > flag
		}
		from := x.since(c, good)
		if bad {
			from = x.Checks[i-1].At
		}
		switch {
		case c.Bad:
			x.Doubts = append(x.Doubts, Doubt{From: from, To: c.At, LeftOut: true, Entries: checksOf(good, c),
				Words:  fmt.Sprintf("%s %s at its check of %s", x.Ref, c.fault(), when(c.At, zone)),
				Remedy: "measure again with an instrument in check, or judge by hand what the readings are worth"})
		case bad:
			x.Doubts = append(x.Doubts, Doubt{From: from, To: c.At, LeftOut: true, Entries: checksOf(&x.Checks[i-1], c),
				Words:  fmt.Sprintf("%s was out of check from %s to %s", x.Ref, when(from, zone), when(c.At, zone)),
				Remedy: "measure again with an instrument in check, or judge by hand what the readings are worth"})
		case c.Flag:
			x.Doubts = append(x.Doubts, Doubt{From: from, To: c.At, Low: min(-before, -*c.Error, 0), High: max(-before, -*c.Error, 0), Entries: checksOf(good, c),
				Words:  fmt.Sprintf("%s drifted by %s between its checks, seen on %s", x.Ref, withUnit(signed(*c.Drift), c.Unit), when(c.At, zone)),
				Remedy: "drift is never added to readings: measure again, or judge the window by hand"})
		}
		bad = c.Bad && !c.Adjust
		if !bad {
			good = c
		}
	}
	if n := len(x.Checks); bad && n > 0 {
		x.Doubts = append(x.Doubts, Doubt{From: x.Checks[n-1].At, LeftOut: true, Entries: checksOf(&x.Checks[n-1]),
			Words:  fmt.Sprintf("%s has been out of check since %s", x.Ref, when(x.Checks[n-1].At, zone)),
			Remedy: "enter the check that it passed again"})
	}
}

// since is from when on a check speaks: the last good one, else the beginning
// of the deployment it was made in, else for ever.
func (x *Instrument) since(c, good *Checked) time.Time {
	if good != nil {
		return good.At
	}
	for _, s := range x.Stands {
		if !s.From.After(c.At) && (s.To.IsZero() || !s.To.Before(c.At)) {
			return s.From
		}
	}
	return time.UnixMilli(0).UTC()
}

func (c *Checked) fault() string {
	if c.Drift == nil || *c.Drift == 0 {
		return "was out of tolerance"
	}
	return "was out by " + withUnit(signed(*c.Drift), c.Unit)
}

func signed(v float64) string {
	if v > 0 {
		return "+" + figure(v)
	}
	return figure(v)
}

func checksOf(list ...*Checked) []*book.Entry {
	var out []*book.Entry
	for _, c := range list {
		if c != nil {
			out = append(out, c.Entry)
		}
	}
	return out
}

// moved looks for an instrument that was set up elsewhere while on record it
// still stood where it was: nothing says when it left, so what lies after the
// last sign of it there does not count.
func (x *Instrument) moved(zone *time.Location) {
	for i := range x.Stands {
		a := &x.Stands[i]
		for j := i + 1; j < len(x.Stands); j++ {
			b := &x.Stands[j]
			if !b.From.After(a.From) || !a.To.IsZero() && !a.To.After(b.From) || sameSet(a.Entry.Places, b.Entry.Places) {
				continue
			}
			x.Doubts = append(x.Doubts, Doubt{From: x.lastSeen(a, b.From), To: a.To, LeftOut: true, Entries: []*book.Entry{a.Entry, b.Entry},
				Words:  fmt.Sprintf("%s was set up at %s on %s, and nothing says when it left %s", x.Ref, listOf(b.Entry.Places), when(b.From, zone), listOf(a.Entry.Places)),
				Remedy: "correct the earlier deployment with the time it ended"})
			break
		}
	}
}

// lastSeen is the last check of the instrument where it stood before an
// instant, else when it was set up.
func (x *Instrument) lastSeen(at *Stood, before time.Time) time.Time {
	out := at.From
	for i := range x.Checks {
		c := &x.Checks[i]
		if !c.Field() || !c.At.After(out) || !c.At.Before(before) {
			continue
		}
		ref := c.Entry.Body.Text("deployment")
		if ref != "" && ref == at.Entry.Body.Text("ref") || ref == "" && slices.ContainsFunc(c.Entry.Places, func(p string) bool { return named(at.Entry.Places, p) }) {
			out = c.At
		}
	}
	return out
}

func sameSet(a, b []string) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(p string) bool { return !named(b, p) })
}

func listOf(places []string) string {
	if len(places) == 0 {
		return "no place named"
	}
	out := places[0]
	for _, p := range places[1:] {
		out += ", " + p
	}
	return out
}

// lapsed notes the time between the last day of a certificate and the next.
func (x *Instrument) lapsed(zone *time.Location) {
	for i := range x.Certificates {
		c := &x.Certificates[i]
		if c.To.IsZero() {
			continue
		}
		d := Doubt{From: c.To, Noted: true, Entries: []*book.Entry{c.Entry}, Remedy: "enter the certificate that followed",
			Words: fmt.Sprintf("certificate %s of %s was good until %s", c.Entry.Body.Text("certificate"), x.Ref, day(c.To.Add(-time.Millisecond), zone))}
		if i+1 < len(x.Certificates) {
			if d.To = x.Certificates[i+1].From; !d.To.After(d.From) {
				continue
			}
		}
		x.Doubts = append(x.Doubts, d)
	}
}

// unchecked leaves out, where a condition asks for checks, what does not lie
// between two that were passed.
func (x *Instrument) unchecked(zone *time.Location) {
	var first, last *Checked
	for i := range x.Checks {
		if c := &x.Checks[i]; c.Field() && !c.Bad {
			if first == nil {
				first = c
			}
			last = c
		}
	}
	out := Doubt{From: time.UnixMilli(0).UTC(), LeftOut: true, Words: "no field check of " + x.Ref + " is on file, which the condition asks for", Remedy: "enter the field checks of " + x.Ref}
	if first == nil {
		x.Doubts = append(x.Doubts, out)
		return
	}
	out.To, out.Entries = first.At, checksOf(first)
	out.Words = fmt.Sprintf("the first field check of %s was on %s, and the condition asks for one before", x.Ref, when(first.At, zone))
	x.Doubts = append(x.Doubts, out)
	out.From, out.To, out.Entries = last.At, time.Time{}, checksOf(last)
	out.Words = fmt.Sprintf("the last field check of %s was on %s, and the condition asks for one after", x.Ref, when(last.At, zone))
	x.Doubts = append(x.Doubts, out)
}

// uncertified leaves out, where a condition asks for a certificate, the time
// in which none was in force.
func (x *Instrument) uncertified(zone *time.Location) {
	at := time.UnixMilli(0).UTC()
	var last *Certificate
	gap := func(to time.Time) {
		d := Doubt{From: at, To: to, LeftOut: true, Words: "no certificate of " + x.Ref + " was in force, which the condition asks for", Remedy: "enter the certificate of " + x.Ref}
		if last != nil {
			d.Entries = []*book.Entry{last.Entry}
			d.Words = fmt.Sprintf("no certificate of %s was in force from %s, and the condition asks for one", x.Ref, day(at, zone))
		}
		x.Doubts = append(x.Doubts, d)
	}
	for i := range x.Certificates {
		c := &x.Certificates[i]
		if c.From.After(at) {
			gap(c.From)
		}
		last = c
		if c.To.IsZero() {
			return
		}
		at = later(at, c.To)
	}
	gap(time.Time{})
}
