package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/vibration"
)

// openDataFolder names the folder with test files whose licence keeps them out
// of this tree; testdata/open/SOURCES.md says where each is from.
const openDataFolder = "SWARDBOOK_OPEN_DATA"

// openData reads such a file and sees that it is the one meant.
func openData(t *testing.T, name, sum string) []byte {
	t.Helper()
	folder := os.Getenv(openDataFolder)
	if folder == "" {
		t.Skip(openDataFolder + " names no folder: left out; see testdata/open/SOURCES.md for the files it holds")
	}
	data, err := os.ReadFile(filepath.Join(folder, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	if got := sha256.Sum256(data); hex.EncodeToString(got[:]) != sum {
		t.Fatalf("%s is another file: its SHA-256 is %x", name, got)
	}
	return data
}

// dated puts a day before each row, as a person does to a file that has none.
func dated(data []byte, first string) []byte {
	day, _ := time.Parse(time.DateOnly, first)
	var out bytes.Buffer
	for i, line := range strings.Split(strings.TrimRight(string(data), "\n"), "\n") {
		if i == 0 {
			fmt.Fprintf(&out, "date,%s\n", line)
			continue
		}
		fmt.Fprintf(&out, "%s,%s\n", day.AddDate(0, 0, i-1).Format(time.DateOnly), line)
	}
	return out.Bytes()
}

// imported reads a file the way an import does: what it looks like, a mapping
// made of that, the readings.
func imported(t *testing.T, data []byte, value, unitName string) (*series.Parsed, error) {
	t.Helper()
	l := series.Look(data[:min(len(data), 64<<10)])
	if l.HeaderRow == 0 || len(l.Times) != 1 {
		t.Fatalf("it looks like header %d, times %v, numbers %v", l.HeaderRow, l.Times, l.Numbers)
	}
	m := series.Mapping{Encoding: l.Encoding, Delimiter: l.Delimiter, HeaderRow: l.HeaderRow,
		Time:   series.TimeColumns{Columns: l.Times, Stamp: "begin", Interval: series.LocalDay, Zone: "UTC"},
		Values: []series.ValueColumn{{Column: value, Channel: "C1", Unit: unitName}}, Missing: []string{"NA"}}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	return series.ReadDelimited(bytes.NewReader(data), "file.csv", m)
}

func mustImport(t *testing.T, data []byte, value, unitName string) *series.Parsed {
	t.Helper()
	p, err := imported(t, data, value, unitName)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// over computes a statistic of all that was imported.
func over(t *testing.T, p *series.Parsed, req series.Request) series.Result {
	t.Helper()
	blocks := p.Channels[0].Blocks
	last := blocks[len(blocks)-1]
	span := calendar.Span{From: time.UnixMilli(blocks[0].Start[0]), To: time.UnixMilli(last.Start[last.Len()-1] + last.Span)}
	out, err := series.Windows(blocks, []calendar.Span{span}, req)
	if err != nil {
		t.Fatal(err)
	}
	return out[0]
}

// counted counts the readings that compare so with a number.
func counted(t *testing.T, p *series.Parsed, comparator, number string) float64 {
	t.Helper()
	d, err := unit.ParseDecimal(number)
	if err != nil {
		t.Fatal(err)
	}
	return over(t, p, series.Request{Stat: series.Count, Comparator: comparator, Threshold: &d}).Value
}

// says runs a command on a file of its own and wants words in what it prints.
func says(t *testing.T, data []byte, exit int, command string, args []string, words ...string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file.csv")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if got := run(append([]string{command, path}, args...), strings.NewReader(""), &out, &out); got != exit {
		t.Errorf("exit code %d, want %d: %s", got, exit, out.String())
	}
	for _, w := range words {
		if !strings.Contains(out.String(), w) {
			t.Errorf("%q is not in what it says:\n%.2000s", w, out.String())
		}
	}
}

func statOf(value, statistic, window string, more ...string) []string {
	return append([]string{"--time", "date", "--value", value, "--statistic", statistic, "--window", window, "--zone", "UTC", "--stamp", "begin", "--interval", "local day"}, more...)
}

func figure4(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.6f, want %v", what, got, want)
	}
}

// Daily ozone of five months of 1973 (R's own data): the file has no year, which
// is not guessed; of 153 rows 37 have no ozone.
func TestOpenDataAirQuality(t *testing.T) {
	data := openData(t, "air/airquality_1973.csv", "f1fb73129838bf406f114eb09c252a66f79b74aa7a916e4e38d4a8e23e1608c6")
	says(t, data, 1, "stat", []string{"--time", "Month,Day", "--value", "Ozone", "--statistic", "mean", "--window", "day", "--zone", "UTC", "--stamp", "begin"}, "swardbook stat: ")
	data = dated(data, "1973-05-01")
	c := mustImport(t, data, "Ozone", "").Channels[0]
	if c.Count != 153 || c.Count-c.Valid != 37 {
		t.Errorf("%d readings, %d of them blank", c.Count, c.Count-c.Valid)
	}
	says(t, data, 0, "stat", statOf("Ozone", "count", "all"), "116", "blank cell, 37 rows")
}

// Daily PM10 of four stations in 2005, one under the other: a file of one channel
// cannot hold them, each by itself can. Figures computed apart in Python.
func TestOpenDataRuralDust(t *testing.T) {
	data := openData(t, "air/rural_pm10_daily_2005.csv", "6fa59514a15ca2ba5ba2a9e5b6fdd3609d54dfa46abf80ebd621a7cd2d4708c6")
	if _, err := imported(t, data, "pm10", "µg/m³"); err == nil || !strings.Contains(err.Error(), "backwards") {
		t.Errorf("four stations in one: %v", err)
	}
	for _, s := range []struct {
		station          string
		valid            int64
		mean, over, part float64
	}{{"S29", 363, 22.484, 16, 99.45}, {"S52", 275, 14.6171, 1, 75.34}, {"S61", 343, 13.2716, 0, 93.97}, {"S69", 79, 13.6867, 0, 21.64}} {
		t.Run(s.station, func(t *testing.T) {
			var own []string
			for i, line := range strings.Split(string(data), "\n") {
				if i == 0 || strings.HasPrefix(line, s.station+",") {
					own = append(own, line)
				}
			}
			one := []byte(strings.Join(own, "\n") + "\n")
			p := mustImport(t, one, "pm10", "µg/m³")
			if c := p.Channels[0]; c.Count != 365 || c.Valid != s.valid {
				t.Errorf("%d days, %d with a value", c.Count, c.Valid)
			}
			r := over(t, p, series.Request{Stat: series.ArithmeticMean})
			figure4(t, "mean", r.Value, s.mean, 0.0005)
			figure4(t, "capture, per cent", 100*r.Coverage, s.part, 0.005)
			figure4(t, "days over 50", counted(t, p, ">", "50"), s.over, 0)
			said := []string{strconv.FormatInt(s.valid, 10) + " with enough data"}
			if s.over > 0 {
				said = append(said, fmt.Sprintf("broken by %.0f", s.over))
			}
			says(t, one, 0, "stat", statOf("pm10", "mean", "day", "--coverage", "75", "--limit", "<= 50"), said...)
			says(t, one, 0, "stat", statOf("pm10", "mean", "all"), strconv.FormatFloat(s.mean, 'f', -1, 64))
		})
	}
}

// Forty-eight years of daily rain without a date, taken from an arbitrary first
// day. Figures computed apart in Python.
func TestOpenDataLongRain(t *testing.T) {
	data := openData(t, "weather/sw_england_daily_rain_mm.csv", "6e2b47969785bc6f285aac6b5130fd9519f226c1e333b6e38cfddd2326a2af2f")
	says(t, data, 1, "stat", []string{"--time", "rownames", "--value", "dat", "--statistic", "sum", "--window", "all", "--zone", "UTC", "--stamp", "begin"}, "swardbook stat: ")
	data = dated(data, "1900-01-01")
	p := mustImport(t, data, "dat", "mm")
	if p.Rows != 17_531 || p.Channels[0].Valid != 17_531 {
		t.Fatalf("%d rows", p.Rows)
	}
	figure4(t, "total", over(t, p, series.Request{Stat: series.Sum}).Value, 60_939.5, 0.05)
	most := over(t, p, series.Request{Stat: series.Maximum})
	figure4(t, "greatest", most.Value, 86.6, 1e-9)
	first := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)
	if row := int(time.UnixMilli(most.At).Sub(first).Hours()/24) + 1; row != 5391 {
		t.Errorf("in row %d", row)
	}
	figure4(t, "days from 1 mm on", counted(t, p, ">=", "1"), 7930, 0)
	figure4(t, "days from 6.35 mm on", counted(t, p, ">=", "6.35"), 3344, 0)
	figure4(t, "days of none", counted(t, p, "=", "0"), 8244, 0)
	run, longest := 0, 0
	for _, b := range p.Channels[0].Blocks {
		for i := range b.Start {
			if run++; b.Value(i).Float() >= 0.2 {
				run = 0
			}
			longest = max(longest, run)
		}
	}
	if longest != 33 {
		t.Errorf("the longest run under 0.2 mm is %d days", longest)
	}
	says(t, data, 0, "stat", statOf("dat", "sum", "day", "--limit", "< 6.35"), "broken by 3344", "highest 86.6")
	says(t, data, 0, "stat", statOf("dat", "sum", "all"), "60,939.")
}

