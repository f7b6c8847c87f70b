package series

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// simple is the mapping of a file with the columns time and v, by the minute.
func simple(zone string) Mapping {
	return Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   TimeColumns{Columns: []string{"time"}, Stamp: "begin", Interval: "60", Zone: zone},
		Values: []ValueColumn{{Column: "v", Channel: "C1", Unit: "dB"}},
	}
}

// lines shows the readings of the first channel as "begin value mark".
func lines(p *Parsed) []string {
	var out []string
	for _, b := range p.Channels[0].Blocks {
		for i := range b.Start {
			s := time.UnixMilli(b.Start[i]).UTC().Format("01-02T15:04:05.999") + " " + b.Value(i).String()
			if b.Mark[i] != Valid {
				s += " " + b.Mark[i].String()
			}
			out = append(out, s)
		}
	}
	return out
}

func TestReadForms(t *testing.T) {
	with := func(change func(*Mapping)) Mapping {
		m := simple("UTC")
		change(&m)
		return m
	}
	cases := []struct {
		name, text string
		m          Mapping
		want       []string
	}{
		{"plain", "time,v\n2026-06-01 10:00,50.0\n2026-06-01 10:01,51.25\n", simple("UTC"), []string{"06-01T10:00:00 50.00", "06-01T10:01:00 51.25"}},
		{"byte order mark, CRLF, spaces in the header", "\xef\xbb\xbftime , v \r\n2026-06-01T10:00:00Z,50\r\n", simple(InFile), []string{"06-01T10:00:00 50"}},
		{"offset beats the zone", "time,v\n2026-06-01T10:00:00+02:00,50\n", simple("Europe/London"), []string{"06-01T08:00:00 50"}},
		{"summer time", "time,v\n2026-06-01 10:00,50\n", simple("Europe/London"), []string{"06-01T09:00:00 50"}},
		{"a logger that stays on winter time", "time,v\n2026-06-01 10:00,50\n", simple("+00:00"), []string{"06-01T10:00:00 50"}},
		{"T13 the repeated hour with offsets", "time,v\n2026-10-25T01:59:00+01:00,50\n2026-10-25T01:00:00+00:00,51\n", simple("Europe/London"),
			[]string{"10-25T00:59:00 50", "10-25T01:00:00 51"}},
		{"T10 stamps at the end: midnight is of the day before", "time,v\n2026-06-02 00:00,50\n", with(func(m *Mapping) { m.Time.Stamp = "end" }), []string{"06-01T23:59:00 50"}},
		{"T10 24:00", "time,v\n2026-06-01 24:00,50\n", with(func(m *Mapping) { m.Time.Stamp = "end" }), []string{"06-01T23:59:00 50"}},
		{"half seconds", "time,v\n2026-06-01 10:00:00.125,50\n", with(func(m *Mapping) { m.Time.Interval = "0.125" }), []string{"06-01T10:00:00.125 50"}},
		{"less than, more than, blank, missing, flags", "time,v\n2026-06-01 10:00,<0.05\n2026-06-01 10:01,> 90\n2026-06-01 10:02,\n2026-06-01 10:03,NA\n2026-06-01 10:04,OVL\n",
			with(func(m *Mapping) { m.Missing = []string{"NA"}; m.Flags = []Flag{{"OVL", "overload"}} }),
			[]string{"06-01T10:00:00 0.05 below", "06-01T10:01:00 90.00 above", "06-01T10:02:00 0.00 blank", "06-01T10:03:00 0.00 blank", "06-01T10:04:00 0.00 overload"}},
		{"qualifier column", "time,q,v\n2026-06-01 10:00,<,0.05\n2026-06-01 10:01,,0.07\n2026-06-01 10:02,E,0.08\n2026-06-01 10:03,W,0.09\n",
			with(func(m *Mapping) {
				m.Values[0].Qualifier = "q"
				m.Flags = []Flag{{"E", "valid"}, {"W", "wind"}}
			}), []string{"06-01T10:00:00 0.05 below", "06-01T10:01:00 0.07", "06-01T10:02:00 0.08", "06-01T10:03:00 0.00 wind"}},
		{"semicolons, decimal commas, US dates, am and pm, preamble, units row, footer",
			"Logger 12\nserial \"7\ntime;clock;v\n;;dB\n6/1/2026;12:05 AM;50,5\n6/1/2026;1:05 pm;51\nend of file;;\n", Mapping{
				Delimiter: ";", DecimalMark: ",", HeaderRow: 3, SkipRows: 1, FooterRows: 1,
				Time:   TimeColumns{Columns: []string{"time", "clock"}, Layout: "M/D/YYYY h:mm AP", Stamp: "begin", Interval: "300", Zone: "UTC"},
				Values: []ValueColumn{{Column: "v", Channel: "C1", Unit: "dB"}},
			}, []string{"06-01T00:05:00 50.5", "06-01T13:05:00 51.0"}},
		{"no header, tabs, month names, two-digit year", "50\t01-Jun-26 10:00\n", Mapping{
			Delimiter: "tab",
			Time:      TimeColumns{Columns: []string{"#2"}, Layout: "DD-MMM-YY hh:mm", Stamp: "instant", Zone: "UTC"},
			Values:    []ValueColumn{{Column: "#1", Channel: "C1", Unit: "m"}},
		}, []string{"06-01T10:00:00 50"}},
		{"latin-1 header", "time,\xb5g\n2026-06-01 10:00,50\n", with(func(m *Mapping) { m.Encoding = "latin-1"; m.Values[0].Column = "µg" }), []string{"06-01T10:00:00 50"}},
		{"dates alone are local midnights", "time,v\n2026-06-01,50\n2026-10-26,51\n", with(func(m *Mapping) {
			m.Time.Stamp, m.Time.Interval, m.Time.Zone = "instant", "", "Europe/London"
		}), []string{"05-31T23:00:00 50", "10-26T00:00:00 51"}},
		{"T15 a repeated row is dropped", "time,v\n2026-06-01 10:00,50\n2026-06-01 10:00,50.0\n2026-06-01 10:01,51\n", simple("UTC"), []string{"06-01T10:00:00 50", "06-01T10:01:00 51"}},
		{"powers of ten and signs", "time,v\n2026-06-01 10:00,1.2e-3\n2026-06-01 10:01,-4E1\n2026-06-01 10:02,+.5\n", simple("UTC"),
			[]string{"06-01T10:00:00 0.0012", "06-01T10:01:00 -40.0000", "06-01T10:02:00 0.5000"}},
		{"empty cells beyond the header", "time,v\n2026-06-01 10:00,50,,\n", simple("UTC"), []string{"06-01T10:00:00 50"}},
		{"quoted cells", "time,v\n\"2026-06-01 10:00\",\"50\"\n", simple("UTC"), []string{"06-01T10:00:00 50"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := read(t, c.text, c.m)
			if got := lines(p); !slices.Equal(got, c.want) {
				t.Errorf("got %q\nwant %q", got, c.want)
			}
			n, sha := Digest(p.Channels[0].Blocks)
			if n != int64(len(c.want)) || sha != p.Channels[0].Digest || p.Rows != len(c.want) {
				t.Errorf("count %d, rows %d", n, p.Rows)
			}
		})
	}
}

