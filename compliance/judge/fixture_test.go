package judge_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

func loadZone(name string) (*time.Location, error) { return calendar.LoadZone(name) }

// fixture is a book in memory, with its readings and files.
type fixture struct {
	entries []*book.Entry
	blocks  map[book.ID]map[string][]*series.Block
	files   map[book.Hash][]byte
	refs    map[string]book.ID
}

// Blocks returns the readings that came with an import, cut to those that
// touch the interval.
func (b *fixture) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	var out []*series.Block
	for _, blk := range b.blocks[e.ID][channel] {
		i := sort.Search(blk.Len(), func(i int) bool { return blk.Start[i]+max(blk.Span, 1) > from.UnixMilli() })
		j := sort.Search(blk.Len(), func(i int) bool { return blk.Start[i] >= to.UnixMilli() })
		if i < j {
			c := *blk
			c.Start, c.Coefficient, c.Mark = blk.Start[i:j], blk.Coefficient[i:j], blk.Mark[i:j]
			out = append(out, &c)
		}
	}
	return out, nil
}

func (b *fixture) File(h book.Hash) (io.ReadCloser, error) {
	f, there := b.files[h]
	if !there {
		return nil, fmt.Errorf("file %s is not there", h)
	}
	return io.NopCloser(bytes.NewReader(f)), nil
}

// add seals a draft as the next entry of the book.
func (b *fixture) add(d book.Draft, body book.Object, erasedBy int64) *book.Entry {
	seq := int64(len(b.entries) + 1)
	if d.ID == "" {
		d.ID = book.RowID("test", d.Kind, "row", strconv.FormatInt(seq, 10))
	}
	if d.Precision == "" {
		d.Precision = book.ToMillisecond
	}
	d.By, d.Role, d.Body = "p1", "officer", body
	e := &book.Entry{Envelope: d.Envelope("test", seq, recordedAt(seq))}
	if body != nil {
		e.Salt = []byte("0123456789abcdef")
		e.BodyHash = book.HashBody(e.Salt, body)
		e.Body = body
	}
	e.Hash = sha256.Sum256(e.Envelope.Bytes())
	if erasedBy > 0 {
		e.Body, e.Salt, e.ErasedBy = nil, nil, erasedBy
	}
	b.entries = append(b.entries, e)
	return e
}

func recordedAt(seq int64) time.Time {
	return time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(seq) * time.Minute)
}

func newFixture(zone string) *fixture {
	b := &fixture{blocks: map[book.ID]map[string][]*series.Block{}, files: map[book.Hash][]byte{}, refs: map[string]book.ID{}}
	b.add(book.Draft{Kind: "site.1", At: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)},
		book.Object{"name": "Test site", "zone": zone, "grid": "test grid", "datum": "test datum"}, 0)
	return b
}

// build makes the book of a golden case.
func (c *goldenCase) build(t *testing.T) *fixture {
	t.Helper()
	b := newFixture(c.zone())
	for _, h := range c.Holidays {
		b.holidays(h)
	}
	for i, text := range c.Notices {
		b.notice(t, fmt.Sprintf("notice %d", i+1), text)
	}
	for _, r := range c.Readings {
		b.readings(t, c, r)
	}
	for _, e := range c.Entries {
		b.entry(t, c, e)
	}
	for _, r := range c.Reject {
		b.add(book.Draft{Kind: "rejection.1", At: c.time(t, r.From), Until: c.time(t, r.To)},
			book.Object{"channel": r.Channel, "reason": r.Reason}, 0)
	}
	return b
}

func (b *fixture) holidays(h holidayText) {
	var days []any
	for _, d := range h.Days {
		date, title, _ := strings.Cut(d, " ")
		days = append(days, book.Object{"date": date, "title": title})
	}
	b.add(book.Draft{Kind: "calendar.1", At: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)}, book.Object{
		"id": h.ID, "source": "test", "from_year": int64(h.Years[0]), "to_year": int64(h.Years[1]), "days": days,
	}, 0)
}

func (b *fixture) notice(t testing.TB, name, text string) {
	t.Helper()
	n, err := permit.Read(strings.NewReader(text), name)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	kind, at := "permit.1", n.Granted
	if n.Varies != "" {
		kind, at = "variation.1", n.Effective
	}
	b.add(book.Draft{Kind: kind, At: at.Start(time.UTC)}, permit.ToObject(n), 0)
}

