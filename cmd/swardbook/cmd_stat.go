package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

const statHelp = `Usage: swardbook stat FILE --time COL --value COL --statistic S --window W
                      --zone ZONE --stamp begin|mid|end|instant [options]

Statistics of a logger or laboratory file by windows of the clock or calendar,
by the same arithmetic that conditions are judged with, without a book.

  --time COL         column of the times; two, date and time: DATE,TIME
  --value COL        column of the values
  --qualifier COL    column that holds <, > or a flag
  --statistic S      laeq (mean of energy, for levels in dB), mean, gmean, max,
                     min, sum, count, median, l10, l50, l90 (level exceeded for
                     so many per cent of the time), p95 (percentile), value,
                     lden and ldn (by day, evening and night, with 5 and 10 dB
                     added; a part measured to less than --coverage, or 75 per
                     cent, leaves none)
  --window W         15m, 1h, day, night (23:00 to 07:00), week, month, quarter,
                     year, all, or as conditions have it: shift 19:00-07:00,
                     day from 09:00, year from 04-01, rolling 7 days
  --zone ZONE        zone of the file's clock: Europe/London, UTC, +01:00, or
                     "in file" when every time has its offset; never guessed
  --windows-in ZONE  zone whose clock and days the windows follow; default: --zone
  --stamp S          what the time is of the interval it stands for; instant for
                     samples; never guessed
  --interval S       seconds a value stands for, or "local day"; default: the
                     step that most rows of the file keep
  --schedule TEXT    only windows wholly inside these hours, such as
                     "mon-fri 07:00-18:00; sat 08:00-13:00"
  --coverage P       leave windows out that are measured to less than P per cent
  --day-parts T      when day, evening and night begin, for lden and ldn: default
                     07:00,19:00,23:00 and 07:00,22:00
  --nondetect R      bracket (default), zero, half or full for results below
                     their limit
  --limit L          count the windows that keep it or not, such as "<= 55"
  --rank R           percentiles by nearest (default) or linear rank
  --layout L         form of the times where the file leaves it open, such as
                     DD/MM/YYYY hh:mm
  --delimiter D, --header N, --decimal-comma, --missing TEXT, --latin-1
                     about the file, where what it shows is not enough
  --json             as JSON, figures rounded to 1e-9

Example: swardbook stat levels.csv --time datetime --value "LEQ dB -A" \
           --statistic laeq --window 1h --zone Europe/London --stamp mid

Exit codes: 0 done, 1 the file cannot be read, 2 wrong call.
`

// statistics are the words of --statistic.
var statistics = map[string]string{
	"laeq": series.EnergyMean, "lden": series.EnergyMean, "ldn": series.EnergyMean, "energy": series.EnergyMean, "mean": series.ArithmeticMean, "gmean": series.GeometricMean, "max": series.Maximum, "min": series.Minimum,
	"sum": series.Sum, "count": series.Count, "median": series.Median, "value": series.Single,
}

// windowWords are the short words of --window.
var windowWords = map[string]string{
	"15m": "15 minutes", "1h": "clock hour", "hour": "clock hour", "day": "local day", "night": "shift 23:00-07:00", "week": "week from monday",
	"month": "calendar month", "year": "calendar year", "all": "whole life",
}

type statOptions struct {
	path, time, value, qualifier, statistic, window, zone, windowsIn, stamp string
	interval, schedule, nondetect, limit, rank, layout, delimiter, missing  string
	coverage, dayParts                                                      string
	header                                                                  int
	decimalComma, latin1, asJSON                                            bool
}