// TestReadLocalDays: daily means whose days last 23 and 25 hours.
func TestReadLocalDays(t *testing.T) {
	m := simple("Europe/London")
	m.Time.Interval = LocalDay
	p := read(t, "time,v\n2026-03-28,1\n2026-03-29,2\n2026-03-30,3\n2026-10-25,4\n", m)
	var hours []int64
	for _, b := range p.Channels[0].Blocks {
		hours = append(hours, b.Span/3_600_000)
	}
	if !slices.Equal(hours, []int64{24, 23, 24, 25}) || !p.DayPrecision {
		t.Errorf("lengths %v h", hours)
	}
	day, err := period(t, "local day").At(time.UnixMilli(ms0(t, "2026-03-29T12:00:00Z")), zone(t, "Europe/London"))
	if err != nil {
		t.Fatal(err)
	}
	if r := one(t, p.Channels[0].Blocks, day, Request{Stat: ArithmeticMean}); r.Value != 2 || r.Coverage != 1 {
		t.Errorf("got %v, coverage %v", r.Value, r.Coverage)
	}
	if _, err := ReadDelimited(strings.NewReader("time,v\n2026-03-28 01:00,1\n"), "x", m); err == nil || !strings.Contains(err.Error(), "start of a local day") {
		t.Errorf("got %v", err)
	}
}