func (b *fixture) readings(t *testing.T, c *goldenCase, r readingsText) {
	t.Helper()
	step, err := time.ParseDuration(r.Step)
	if err != nil {
		t.Fatal(err)
	}
	blk := parseReadings(t, r.Values, c.time(t, r.From).UnixMilli(), step.Milliseconds())
	end := time.UnixMilli(blk.Start[blk.Len()-1]).Add(step).UTC()
	erased := int64(0)
	if r.Erased {
		erased = 999
	}
	channel := book.Object{"channel": r.Channel, "quantity": r.Quantity, "place": r.Place, "unit": r.Unit, "count": int64(blk.Len())}
	for key, ref := range map[string]string{"instrument": r.Instrument, "deployment": r.Deployment} {
		if ref != "" {
			channel[key] = ref
		}
	}
	e := b.add(book.Draft{Kind: "import.1", At: c.time(t, r.From), Until: end, Places: []string{r.Place}}, book.Object{"channels": []any{channel}}, erased)
	b.blocks[e.ID] = map[string][]*series.Block{r.Channel: {blk}}
	if r.Withdrew {
		b.add(book.Draft{Kind: "import.1", At: e.At, Until: e.Until, Supersedes: e.ID, Reason: "wrong file"}, nil, 0)
	}
}

// parseReadings reads "54 56 - 57*3 <5".
func parseReadings(t *testing.T, text string, start, step int64) *series.Block {
	t.Helper()
	type reading struct {
		d    unit.Decimal
		mark series.Mark
	}
	var list []reading
	places := int8(0)
	for _, word := range strings.Fields(text) {
		value, times, repeated := strings.Cut(word, "*")
		n := 1
		if repeated {
			var err error
			if n, err = strconv.Atoi(times); err != nil {
				t.Fatalf("reading %q: %v", word, err)
			}
		}
		r := reading{mark: series.Valid}
		switch {
		case value == "-":
			r.mark = series.Blank
		case strings.HasPrefix(value, "<"):
			r.mark = series.Below
		case strings.HasPrefix(value, ">"):
			r.mark = series.Above
		}
		if r.mark != series.Blank {
			d, err := unit.ParseDecimal(strings.TrimLeft(value, "<>"))
			if err != nil {
				t.Fatal(err)
			}
			r.d = d
			places = max(places, d.Places)
		}
		for range n {
			list = append(list, r)
		}
	}
	blk := &series.Block{Span: step, Places: places}
	for i, r := range list {
		coefficient := r.d.Coefficient
		for p := r.d.Places; p < places; p++ {
			coefficient *= 10
		}
		blk.Start = append(blk.Start, start+int64(i)*step)
		blk.Coefficient = append(blk.Coefficient, coefficient)
		blk.Mark = append(blk.Mark, r.mark)
	}
	return blk
}

func (b *fixture) entry(t *testing.T, c *goldenCase, e entryText) {
	t.Helper()
	d := book.Draft{Kind: e.Kind, At: c.time(t, e.At), Precision: precisionOf(e.At)}
	if d.Kind == "" {
		d.Kind = "observed.1"
	}
	if e.Place != "" {
		d.Places = []string{e.Place}
	}
	if e.Until != "" {
		d.Until = c.time(t, e.Until)
	}
	for _, earlier := range []string{e.Corrects, e.Withdraws} {
		if earlier != "" {
			d.Supersedes, d.Reason = b.refs[earlier], "test"
		}
	}
	body := book.Object{}
	for k, v := range map[string]string{"quantity": e.Quantity, "value": e.Value, "name": e.Name, "low": e.Low, "high": e.High, "ref": e.Ref} {
		if v != "" {
			body[k] = v
		}
	}
	for k, v := range e.Body {
		body[k] = v
		if k == "emergency" {
			body[k] = v == "true"
		}
	}
	if e.Withdraws != "" {
		body = nil
	}
	erased := int64(0)
	if e.Erased {
		erased = 999
	}
	made := b.add(d, body, erased)
	if e.Ref != "" {
		b.refs[e.Ref] = made.ID
	}
}

func precisionOf(at string) book.Precision {
	switch {
	case len(at) == len("2006-01-02"):
		return book.ToDay
	case len(at) == len("2006-01-02 15:04"):
		return book.ToMinute
	}
	return book.ToMillisecond
}

