package series

import (
	"errors"
	"os"
	"strings"
	"testing"
)

func TestLook(t *testing.T) {
	for _, tt := range []struct {
		name, file string
		want       string // encoding delimiter header times numbers
	}{
		{"plain", "time,level\n2026-03-02T10:00:00Z,54.1\n2026-03-02T10:15:00Z,55\n", "utf-8 , 1 [time] [level]"},
		{"byte order mark, quoted names", "\xEF\xBB\xBF\"time\",\"level, dB\"\n2026-03-02 10:00,54.1\n2026-03-02 10:15,55\n", "utf-8+mark , 1 [time] [level, dB]"},
		{"lines before the header, a row of units, decimal comma", "Logger 7\nSerial;4711\n\nDatum;Pegel;Flag\n;dB;\n02.03.2026 10:00;54,1;\n02.03.2026 10:15;55,0;x\n02.03.2026 10:30;53,0;\n", "utf-8 ; 4 [Datum] [Pegel]"},
		{"date and time apart, tabs", "Date\tTime\tLAeq\tLA90\n03/02/2026\t10:00:00\t54.1\t44\n03/02/2026\t10:15:00\t55\t43\n", "utf-8 tab 1 [Date Time] [LAeq LA90]"},
		{"twelve-hour clock", "Date,Time,dB\n3/2/2026,10:00:00 AM,54.1\n3/2/2026,1:15:00 PM,55\n", "utf-8 , 1 [Date Time] [dB]"},
		{"micro sign of an older encoding", "time;\xB5g/m\xB3\n2026-03-02 10:00;54\n2026-03-02 11:00;55\n", "latin-1 ; 1 [time] [µg/m³]"},
		{"less-than results", "taken,result\n2026-03-02,<5\n2026-03-09,14\n2026-03-16,<5\n", "utf-8 , 1 [taken] [result]"},
		{"no value in the first rows", "station,date,pm10\nS,2005-01-01,\nS,2005-01-02,\nS,2005-01-03,\nS,2005-01-04,\nS,2005-01-05,\nS,2005-01-06,\nS,2005-01-07,\nS,2005-01-08,\nS,2005-01-09,\nS,2005-01-10,12.5\nS,2005-01-11,13\n", "utf-8 , 1 [date] [pm10]"},
		{"names with two hyphens", "time,LAeq-15-min\n2026-03-02 10:00,54\n2026-03-02 10:15,55\n", "utf-8 , 1 [time] [LAeq-15-min]"},
		{"no header", "2026-03-02 10:00,54\n2026-03-02 11:00,55\n", "utf-8 , 0 [] []"},
		{"no table", "nothing here\nand nothing there\n", "utf-8  0 [] []"},
		{"empty", "", "utf-8  0 [] []"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := lookText(Look([]byte(tt.file))); got != tt.want {
				t.Errorf("it looks like %q, want %q", got, tt.want)
			}
		})
	}
	for file, want := range map[string]string{
		"air/roadside_hourly_2003q1.csv": "utf-8 , 1 [time_utc] [ws wd no2 o3 pm10 pm25]",
		"noise/laeq_1min.csv":            "utf-8 , 1 [datetime] [LEQ dB -A]",
		"noise/laeq_1s_4h.csv":           "utf-8 , 1 [datetime] [LEQ dB -A]",
	} {
		data, err := os.ReadFile("../../testdata/open/" + file)
		if err != nil {
			t.Fatal(err)
		}
		if got := lookText(Look(data[:min(len(data), 64<<10)])); got != want {
			t.Errorf("%s looks like %q, want %q", file, got, want)
		}
	}
}

func lookText(l *Looked) string {
	mark := ""
	if l.Mark {
		mark = "+mark"
	}
	return strings.Join([]string{l.Encoding + mark, l.Delimiter, string(rune('0' + l.HeaderRow)), "[" + strings.Join(l.Times, " ") + "]", "[" + strings.Join(l.Numbers, " ") + "]"}, " ")
}

// TestTwoTimeColumnsAreSniffedTogether: date and time in columns of their own.
func TestTwoTimeColumnsAreSniffedTogether(t *testing.T) {
	file := "Date\tTime\tLAeq\n25/02/2026\t10:00:00\t54.1\n25/02/2026\t10:15:00\t55\n25/02/2026\t10:30:00\t55\n"
	s, err := SniffTimes([]byte(file), []string{"Date", "Time"}, []string{"LAeq"}, "")
	if err != nil || s.Layout != "D/M/YYYY h:mm:ss" || s.Interval != "900" || s.Delimiter != "tab" {
		t.Errorf("%+v, %v", s, err)
	}
	_, err = SniffTimes([]byte(strings.ReplaceAll(file, "25/02", "03/02")), []string{"Date", "Time"}, []string{"LAeq"}, "")
	var order *DateOrderError
	if !errors.As(err, &order) || order.Day != "D/M/YYYY h:mm:ss" || order.Month != "M/D/YYYY h:mm:ss" || !errors.Is(err, ErrDateOrder) {
		t.Errorf("%v", err)
	}
}

func FuzzLook(f *testing.F) {
	for _, s := range []string{"", "a,b\n1,2\n", "Date;Time\n1.2.2026;10:00\n", "\xEF\xBB\xBFx\ty\n", "\xB5;1\n", "\"a\n\"b\",,;;\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		l := Look(data)
		for _, r := range l.Rows {
			if len(r) != len(l.Header) {
				t.Errorf("a row of %d under a header of %d", len(r), len(l.Header))
			}
		}
	})
}