// T15 by its figures: 60, 70 and 50 dB average to 65.682; the first taken twice
// would give 64.807, the second 67.222.
func TestRepeatedRowsAverageOnce(t *testing.T) {
	for name, text := range map[string]string{"T15 the first twice": "60\n2026-06-10 10:00,60\n2026-06-10 10:01,70\n", "T15 the second twice": "60\n2026-06-10 10:01,70\n2026-06-10 10:01,70\n"} {
		t.Run(name, func(t *testing.T) {
			p := read(t, "time,v\n2026-06-10 10:00,"+text+"2026-06-10 10:02,50\n", simple("UTC"))
			if p.Duplicates != 1 {
				t.Errorf("%d rows were dropped as repeated", p.Duplicates)
			}
			near(t, "energy mean", one(t, p.Channels[0].Blocks, span(t, ten, 3*time.Minute), Request{Stat: EnergyMean}).Value, 65.682, 0.0005)
		})
	}
}

func TestReadBadLines(t *testing.T) {
	cases := []struct {
		name, text, zone string
		line             int
		says             string
	}{
		{"T13 repeated hour without offset", "time,v\n2026-10-25 00:59,50\n2026-10-25 01:30,50\n", "Europe/London", 3, "twice that night"},
		{"T13 skipped hour", "time,v\n2026-03-29 00:59,50\n2026-03-29 01:30,50\n", "Europe/London", 3, "never shows"},
		{"clock backwards", "time,v\n2026-06-01 10:00,50\n2026-06-01 09:00,50\n", "UTC", 3, "backwards, by 1h0m0s"},
		{"T15 same time, other value", "time,v\n2026-06-01 10:00,50\n2026-06-01 10:00,51\n", "UTC", 3, "another value"},
		{"T15 same time, other mark", "time,v\n2026-06-01 10:00,50\n2026-06-01 10:00,<50\n", "UTC", 3, "another value"},
		{"readings overlap", "time,v\n2026-06-01 10:00,50\n2026-06-01 10:00:30,50\n", "UTC", 3, "30s before the one before it ends"},
		{"no number", "time,v\n2026-06-01 10:00,fifty\n", "UTC", 2, "no number"},
		{"decimal comma", "time,v\n2026-06-01 10:00,\"50,5\"\n", "UTC", 2, "decimal mark"},
		{"thousands mark", "time,v\n2026-06-01 10:00,\"1.000,5\"\n", "UTC", 2, "no number"},
		{"too many digits", "time,v\n2026-06-01 10:00,1234567890.123456789\n", "UTC", 2, "18"},
		{"no offset in a file of offsets", "time,v\n2026-06-01 10:00,50\n", InFile, 2, "no offset"},
		{"no such day", "time,v\n2026-02-29 10:00,50\n", "UTC", 2, "names no day"},
		{"another layout", "time,v\n01/06/2026 10:00,50\n", "UTC", 2, "not a time written as"},
		{"cut off", "time,v\n2026-06-01 10:00,50\n2026-06-01 10:0", "UTC", 3, "cut off"},
		{"too many cells", "time,v\n2026-06-01 10:00,50,5\n", "UTC", 2, "delimiter"},
		{"stray quote", "time,v\n2026-06-01 10:00,5\"0\n", "UTC", 2, "\""},
		{"finer than a millisecond", "time,v\n2026-06-01 10:00:00.1234,50\n", "UTC", 2, "not a time"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, err := ReadDelimited(strings.NewReader(c.text), "log.csv", simple(c.zone))
			if p != nil {
				t.Error("something was returned")
			}
			bad := badLines(t, err)
			if bad.Count != 1 || bad.Lines[0].Line != c.line || !strings.Contains(bad.Lines[0].Why, c.says) {
				t.Errorf("got %+v, want line %d saying %q", bad.Lines, c.line, c.says)
			}
			if !strings.Contains(err.Error(), fmt.Sprintf("log.csv:%d: ", c.line)) {
				t.Errorf("message %q", err)
			}
		})
	}
	t.Run("qualifiers", func(t *testing.T) {
		m := simple("UTC")
		m.Values[0].Qualifier = "q"
		for text, says := range map[string]string{"U,0.1": "no meaning", "<,": "empty value", ">,<5": "contradict"} {
			_, err := ReadDelimited(strings.NewReader("time,q,v\n2026-06-01 10:00,"+text+"\n"), "log.csv", m)
			if bad := badLines(t, err); !strings.Contains(bad.Lines[0].Why, says) {
				t.Errorf("%s: %v", text, err)
			}
		}
	})
	t.Run("all are counted, fifty shown", func(t *testing.T) {
		var b strings.Builder
		b.WriteString("time,v\n")
		for i := 0; i < 120; i++ {
			fmt.Fprintf(&b, "2026-06-01 %02d:%02d,bad\n", 10+i/60, i%60)
		}
		_, err := ReadDelimited(strings.NewReader(b.String()), "log.csv", simple("UTC"))
		if bad := badLines(t, err); bad.Count != 120 || len(bad.Lines) != 50 || !strings.HasSuffix(err.Error(), "and 70 more") {
			t.Errorf("%d of %d, %q", len(bad.Lines), bad.Count, err.Error()[len(err.Error())-40:])
		}
	})
}

