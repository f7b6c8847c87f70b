package judge

import (
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// bearings is what the record of instruments says of the readings of channels,
// each in the time of its import.
func (h *hearing) bearings(chans []series.Channel) bearings {
	if len(chans) == 0 {
		return bearings{}
	}
	if len(chans) == 1 && h.aboutOf == chans[0].Code {
		return h.aboutOne
	}
	by := h.asks()
	if by.rules < 4 {
		return bearings{}
	}
	out := h.rec.ofChannel(chans[0].Code, by)
	h.aboutOf, h.aboutOne = chans[0].Code, out
	for _, c := range chans[1:] {
		more := h.rec.ofChannel(c.Code, by)
		out.doubts = append(out.doubts[:len(out.doubts):len(out.doubts)], more.doubts...)
		out.shifts = append(out.shifts[:len(out.shifts):len(out.shifts)], more.shifts...)
	}
	return out
}

// ofChannel is what is said of all readings of a channel, each in the time of what
// brought them.
func (t *tracked) ofChannel(code string, by asks) bearings {
	if !t.measured(code) && !by.checked && !by.certified {
		return bearings{}
	}
	key := instrumentKey{code, by}
	out, found := t.channelsOf[key]
	if found {
		return out
	}
	for _, e := range t.imports[code] {
		of := calendar.Span{From: e.At, To: e.Until}
		if e.Until.IsZero() {
			of.To = endless
		}
		known := t.about(channelIn(e, code), by)
		out.add(&known, of)
	}
	if c, ok := t.pending.channel(code); ok {
		known := t.about(c, by)
		out.add(&known, t.pending.span(code))
	}
	if t.channelsOf == nil {
		t.channelsOf = map[instrumentKey]bearings{}
	}
	t.channelsOf[key] = out
	return out
}

// add takes over what lies in a span.
func (b *bearings) add(known *bearings, of calendar.Span) {
	for _, d := range known.doubts {
		if cut := (calendar.Span{From: d.From, To: d.end()}).Overlap(of); !cut.Empty() {
			d.From, d.To = cut.From, cut.To
			b.doubts = append(b.doubts, d)
		}
	}
	for _, s := range known.shifts {
		if s.span = s.span.Overlap(of); !s.span.Empty() {
			b.shifts = append(b.shifts, s)
		}
	}
}

// silent tells whether there is nothing to say of readings.
func (b *bearings) silent() bool { return len(b.doubts)+len(b.shifts) == 0 }

// leaves tells whether there is nothing to say of a window.
func (b *bearings) leaves(w calendar.Span) bool {
	near := b.within(w)
	return near.silent()
}

// within tells what of the bearings touches a window.
func (b *bearings) within(w calendar.Span) bearings {
	if b.silent() {
		return bearings{}
	}
	var out bearings
	for _, d := range b.doubts {
		if d.From.Before(w.To) && d.end().After(w.From) {
			out.doubts = append(out.doubts, d)
		}
	}
	for _, s := range b.shifts {
		if s.span.From.Before(w.To) && s.span.To.After(w.From) {
			out.shifts = append(out.shifts, s)
		}
	}
	return out
}

// widened says where a statistic may lie when its readings may be off. A mean,
// an extreme or a rank of levels is off by no more than they are; of what is
// counted or added up nothing is certain.
func (b *bearings) widened(name permit.StatisticName, v bounds, q *quantity.Quantity) bounds {
	low, high := 0.0, 0.0
	for i := range b.doubts {
		if d := &b.doubts[i]; !d.LeftOut && !d.Noted {
			low, high = min(low, d.Low), max(high, d.High)
		}
	}
	if low == 0 && high == 0 {
		return v
	}
	switch name {
	case permit.EnergyMean, permit.Maximum, permit.Minimum, permit.Percentile, permit.Median, permit.ArithmeticMean, permit.Value:
		if q.Decibel {
			return bounds{unit.Round9(v.low + low), unit.Round9(v.high + high)}
		}
	}
	return anything()
}

// say writes into an outcome what was heeded of instruments: in the working, in
// the evidence, and as the cause where it left the window open.
func (b *bearings) say(o *outcome) {
	if b.silent() {
		return
	}
	used := o.entries[:len(o.entries):len(o.entries)]
	for _, s := range b.shifts {
		words := "measured before a façade: taken off each level"
		if s.db > 0 {
			words = "measured in the free field: added to each level, for the limit is of a façade"
		}
		o.derived = append(o.derived[:len(o.derived):len(o.derived)], step(words, withUnit(exact(facadeDB), "dB")))
		if o.reason == "" {
			o.reason = words + " " + withUnit(exact(facadeDB), "dB")
		}
		used = append(used, s.entry)
	}
	var why *Doubt
	for i := range b.doubts {
		d := &b.doubts[i]
		what := "the readings then do not count"
		switch {
		case d.Noted:
			what = "noted; the readings count"
		case !d.LeftOut:
			what = "levels may lie from " + signed(d.Low) + " to " + signed(d.High) + " dB off"
		}
		o.derived = append(o.derived[:len(o.derived):len(o.derived)], step(d.Words, what))
		used = append(used, d.Entries...)
		if why == nil && !d.Noted {
			why = d
		}
	}
	if why != nil && o.verdict == CannotBeJudged {
		o.cause, o.remedy, o.reason = why.Words, why.Remedy, why.Words
		o.unsure = o.unsure || !why.LeftOut
	}
	o.entries = bySeq(used)
}
