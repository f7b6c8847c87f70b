package app

import (
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
)

// FuzzPushedRows: whatever a logger sends is parted into rows with a cell for each
// column, or refused with a field and a remedy; and rows that are written into the
// spool come out of it as they went in.
func FuzzPushedRows(f *testing.F) {
	for _, body := range []string{
		"time,laeq,flag\n2026-04-06T10:00:00Z,54.3,\n", "flag,laeq,time\n<,5,2026-04-06T10:00:00Z\n", `{"time":"2026-04-06T10:00:00Z","laeq":54.3}`,
		"{\"time\":\"2026-04-06T10:00:00Z\",\"laeq\":\"5\\n4\"}\n{}", "time,laeq,flag\n\"2026-04-06T10:00:00Z\",\"5,4\",\"a\"\"b\"\n", "\xef\xbb\xbftime,laeq,flag\n", "{\"a\":1,\"a\":2}", "\x00",
	} {
		f.Add([]byte(body), true)
		f.Add([]byte(body), false)
	}
	one := Logger{Name: "fuzzed"}
	one.reads(series.Mapping{
		Time:   series.TimeColumns{Columns: []string{"time"}, Layout: "iso", Stamp: "begin", Interval: "60", Zone: "UTC"},
		Values: []series.ValueColumn{{Column: "laeq", Channel: "A", Unit: "dB", Qualifier: "flag"}},
	}, []monitoring.ImportChannel{{Place: "P"}})
	// The mapping is completed as that of rows which are sent.
	sent, err := series.Mapping{Delimiter: ",", Time: one.Mapping.Time, Values: one.Mapping.Values}.Sent()
	if err != nil {
		f.Fatal(err)
	}
	one.sent = &sent
	f.Fuzz(func(t *testing.T, body []byte, lines bool) {
		read := rowsOfCSV
		if lines {
			read = rowsOfLines
		}
		rows, faults := read(body, one.Columns())
		for _, x := range faults {
			if x.Field == "" || x.Reason == "" || x.Remedy == "" {
				t.Errorf("a fault without its words: %+v", x)
			}
		}
		for i := range rows {
			if len(rows[i].cells) != len(one.Columns()) {
				t.Fatalf("%d cells of %d", len(rows[i].cells), len(one.Columns()))
			}
			for _, c := range rows[i].cells {
				if strings.ContainsAny(c, "\r\n") {
					return // push refuses such a row before anything is kept
				}
			}
		}
		sp := &spool{logger: one}
		if len(faults) > 0 || len(rows) == 0 || len(sp.dated(rows, time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC))) > 0 {
			return
		}
		fresh, _, faults := sp.fresh(rows[:1])
		if len(faults) > 0 || len(fresh) == 0 {
			return
		}
		if _, err := sp.read(fresh); err != nil {
			return // no figure, and refused so
		}
		back := &spool{logger: one}
		if err := back.replay(Batch{N: 1, Rows: cellsOnly(fresh)}); err != nil {
			t.Fatalf("what was spooled cannot be read: %v", err)
		}
		if got := back.rows[0].cells; strings.Join(got, "\x00") != strings.Join(fresh[0].cells, "\x00") {
			t.Errorf("%q came back as %q", fresh[0].cells, got)
		}
	})
}