func TestReadRefusesFile(t *testing.T) {
	broken := errors.New("the disk is gone")
	cases := []struct {
		name string
		r    io.Reader
		says string
	}{
		{"empty", strings.NewReader(""), "header"},
		{"header alone", strings.NewReader("time,v\n"), "no rows"},
		{"wrong column", strings.NewReader("time,level\n2026-06-01 10:00,50\n"), `it holds ["time" "level"]`},
		{"column twice", strings.NewReader("time,v,v\n"), "twice"},
		{"not UTF-8", strings.NewReader("time,v\xb5\n"), "latin-1"},
		{"UTF-16", strings.NewReader("\xff\xfet\x00"), "UTF-16"},
		{"source fails", io.MultiReader(strings.NewReader("time,v\n2026-06-01 10:00,50\n"), iotest.ErrReader(broken)), "disk is gone"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, err := ReadDelimited(c.r, "log.csv", simple("UTC"))
			if p != nil || err == nil || !strings.Contains(err.Error(), c.says) || !strings.HasPrefix(err.Error(), "log.csv") {
				t.Errorf("got %v", err)
			}
		})
	}
	m := simple("UTC")
	m.HeaderRow = 5
	if _, err := ReadDelimited(strings.NewReader("a\nb\n"), "log.csv", m); err == nil || !strings.Contains(err.Error(), "before its header in line 5") {
		t.Errorf("got %v", err)
	}
}

