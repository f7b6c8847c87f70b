package series

import (
	"errors"
	"strings"
	"testing"
)

func TestSniff(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		columns    []string
		want       Sniffed
	}{
		{"plain", "time,v\n2026-03-02 10:00:00,1\n2026-03-02 10:01:00,2\n", []string{"time", "v"}, Sniffed{Delimiter: ",", HeaderRow: 1, DecimalMark: ".", Layout: "iso", Interval: "60"}},
		{"remarks and units above and below", "Serial 12\n\ntime;v\n;dB(A)\n02.03.2026 10:00;1,5\n24.03.2026 10:15;2\n24.03.2026 10:30;2\n24.03.2026 10:45;2\n", []string{"time", "v"}, Sniffed{Delimiter: ";", HeaderRow: 3, SkipRows: 1, DecimalMark: ",", Layout: "D.M.YYYY h:mm", Interval: "900"}},
		{"month first, by a day beyond twelve", "time\tv\n3/24/2026 1:00 PM\t1\n3/24/2026 2:00 PM\t2\n", []string{"time", "v"}, Sniffed{Delimiter: "tab", HeaderRow: 1, DecimalMark: ".", Layout: "M/D/YYYY h:mm AP", Interval: "3600"}},
		{"two-digit years", "time|v\n24/03/26 13:00:00.5|1\n", []string{"time", "v"}, Sniffed{Delimiter: "|", HeaderRow: 1, DecimalMark: ".", Layout: "D/M/YY h:mm:ss.fff", Interval: ""}},
		{"days", "date,v\n2026-03-28,1\n2026-03-29,2\n2026-03-30,2\n", []string{"date", "v"}, Sniffed{Delimiter: ",", HeaderRow: 1, DecimalMark: ".", Layout: "iso", Interval: LocalDay}},
		{"samples keep no step", "date,v\n2026-03-02,1\n2026-03-09,2\n2026-03-17,2\n2026-04-01,2\n", []string{"date", "v"}, Sniffed{Delimiter: ",", HeaderRow: 1, DecimalMark: ".", Layout: "iso", Interval: ""}},
		{"a year first with slashes", "t,v\n2026/3/2 10:00,1\n", []string{"t", "v"}, Sniffed{Delimiter: ",", HeaderRow: 1, DecimalMark: ".", Layout: "YYYY/M/D h:mm"}},
		{"names with spaces around", "datetime, LEQ dB -A \n2025-03-22 08:00:00,46\n", []string{"datetime", "LEQ dB -A"}, Sniffed{Delimiter: ",", HeaderRow: 1, DecimalMark: ".", Layout: "iso"}},
	} {
		got, err := Sniff([]byte(tt.text), tt.columns, "")
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		got.Header = nil
		if got.Delimiter != tt.want.Delimiter || got.HeaderRow != tt.want.HeaderRow || got.SkipRows != tt.want.SkipRows || got.DecimalMark != tt.want.DecimalMark || got.Layout != tt.want.Layout || got.Interval != tt.want.Interval {
			t.Errorf("%s: %+v, want %+v", tt.name, *got, tt.want)
		}
	}
}

func TestSniffAsks(t *testing.T) {
	_, err := Sniff([]byte("t,v\n02/03/2026 10:00,1\n03/03/2026 10:00,1\n"), []string{"t", "v"}, "")
	if !errors.Is(err, ErrDateOrder) || !strings.Contains(err.Error(), "2 March 2026") || !strings.Contains(err.Error(), "3 February 2026") {
		t.Errorf("ambiguous dates: %v", err)
	}
	for name, text := range map[string]string{
		"both pass twelve": "t,v\n24/03/2026,1\n03/24/2026,1\n", "no such column": "a,b\n1,2\n", "no rows": "t,v\n", "no date": "t,v\nmonday,1\n1monday,2\n", "empty": "",
	} {
		if got, err := Sniff([]byte(text), []string{"t", "v"}, ""); err == nil {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func FuzzSniff(f *testing.F) {
	f.Add([]byte("t;v\n02.03.2026 10:00;1,5\n"))
	f.Add([]byte("x\n\nt,v\n;dB\n3/24/26 1:00 PM,<1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Sniff(data, []string{"t", "v"}, "")
		if err == nil && (s.HeaderRow < 1 || s.Layout == "") {
			t.Fatalf("%+v", s)
		}
	})
}