// testQuantities are quantities for the tests: readings under the codes of the
// trade, and single results, events, acts and papers read from entries of the
// kind "observed.1" that name their quantity.
func testQuantities(t testing.TB) *quantity.List {
	t.Helper()
	zero := 0.0
	observed := func(code, title, unitName string, form quantity.Form) *quantity.Quantity {
		q := &quantity.Quantity{Code: code, Title: title, Unit: unitName, Form: form, NotBelow: &zero, With: []string{"act", "scheme", "stage"}}
		q.Observe = func(r quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return observe(r, code, ask), nil
		}
		return q
	}
	list, err := quantity.NewList(
		&quantity.Quantity{Code: "noise.laeq", Title: "LAeq", Unit: "dB", Form: quantity.Series, Decibel: true},
		&quantity.Quantity{Code: "water.flow_volume", Title: "volume discharged", Unit: "m³", Form: quantity.Series, NotBelow: &zero},
		&quantity.Quantity{Code: "dust.pm10", Title: "PM10", Unit: "µg/m³", Form: quantity.Series, NotBelow: &zero},
		&quantity.Quantity{Code: "air.wind", Title: "wind speed", Unit: "m/s", Form: quantity.Series, NotBelow: &zero},
		&quantity.Quantity{Code: "water.ph", Title: "pH", Unit: "pH", Form: quantity.Series},
		observed("water.nitrate", "nitrate", "mg/L", quantity.Samples),
		observed("water.tss", "suspended solids", "mg/L", quantity.Samples),
		observed("water.turbidity", "turbidity", "NTU", quantity.Samples),
		observed("noise.attended", "attended LAeq", "dB", quantity.Samples),
		observed("dust.pm10_day", "daily PM10", "µg/m³", quantity.Samples),
		observed("vibration.ppv", "peak particle velocity", "mm/s", quantity.Events),
		observed("soil.depth", "topsoil depth", "m", quantity.Samples),
		observed("restoration.check", "difference of level", "m", quantity.Samples),
		observed("restoration.share", "share within tolerance", "%", quantity.Levels),
		observed("restoration.cover", "plant cover", "%", quantity.Samples),
		observed("soil.placed", "soil placed", "m³", quantity.Events),
		observed("soil.stripped", "soil stripped", "m³", quantity.Events),
		&quantity.Quantity{Code: "water.solids", Title: "suspended solids", Unit: "mg/L", Form: quantity.Series, NotBelow: &zero},
		&quantity.Quantity{Code: "water.flow", Title: "flow", Unit: "L/s", Form: quantity.Series, NotBelow: &zero},
		observed("haulage.movements", "heavy vehicle movements", "", quantity.Events),
		metered("plant.run_hours"),
		observed("plant.year_hours", "run hours", "h", quantity.Samples),
		observed("site.act", "work", "", quantity.Acts),
		observed("site.paper", "scheme", "", quantity.Papers),
	)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// metered is a quantity read from steps of a meter, each with its length.
func metered(code string) *quantity.Quantity {
	return &quantity.Quantity{Code: code, Title: "run hours", Unit: "h", Form: quantity.Events,
		Observe: func(r quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range r.Entries("hours.1") {
				place := ""
				if len(e.Places) > 0 {
					place = e.Places[0]
				}
				if place == ask.Place && e.Until.After(ask.From) {
					out = append(out, observation(e, place, ""))
				}
			}
			return out, nil
		}}
}

func observe(r quantity.Record, code string, ask quantity.Ask) []quantity.Observation {
	var out []quantity.Observation
	for _, e := range r.Entries("observed.1") {
		name := e.Body.Text("name")
		wanted := ask.With["act"] + ask.With["stage"]
		if e.Body.Text("quantity") != code || wanted != "" && wanted != name || e.At.Before(ask.From) || !ask.To.IsZero() && !e.At.Before(ask.To) {
			continue
		}
		if s := ask.With["scheme"]; s != "" && s != e.Body.Text("scheme") {
			continue
		}
		place := ""
		if len(e.Places) > 0 {
			place = e.Places[0]
		}
		if ask.Place != "" && place != "" && place != ask.Place {
			continue
		}
		out = append(out, observation(e, place, name))
	}
	return out
}

func observation(e *book.Entry, place, name string) quantity.Observation {
	from, to := e.Span()
	o := quantity.Observation{From: from, To: to, Precision: e.Precision, Place: place, Name: name, Value: 1, Text: e.Body.Text("value"), Entry: e}
	switch {
	case o.Text == "-":
		o.Mark, o.Value = series.Blank, 0
	case strings.HasPrefix(o.Text, "<"):
		o.Mark = series.Below
	case strings.HasPrefix(o.Text, ">"):
		o.Mark = series.Above
	}
	if v, err := strconv.ParseFloat(strings.TrimLeft(o.Text, "<>"), 64); err == nil {
		o.Value = v
	}
	o.FrequencyHz, _ = strconv.ParseFloat(e.Body.Text("frequency"), 64)
	o.DistanceM, _ = strconv.ParseFloat(e.Body.Text("distance"), 64)
	o.Low, _ = strconv.ParseFloat(e.Body.Text("low"), 64)
	o.High, _ = strconv.ParseFloat(e.Body.Text("high"), 64)
	return o
}