func TestMappingCheck(t *testing.T) {
	if err := simple("UTC").Check(); err != nil {
		t.Fatal(err)
	}
	cases := []struct {
		name   string
		change func(*Mapping)
		says   string
	}{
		{"no zone", func(m *Mapping) { m.Time.Zone = "" }, "never guessed"},
		{"local zone", func(m *Mapping) { m.Time.Zone = "Local" }, "another zone on every machine"},
		{"no stamp", func(m *Mapping) { m.Time.Stamp = "" }, "never guessed"},
		{"no interval", func(m *Mapping) { m.Time.Interval = "" }, "needs the interval"},
		{"instant with interval", func(m *Mapping) { m.Time.Stamp = "instant" }, "no interval"},
		{"odd middle", func(m *Mapping) { m.Time.Stamp, m.Time.Interval = "mid", "0.125" }, "no middle"},
		{"interval in words", func(m *Mapping) { m.Time.Interval = "1 min" }, "write seconds"},
		{"unknown unit", func(m *Mapping) { m.Values[0].Unit = "furlong" }, "furlong"},
		{"channel twice", func(m *Mapping) { m.Values = append(m.Values, m.Values[0]) }, "twice"},
		{"no values", func(m *Mapping) { m.Values = nil }, "no column"},
		{"layout without day", func(m *Mapping) { m.Time.Layout = "YYYY-MM hh:mm" }, "no year, month and day"},
		{"layout in other letters", func(m *Mapping) { m.Time.Layout = "%d/%m/%Y" }, "not known"},
		{"layout twice", func(m *Mapping) { m.Time.Layout = "YYYY-MM-DD DD" }, "twice"},
		{"layout with a gap", func(m *Mapping) { m.Time.Layout = "YYYY-MM-DD hh:ss" }, "gap"},
		{"delimiter", func(m *Mapping) { m.Delimiter = "" }, "delimiter"},
		{"decimal mark", func(m *Mapping) { m.DecimalMark = "'" }, "decimal mark"},
		{"encoding", func(m *Mapping) { m.Encoding = "ebcdic" }, "encoding"},
		{"three time columns", func(m *Mapping) { m.Time.Columns = []string{"a", "b", "c"} }, "3 columns"},
		{"unknown mark", func(m *Mapping) { m.Flags = []Flag{{"X", "odd"}} }, "no mark"},
		{"a text with two meanings", func(m *Mapping) { m.Missing = []string{"X"}; m.Flags = []Flag{{"X", "wind"}} }, "means both"},
		{"rows below zero", func(m *Mapping) { m.FooterRows = -1 }, "footer rows"},
		{"local days without a zone", func(m *Mapping) { m.Time.Interval, m.Time.Zone = LocalDay, InFile }, "local day"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m := simple("UTC")
			c.change(&m)
			if err := m.Check(); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v", err)
			}
		})
	}
	empty := Mapping{}.Check()
	for _, says := range []string{"delimiter", "zone", "stamp", "no column"} {
		if !strings.Contains(empty.Error(), says) {
			t.Errorf("an empty mapping: %q is not named in %v", says, empty)
		}
	}
}

func TestDecisions(t *testing.T) {
	m := simple("UTC")
	m.Missing = []string{"NA"}
	p := read(t, "time,v\n2026-06-01 10:00,NA\n2026-06-01 10:01,NA\n2026-06-01 10:02,5\n2026-06-01 10:02,5\n2026-06-01 10:03,NA", m)
	want := []Decision{
		{2, 3, "v", `"NA" taken as blank`, 2},
		{5, 5, "", "row repeats the row before, dropped", 1},
		{6, 6, "v", `"NA" taken as blank`, 1},
		{6, 6, "", "last line has no line end; the file may be cut off there", 1},
	}
	if !slices.Equal(p.Decisions, want) || p.Duplicates != 1 {
		t.Errorf("got %+v", p.Decisions)
	}
}

// TestManyPlaces: values of 14 and 15 decimals stay exact beside short ones,
// and a block that cannot hold both is split.
func TestManyPlaces(t *testing.T) {
	p := read(t, "time,v\n2026-06-01 10:00,47.597678822738416\n2026-06-01 10:01,50\n2026-06-01 10:02,123456789012345.5\n", simple("UTC"))
	want := []string{"06-01T10:00:00 47.597678822738416", "06-01T10:01:00 50.000000000000000", "06-01T10:02:00 123456789012345.5"}
	if got := lines(p); !slices.Equal(got, want) || len(p.Channels[0].Blocks) != 2 {
		t.Errorf("%d blocks: %q", len(p.Channels[0].Blocks), got)
	}
}