// Peak accelerations against distance: no times at all, so that they are events
// and no readings; their line on logarithms. Figures computed apart in Python.
func TestOpenDataGroundMotion(t *testing.T) {
	data := openData(t, "vibration/ground_motion_vs_distance.csv", "9c989839bfba8a14ab257d31bd21cfd01e513c70aa44b85c1840fdb034313ba9")
	if l := series.Look(data); len(l.Times) != 0 || l.HeaderRow != 1 {
		t.Errorf("a time was seen where there is none: %v", l.Times)
	}
	p := mustImport(t, dated(data, "2000-01-01"), "accel", "")
	if p.Rows != 182 {
		t.Errorf("%d rows", p.Rows)
	}
	figure4(t, "greatest", over(t, p, series.Request{Stat: series.Maximum}).Value, 0.81, 1e-9)
	says(t, dated(data, "2000-01-01"), 0, "stat", statOf("accel", "max", "all"), "0.81")

	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	blank := 0
	var shots []vibration.Shot
	weighed := "dist,charge,accel\n"
	for _, r := range rows[1:] {
		if r[2] == "" || r[2] == "NA" {
			blank++
		}
		d, err1 := strconv.ParseFloat(r[3], 64)
		a, err2 := strconv.ParseFloat(r[4], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(r)
		}
		shots = append(shots, vibration.Shot{DistanceM: d, ChargeKG: 1, PPV: a}) // a charge of 1 leaves the distance as it is
		weighed += r[3] + ",1," + r[4] + "\n"
	}
	if blank != 16 {
		t.Errorf("%d rows have no station", blank)
	}
	f, err := vibration.FitShots(shots)
	if err != nil {
		t.Fatal(err)
	}
	figure4(t, "slope of the logarithms", f.B, -0.82466, 0.000005)
	figure4(t, "intercept", f.A, 0.08018, 0.00001)
	says(t, []byte(weighed), 0, "shots", []string{"--distance", "dist", "--charge", "charge", "--ppv", "accel"}, "182 shots", "SD^-0.8247")
}
