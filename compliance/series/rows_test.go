package series

import (
	"errors"
	"strings"
	"testing"
	"time"
)

func sentMapping() Mapping {
	return Mapping{
		Time:   TimeColumns{Columns: []string{"day", "clock"}, Layout: "DD/MM/YYYY hh:mm", Stamp: "end", Interval: "900", Zone: "Europe/London"},
		Values: []ValueColumn{{Column: "laeq", Channel: "A", Unit: "dB", Qualifier: "flag"}, {Column: "la90", Channel: "B", Unit: "dB", Qualifier: "flag"}},
	}
}

func TestRowsThatAreSent(t *testing.T) {
	m, err := sentMapping().Sent()
	if err != nil || m.Delimiter != "," || m.HeaderRow != 1 {
		t.Fatalf("%+v %v", m, err)
	}
	if got := strings.Join(m.Columns(), " "); got != "day clock laeq flag la90" {
		t.Errorf("columns %s", got)
	}
	begin, span, err := m.Begins([][]string{{"15/06/2026", "07:00"}, {"15/01/2026", "07:00"}})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"2026-06-15T05:45:00Z", "2026-01-15T06:45:00Z"} { // BST, then GMT
		if got := time.UnixMilli(begin[i]).UTC().Format(time.RFC3339); got != want || span[i] != 900_000 {
			t.Errorf("row %d begins %s for %d ms, want %s", i+1, got, span[i], want)
		}
	}
	_, _, err = m.Begins([][]string{{"15/06/2026", "07:00"}, {"25/10/2026", "01:30"}, {"29/03/2026", "01:30"}})
	var bad *BadFile
	if !errors.As(err, &bad) || bad.Count != 2 || bad.Lines[0].Line != 2 || bad.Lines[1].Line != 3 {
		t.Errorf("a time the clock shows twice, and one it never shows: %v", err)
	}
	numbered := sentMapping()
	numbered.Values[0].Column = "#3"
	if _, err := numbered.Sent(); !errors.Is(err, ErrNumbered) {
		t.Errorf("columns by number: %v", err)
	}
}