func TestDaysFrom1970(t *testing.T) {
	for at := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2110; at = at.AddDate(0, 0, 1) {
		y, m, d := at.Date()
		if got := daysFrom1970(y, int(m), d); got != at.Unix()/86400 && got*86400 != at.Unix() {
			t.Fatalf("%v: %d", at, got)
		}
		if monthDays(y, int(m)) != time.Date(y, m+1, 0, 0, 0, 0, 0, time.UTC).Day() {
			t.Fatalf("%v: %d days in the month", at, monthDays(y, int(m)))
		}
	}
}

// TestZoneClock compares the fast path with the calendar over three years of
// half hours.
func TestZoneClock(t *testing.T) {
	for _, name := range []string{"Europe/London", "America/New_York", "Australia/Lord_Howe"} {
		c, err := newZoneClock(name)
		if err != nil {
			t.Fatal(err)
		}
		loc := zone(t, name)
		for wall := ms0(t, "2024-12-25T00:15:00Z"); wall < ms0(t, "2027-01-05T00:00:00Z"); wall += 30 * minute {
			got, err := c.utc(stamp{wall: wall})
			first, _, n := calendar.Local(time.UnixMilli(wall), loc)
			if (err == nil) != (n == 1) || err == nil && got != first.UnixMilli() {
				t.Fatalf("%s %v: %v %v, calendar says %v (%d)", name, time.UnixMilli(wall).UTC(), got, err, first, n)
			}
		}
	}
}

func FuzzReadDelimited(f *testing.F) {
	f.Add("time,v\n2026-06-01 10:00,50\n2026-06-01 10:01,<5\n", false)
	f.Add("time;v\n2026-06-01T10:00:00Z;5,5e-1\n\n2026-10-25 01:30;x\n", true)
	f.Add("\xef\xbb\xbftime,v\r\n\"2026-06-01\",\r\n", false)
	f.Fuzz(func(t *testing.T, text string, commas bool) {
		m := simple("Europe/London")
		if commas {
			m.Delimiter, m.DecimalMark, m.FooterRows = ";", ",", 1
		}
		p, err := ReadDelimited(strings.NewReader(text), "f", m)
		if (p == nil) == (err == nil) {
			t.Fatalf("half returned: %v, %v", p, err)
		}
		if err != nil {
			return
		}
		last := int64(-1 << 62)
		for _, b := range p.Channels[0].Blocks {
			again, err := Decode(Encode(b))
			if err != nil || !sameBlock(b, again) {
				t.Fatalf("block does not come back: %v", err)
			}
			for _, s := range b.Start {
				if s <= last {
					t.Fatalf("starts do not ascend: %d after %d", s, last)
				}
				last = s
			}
		}
	})
}

// TestReadNumber: exact against the standard library's parsing of the same
// text.
func TestReadNumber(t *testing.T) {
	for _, s := range []string{"0", "-0", "00012.50", "1e3", "1.5E-2", "999999999999999999", "0.000000000000000001", "123e-20", "12e16", ".5", "5."} {
		d, err := readNumber(s, '.')
		if err != nil {
			if s == "123e-20" {
				continue // 20 decimals cannot be kept
			}
			t.Errorf("%s: %v", s, err)
			continue
		}
		var want float64
		if _, err := fmt.Sscanf(s, "%g", &want); err != nil || unit.Decimal.Float(d) != want {
			t.Errorf("%s: got %v, want %v, %v", s, d, want, err)
		}
	}
	for _, s := range []string{"", "-", ".", "e5", "1e", "1e+", "1.2.3", "0x10", "1_000", "NaN", "Inf", "1e9999", "1000000000000000000"} {
		if d, err := readNumber(s, '.'); err == nil {
			t.Errorf("%q was read as %s", s, d)
		}
	}
}
