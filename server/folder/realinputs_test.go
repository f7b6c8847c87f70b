package folder_test

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/unit"
)

// update writes anew the files of the real-inputs site that are derived from
// others: the later terrain grid and the register of samples.
var update = flag.Bool("update", false, "write derived test files anew")

const realInputs = "../../testdata/sites/real-inputs"

// TestLaterGridIsTheEarlierPlusTheChange: after = before + observed change,
// and before where no change was observed, added as exact decimals.
func TestLaterGridIsTheEarlierPlusTheChange(t *testing.T) {
	before := gridText(t, realInputs+"/surveys/before.asc")
	change := gridText(t, "../../testdata/open/terrain/hillside_change_10m.asc")
	var want bytes.Buffer
	for i, line := range before {
		if len(line) < 10 { // the header
			want.WriteString(strings.Join(line, " ") + "\n")
			continue
		}
		for k, cell := range line {
			if c := change[i][k]; cell != "-9999" && c != "-9999" {
				cell = sum(t, cell, c)
			}
			if k > 0 {
				want.WriteByte(' ')
			}
			want.WriteString(cell)
		}
		want.WriteByte('\n')
	}
	derived(t, realInputs+"/surveys/after.asc", want.Bytes())
}

func gridText(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]string
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		if fields := strings.Fields(s.Text()); len(fields) > 0 {
			out = append(out, fields)
		}
	}
	return out
}

func sum(t *testing.T, a, b string) string {
	t.Helper()
	x, errX := unit.ParseDecimal(a)
	y, errY := unit.ParseDecimal(b)
	s, err := x.Add(y)
	if errX != nil || errY != nil || err != nil {
		t.Fatal(errX, errY, err)
	}
	return s.String()
}

// TestRegisterOfSamplesIsTheRiverFile: one row for each result, the qualifier
// before the number.
func TestRegisterOfSamplesIsTheRiverFile(t *testing.T) {
	data, err := os.ReadFile(realInputs + "/documents/river_nitrate_qualified.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	want.WriteString("at,places,results\n")
	for _, r := range rows[1:] {
		fmt.Fprintf(&want, "%s,RIV1,\"[{\"\"determinand\"\":\"\"nitrate\"\",\"\"result\"\":\"\"%s%s\"\",\"\"unit\"\":\"\"mg/L\"\"}]\"\n", r[0], r[1], r[2])
	}
	derived(t, realInputs+"/registers/samples.csv", want.Bytes())
}

func derived(t *testing.T, name string, want []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Fatalf("%s is not what its source gives; run with -update and look at the difference", name)
	}
}
