package judge

import (
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// facadeDB is how much louder sound is 1 m before a wall than in the free
// field, in dB.
//
// Source: Directive 2002/49/EC, Annex I: incident sound is what is measured at a
// façade less 3 dB.
const facadeDB = 3

// asks are what a condition says of the instruments whose readings it goes by.
type asks struct {
	rules     int
	limit     unit.Decimal // greatest drift
	unit      string       // of limit; "" = by common practice
	checked   bool         // readings count only between two field checks
	certified bool         // and only while a certificate is in force
	basis     string       // free field, façade; "" where levels stay what they are
}

// drift returns from which drift readings are flagged, and from which they are
// left out. Of a quantity without a practice of its own nothing is said.
func (by asks) drift(of string) (flag, most float64) {
	flag, most = plenty, plenty
	if unit.Same(of, "dB") {
		flag, most = driftFlagged, driftLeftOut
	}
	if by.unit == "" {
		return flag, most
	}
	limit := by.limit.Float()
	if !unit.Same(of, by.unit) {
		if v, err := unit.Convert(limit, by.unit, of); err == nil {
			limit = v
		} else {
			return flag, most // checked in another quantity than the condition speaks of
		}
	}
	return min(flag, limit), limit
}

// plenty is more than any instrument drifts.
const plenty = 1e300

// asks reads what the condition says of instruments: with {drift: 0.5 dB} and
// {checked: field check}, {checked: certificate}, {checked: field check and
// certificate}; and its basis, where that is one of sound.
func (h *hearing) asks() asks {
	if h.asked == nil {
		by := h.readAsks()
		h.asked = &by
	}
	return *h.asked
}

func (h *hearing) readAsks() asks {
	c := h.cond()
	by := asks{rules: h.s.opts.Rules}
	if by.rules < 4 {
		return by
	}
	if d, of, err := permit.DriftLimit(c.With); err == nil && of != "" {
		by.limit, by.unit = d, of
	}
	by.checked, by.certified = permit.ChecksAsked(c.With)
	if h.q != nil && h.q.Decibel {
		switch strings.ToLower(c.Basis) {
		case "free field":
			by.basis = "free field"
		case "façade", "facade":
			by.basis = "façade"
		}
	}
	return by
}

// bearings are what is known of the readings that one import brought of a
// channel: what is doubtful, and what is to be taken off or added.
type bearings struct {
	doubts []Doubt
	shifts []shift
}

// shift is a span in which levels are moved from where the instrument stood to
// what the limit is of.
type shift struct {
	span  calendar.Span
	db    int64
	entry *book.Entry // the deployment
}

// bearing finds what the record of the instrument says of readings of a channel
// that came together. Where neither instrument nor deployment is named nothing is known
// against them, unless the condition asks for checks.
func (t *tracked) bearing(ch series.Channel, by asks) bearings {
	var out bearings
	var stood *book.Entry
	ref := ch.Instrument
	if ch.Deployment != "" || ref != "" {
		for _, d := range t.Entries(deploymentKind) {
			if ch.Deployment != "" && d.Body.Text("ref") == ch.Deployment && stood == nil {
				stood = d
			}
		}
	}
	if stood != nil && ref == "" {
		ref = stood.Body.Text("instrument")
	}
	if ref == "" {
		if by.checked || by.certified {
			out.doubts = append(out.doubts, Doubt{From: time.UnixMilli(0).UTC(), LeftOut: true,
				Words:  "it is not on file which instrument measured " + ch.Code + ", and the condition asks for its checks",
				Remedy: "import the file again with its instrument"})
		}
		if stood == nil {
			return out
		}
	}
	x := &Instrument{}
	if ref != "" {
		x = t.instrumentBy(ref, by)
		out.doubts = append(out.doubts, x.against(stood, ch.Place)...)
	}
	stands := at(x.Stands, ch.Place)
	if stood != nil {
		stands = []Stood{{stood.At, stood.Until, stood}}
	}
	if stood != nil || len(x.Stands) > 0 {
		out.doubts = append(out.doubts, outside(stands, ref, ch.Code, ch.Place)...)
	}
	for _, s := range stands {
		position := s.Entry.Body.Text("position")
		switch {
		case by.basis == "free field" && position == "façade":
			out.shifts = append(out.shifts, shift{s.span(), -facadeDB, s.Entry})
		case by.basis == "façade" && position == "free field":
			out.shifts = append(out.shifts, shift{s.span(), facadeDB, s.Entry})
		}
	}
	return out
}

// instrumentKey names an instrument, or a channel, and what is asked.
type instrumentKey struct {
	name string
	by   asks
}

// aboutKey names a channel as one import has it, and what is asked.
type aboutKey struct {
	of series.Channel
	by asks
}

// instrumentBy reads an instrument once for what is asked alike.
func (t *tracked) instrumentBy(ref string, by asks) *Instrument {
	key := instrumentKey{ref, by}
	x := t.instruments[key]
	if x == nil {
		if t.instruments == nil {
			t.instruments = map[instrumentKey]*Instrument{}
		}
		x = t.instrument(ref, by)
		t.instruments[key] = x
	}
	return x
}

// about is bearing, found once.
func (t *tracked) about(c series.Channel, by asks) bearings {
	if !measuredBy(c) && !by.checked && !by.certified {
		return bearings{}
	}
	key := aboutKey{c, by}
	out, found := t.abouts[key]
	if !found {
		if t.abouts == nil {
			t.abouts = map[aboutKey]bearings{}
		}
		out = t.bearing(c, by)
		t.abouts[key] = out
	}
	return out
}

// against returns the doubts that concern readings of one deployment, or of all
// at one place: that an instrument was moved concerns where it stood before.
func (x *Instrument) against(stood *book.Entry, place string) []Doubt {
	var out []Doubt
	for _, d := range x.Doubts {
		if len(d.Entries) > 0 && d.Entries[0].Kind == deploymentKind {
			left := d.Entries[0]
			if stood != nil && left.ID != stood.ID || stood == nil && !named(left.Places, place) {
				continue
			}
		}
		out = append(out, d)
	}
	return out
}

// at keeps the deployments at a place.
func at(stands []Stood, place string) []Stood {
	var out []Stood
	for _, s := range stands {
		if named(s.Entry.Places, place) {
			out = append(out, s)
		}
	}
	return out
}

func (s *Stood) span() calendar.Span {
	if s.To.IsZero() {
		return calendar.Span{From: s.From, To: endless}
	}
	return calendar.Span{From: s.From, To: s.To}
}

// outside leaves out what was read while the instrument stood in none of the
// deployments: on its way, in the store, or where nobody wrote down.
func outside(stands []Stood, ref, channel, place string) []Doubt {
	if ref == "" {
		ref = "the instrument of " + channel
	}
	out := []Doubt{}
	from := time.UnixMilli(0).UTC()
	gap := func(to time.Time) {
		out = append(out, Doubt{From: from, To: to, LeftOut: true, Words: "no deployment has " + ref + " at " + place + " then",
			Remedy: "enter or correct the deployment of " + ref})
	}
	for i := range stands {
		s := stands[i].span()
		if s.From.After(from) {
			gap(s.From)
		}
		from = later(from, s.To)
	}
	if from.Before(endless) {
		gap(time.Time{})
	}
	return out
}

// end is the end of a doubt, far ahead where it has none.
func (d *Doubt) end() time.Time {
	if d.To.IsZero() {
		return endless
	}
	return d.To
}

// marking leaves out what is doubtful and moves levels to what the limit is of.
// What an instrument showed at a check is never added.
func (t *tracked) marking(by asks) marking {
	if by.rules < 4 {
		return func(blocks []*series.Block, c series.Channel) []*series.Block {
			return t.deployed(blocks, c.Deployment)
		}
	}
	return func(blocks []*series.Block, c series.Channel) []*series.Block {
		known := t.about(c, by)
		for _, s := range known.shifts {
			blocks = shifted(blocks, s)
		}
		for i := range known.doubts {
			if d := &known.doubts[i]; d.LeftOut {
				blocks = series.Reject(blocks, d.From, d.end(), series.Doubtful)
			}
		}
		return blocks
	}
}

// shifted moves the levels of a span by whole decibels; the readings as imported
// stay.
func shifted(blocks []*series.Block, s shift) []*series.Block {
	out := append([]*series.Block(nil), blocks...)
	for k, b := range blocks {
		i, j := b.Touching(s.span.From.UnixMilli(), s.span.To.UnixMilli())
		if i >= j {
			continue
		}
		by := s.db
		for range b.Places {
			by *= 10
		}
		c := *b
		c.Coefficient = append([]int64(nil), b.Coefficient...)
		for ; i < j; i++ {
			if c.Mark[i].Counts() {
				c.Coefficient[i] += by
			}
		}
		out[k] = &c
	}
	return out
}