func runStat(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("stat")
	var o statOptions
	for name, to := range map[string]*string{"time": &o.time, "value": &o.value, "qualifier": &o.qualifier, "statistic": &o.statistic, "window": &o.window,
		"zone": &o.zone, "windows-in": &o.windowsIn, "stamp": &o.stamp, "interval": &o.interval, "schedule": &o.schedule, "nondetect": &o.nondetect, "limit": &o.limit,
		"rank": &o.rank, "layout": &o.layout, "delimiter": &o.delimiter, "missing": &o.missing, "coverage": &o.coverage, "day-parts": &o.dayParts} {
		f.StringVar(to, name, "", "")
	}
	f.IntVar(&o.header, "header", 0, "")
	f.BoolVar(&o.decimalComma, "decimal-comma", false, "")
	f.BoolVar(&o.latin1, "latin-1", false, "")
	f.BoolVar(&o.asJSON, "json", false, "")
	words, code, ended := parse(f, args, statHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 {
		return usageError(stderr, "stat", "name one FILE")
	}
	o.path = words[0]
	s, err := o.prepare()
	if err != nil {
		return usageError(stderr, "stat", err.Error())
	}
	report := startProgress("stat", stderr)
	defer report.stop()
	report.step("reading " + o.path)
	out, err := s.run(stdin)
	if err != nil {
		return failed(stderr, "stat", err)
	}
	report.stop()
	if o.asJSON {
		return writeJSON(stdout, stderr, "stat", out)
	}
	out.print(stdout)
	return exitDone
}

// stat is one call, checked.
type stat struct {
	statOptions
	request  series.Request
	period   calendar.Period
	schedule *calendar.Schedule
	least    *unit.Decimal
	bound    *permit.Limit
	den      *denParts // of lden and ldn
}

// prepare turns the words of the call into what they mean; all faults of one
// sort come at once.
func (o *statOptions) prepare() (*stat, error) {
	s := &stat{statOptions: *o}
	var lacking []string
	for _, x := range [][2]string{{o.time, "--time"}, {o.value, "--value"}, {o.statistic, "--statistic"}, {o.window, "--window"}, {o.zone, "--zone"}, {o.stamp, "--stamp"}} {
		if x[0] == "" {
			lacking = append(lacking, x[1])
		}
	}
	if len(lacking) > 0 {
		return nil, fmt.Errorf("%s is missing: %s", strings.Join(lacking, ", "), neverGuessed(lacking))
	}
	var err error
	if s.request, err = o.request(); err != nil {
		return nil, err
	}
	if name := strings.ToLower(o.statistic); denUsual[name] != "" {
		if s.den, err = partsOf(name, o.dayParts); err != nil {
			return nil, err
		}
	} else if o.dayParts != "" {
		return nil, fmt.Errorf("--day-parts goes with lden and ldn")
	}
	text := o.window
	if w, short := windowWords[text]; short {
		text = w
	}
	if s.period, err = calendar.ParsePeriod(text); err != nil {
		return nil, fmt.Errorf("--window %q: %w", o.window, err)
	}
	if s.schedule, err = parseHours(o.schedule); err != nil {
		return nil, fmt.Errorf("--schedule: %w", err)
	}
	if o.coverage != "" {
		d, err := unit.ParseDecimal(strings.TrimSuffix(o.coverage, "%"))
		if err != nil || d.Coefficient < 0 || d.Cmp(unit.Decimal{Coefficient: 100}) > 0 {
			return nil, fmt.Errorf("--coverage %q: per cent from 0 to 100", o.coverage)
		}
		if s.least = &d; s.den != nil {
			s.den.least, s.least = d, nil
		}
	}
	if o.limit != "" {
		l, err := permit.ParseLimit(o.limit)
		if err != nil || l.Form != permit.Constant || l.Comparator == permit.Between {
			return nil, fmt.Errorf("--limit %q: write it such as \"<= 55\"", o.limit)
		}
		s.bound = &l
	}
	return s, nil
}

func neverGuessed(lacking []string) string {
	for _, l := range lacking {
		switch l {
		case "--zone":
			return "the clock of the file is never guessed; Europe/London turns with summer time, UTC and +00:00 do not, and windows of days move with it"
		case "--stamp":
			return "whether a time is the beginning, the middle or the end of its interval is never guessed; it moves values into other windows"
		}
	}
	return "see the help"
}

// request reads the statistic and the rules about it.
func (o *statOptions) request() (series.Request, error) {
	r := series.Request{Nondetect: o.nondetect}
	switch o.nondetect {
	case "", series.Bracket, series.AsZero, series.AsHalf, series.AsFull:
	default:
		return r, fmt.Errorf("--nondetect %q: bracket, zero, half or full", o.nondetect)
	}
	switch o.rank {
	case "", "nearest":
		r.Rank = series.NearestRank
	case "linear":
		r.Rank = series.Linear
	default:
		return r, fmt.Errorf("--rank %q: nearest or linear", o.rank)
	}
	name := strings.ToLower(o.statistic)
	if stat, known := statistics[name]; known {
		r.Stat = stat
		return r, nil
	}
	if len(name) > 1 && (name[0] == 'l' || name[0] == 'p') {
		if d, err := unit.ParseDecimal(name[1:]); err == nil && d.Coefficient > 0 && d.Cmp(unit.Decimal{Coefficient: 100}) < 0 {
			if name[0] == 'l' { // exceeded for that share of the time
				d, err = unit.Decimal{Coefficient: 100}.Add(unit.Decimal{Coefficient: -d.Coefficient, Places: d.Places})
			}
			r.Stat, r.Percentile = series.Percentile, d
			return r, err
		}
	}
	return r, fmt.Errorf("--statistic %q: laeq, mean, gmean, max, min, sum, count, median, value, l90, p95, lden and the like", o.statistic)
}

// parseHours reads "mon-fri 07:00-18:00; sat 08:00-13:00"; "" is at all times.
func parseHours(text string) (*calendar.Schedule, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	s := &calendar.Schedule{}
	for _, part := range strings.Split(text, ";") {
		words := strings.Fields(part)
		if len(words) != 2 {
			return nil, fmt.Errorf("%q: write days and hours, such as mon-fri 07:00-18:00", strings.TrimSpace(part))
		}
		days, err := calendar.ParseDays(words[0])
		if err != nil {
			return nil, err
		}
		from, to, found := strings.Cut(words[1], "-")
		a, errA := calendar.ParseClock(from)
		b, errB := calendar.ParseClock(to)
		if !found || errA != nil || errB != nil {
			return nil, fmt.Errorf("%q: write hours such as 07:00-18:00", words[1])
		}
		s.Slots = append(s.Slots, calendar.Slot{Days: days, From: a, To: b, Holidays: calendar.Ignored})
	}
	return s, nil
}

// usualMissing are texts that mean "no value" besides an empty cell.
var usualMissing = []string{"NA", "NaN", "nan", "null", "NULL", "-", "--"}

// mapping looks at the file and states how it is read.
func (s *stat) mapping(data []byte) (series.Mapping, error) {
	times := strings.Split(s.time, ",")
	for i := range times {
		times[i] = strings.TrimSpace(times[i])
	}
	value := strings.TrimSpace(s.value)
	columns := append([]string{times[0]}, times[1:]...)
	if s.qualifier != "" {
		columns = append(columns, strings.TrimSpace(s.qualifier))
	}
	columns = append(columns, value)
	layout := s.layout
	if len(times) > 1 && layout == "" {
		layout = "iso"
	}
	seen, err := series.Sniff(data[:min(len(data), 4<<20)], columns, layout)
	if err != nil {
		return series.Mapping{}, err
	}
	m := series.Mapping{Delimiter: seen.Delimiter, HeaderRow: seen.HeaderRow, SkipRows: seen.SkipRows, DecimalMark: seen.DecimalMark, Missing: usualMissing,
		Time:   series.TimeColumns{Columns: times, Layout: seen.Layout, Stamp: s.stamp, Interval: seen.Interval, Zone: s.zone},
		Values: []series.ValueColumn{{Column: value, Channel: "value", Qualifier: strings.TrimSpace(s.qualifier)}}}
	if s.delimiter != "" {
		m.Delimiter = s.delimiter
	}
	if s.header > 0 {
		m.HeaderRow = s.header
	}
	if s.decimalComma {
		m.DecimalMark = ","
	}
	if s.latin1 {
		m.Encoding = "latin-1"
	}
	if s.missing != "" {
		m.Missing = append(m.Missing, s.missing)
	}
	if s.interval != "" {
		m.Time.Interval = s.interval
	}
	if s.stamp == "instant" {
		m.Time.Interval = ""
	} else if m.Time.Interval == "" {
		m.Time.Stamp = "instant" // samples that keep no step stand for no length of time
	}
	if m.Time.Interval == series.LocalDay && s.stamp != "begin" {
		return m, errors.New("times are dates alone: a day is stamped at its beginning; say --stamp begin, or instant for samples")
	}
	return m, nil
}

func (s *stat) run(stdin io.Reader) (*statResult, error) {
	var data []byte
	var err error
	if s.path == "-" {
		data, err = io.ReadAll(stdin)
	} else {
		data, err = os.ReadFile(s.path)
	}
	if err != nil {
		return nil, err
	}
	name := filepath.Base(s.path)
	m, err := s.mapping(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	parsed, err := series.ReadDelimited(bytes.NewReader(data), name, m)
	if err != nil {
		return nil, err
	}
	zone := s.windowsIn
	if zone == "" {
		if zone = s.zone; zone == series.InFile {
			return nil, errors.New("--zone is \"in file\": say with --windows-in whose clock the windows follow")
		}
	}
	loc, err := loadClock(zone)
	if err != nil {
		return nil, fmt.Errorf("--windows-in: %w", err)
	}
	blocks := parsed.Channels[0].Blocks
	if len(blocks) == 0 || parsed.Channels[0].Valid == 0 {
		return nil, fmt.Errorf("%s: column %q holds no value that counts", name, s.value)
	}
	first, last := blocks[0], blocks[len(blocks)-1]
	span := calendar.Span{From: msInstant(first.Start[0]), To: msInstant(last.Start[last.Len()-1] + max(last.Span, 1))}
	var spans []calendar.Span
	if s.period.Kind == calendar.RollingHour {
		spans = series.Rolling(blocks, 3600e9, span)
	} else if spans, err = s.period.Windows(span, loc); err != nil {
		return nil, fmt.Errorf("--window %q: %w", s.window, err)
	}
	if spans, err = s.open(spans, span, loc); err != nil {
		return nil, err
	}
	var results []series.Result
	if s.den != nil {
		results, err = s.den.windows(blocks, spans, s.request, loc)
	} else {
		results, err = series.Windows(blocks, spans, s.request)
	}
	if err != nil {
		return nil, err
	}
	out := s.result(name, zone, m, parsed, spans, results)
	out.loc = loc
	if s.request.Stat == series.EnergyMean {
		out.Note = "levels are averaged by energy; they say nothing of workers' exposure"
	}
	return out, nil
}
