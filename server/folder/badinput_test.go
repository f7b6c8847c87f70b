package folder_test

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/swardbook/swardbook/server/folder"
)

// problems reads a folder that must be refused, and checks that nothing of it
// was taken.
func problems(t *testing.T, fsys fstest.MapFS) folder.Problems {
	t.Helper()
	kinds, quantities := lists(t)
	c, err := folder.Read(fsys, kinds, quantities)
	if err == nil {
		t.Fatal("the folder was taken")
	}
	if c != nil {
		t.Fatal("part of the folder was taken")
	}
	var ps folder.Problems
	if !errors.As(err, &ps) || len(ps) == 0 {
		t.Fatalf("not a list of problems: %v", err)
	}
	return ps
}

func TestSmallSiteIsTaken(t *testing.T) {
	c := read(t, small())
	if len(c.Notes) > 0 {
		t.Errorf("notes: %v", c.Notes)
	}
	sameFiles(t, small(), back(t, c, folder.WriteOptions{}))
}

func TestBadInput(t *testing.T) {
	header := "at,until,places,act,text\n"
	for _, c := range []struct {
		name           string
		file, old, new string
		at             string // file:line, or file alone
		says           string // in the reason or the remedy
		more           string // likewise
	}{
		{"wrong column", "registers/tickets.csv", ",material,", ",matrial,", "registers/tickets.csv:1", "no such column", `did you mean "material"`},
		{"required column missing", "registers/tickets.csv", "number,direction,material", "number,haulier,material", "registers/tickets.csv:1", "the column is missing", "Direction"},
		{"unit missing in the head", "registers/tickets.csv", "net [t]", "net", "registers/tickets.csv:1", "the unit is missing", "head it net [t]"},
		{"another unit in the head", "registers/tickets.csv", "net [t]", "net [kg]", "registers/tickets.csv:1", "unit kg, but this field is in t", "convert the values"},
		{"unknown unit of a channel", "readings/index.csv", ",dB,", ",furlong,", "readings/index.csv:2", "furlong", ""},
		{"unit of another kind", "readings/index.csv", ",dB,", ",mg/L,", "readings/index.csv:2", "mg/L", "noise.laeq"},
		{"unknown unit of a result", "registers/samples.csv", "mg/L", "mg per bucket", "registers/samples.csv:2", "mg per bucket", ""},
		{"unknown quantity", "readings/index.csv", "noise.laeq", "noise.laeqq", "readings/index.csv:2", "no quantity of readings", `did you mean "noise.laeq"`},
		{"unknown word in a condition", "permits/P-1.yaml", "energy mean", "energie mean", "permits/P-1.yaml:5", "energie mean", "energy mean"},
		{"unknown key in a condition", "permits/P-1.yaml", "window:", "windo:", "permits/P-1.yaml:5", "windo", "window"},
		{"place not on the plan in a condition", "permits/P-1.yaml", "place: N1", "place: N9", "permits/P-1.yaml:5", "N9", ""},
		{"place not on the plan in a row", "registers/tickets.csv", "GATE", "GAET", "registers/tickets.csv:2", "GAET is on no revision of the plan", ""},
		{"longitude and latitude where grid is expected", "surveys/SV1.csv", "1,1000,2000,10.00\n2,1010,2000,10.20\n3,1000,2010,10.10\n4,1010,2010,10.40",
			"1,-2.103411,53.411208,10.00\n2,-2.103402,53.411209,10.20\n3,-2.103410,53.411298,10.10\n4,-2.103400,53.411299,10.40", "surveys/SV1.csv", "longitude and latitude", "grid"},
		{"plan in degrees said to be in the grid", "plan/2026-01-05.geojson", "[1000,2000]}},\n{\"type\":\"Feature\",\"properties\":{\"code\":\"GATE\",\"kind\":\"gate\"},\"geometry\":{\"type\":\"Point\",\"coordinates\":[1100,2000]}},\n{\"type\":\"Feature\",\"properties\":{\"code\":\"OUT1\",\"kind\":\"discharge point\"},\"geometry\":{\"type\":\"Point\",\"coordinates\":[1200,2000]}}",
			"[-2.103411,53.411208]}}", "plan/2026-01-05.geojson", "longitude and latitude", ""},
		{"plan without a word on its coordinates", "plan/2026-01-05.yaml", "coordinates: site grid\n", "", "plan/2026-01-05.geojson", "coordinates", ""},
		{"file cut in half: short row", "registers/tickets.csv", "T2,2026-03-02T10:05+00:00,GATE,T2,in,stone,19.10\n", "T2,2026-03-02T10:05", "registers/tickets.csv:3", "the row has 2 cells", "cut off"},
		{"file cut in half: open quote", "registers/samples.csv", `""mg/L""}]"`, `""mg`, "registers/samples.csv:2", "not closed properly", "cut off"},
		{"logger file cut in half", "readings/n1.csv", "2026-03-02 08:45:00,49.9\n", "2026-03-02 08:45", "readings/n1.csv:5", "", ""},
		{"duplicate row", "registers/tickets.csv", "T2,2026", "T1,2026", "registers/tickets.csv:3", "T1 stands already in line 2", "supersedes"},
		{"same logger file twice", "readings/index.csv", "n1.csv,level\n", "n1.csv,level\nN1-B,noise.laeq,N1,,dB,,Europe/London,n1,n2.csv,level\n", "readings/index.csv:3", "the file is not there", ""},
		{"clock running backwards", "readings/n1.csv", "2026-03-02 08:30:00", "2026-03-02 07:30:00", "readings/n1.csv:4", "backwards", ""},
		{"stamp in the repeated hour of a logger", "readings/n1.csv", "2026-03-02 08:00:00,51.2\n2026-03-02 08:15:00,52.0\n2026-03-02 08:30:00,50.1\n2026-03-02 08:45:00,49.9", "2026-10-25 01:15:00,51.2", "readings/n1.csv:2", "twice", ""},
		{"stamp in the repeated hour without offset", "registers/diary.csv", "2026-03-02T08:00+00:00,2026-03-02T12:00+00:00", "2026-10-25 01:30,2026-10-25 03:00", "registers/diary.csv:2", "showed 2026-10-25 01:30 twice", "+01:00 for the first or +00:00 for the second"},
		{"stamp in the skipped hour", "registers/diary.csv", "2026-03-02T08:00+00:00,2026-03-02T12:00+00:00", "2026-03-29 01:30,2026-03-29 03:00", "registers/diary.csv:2", "there was no such time", "+01:00"},
		{"correction of a superseded row", "registers/tickets.csv", "T1,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.40\nT2,2026-03-02T10:05+00:00,GATE,T2,in,stone,19.10\n",
			"", "registers/tickets.csv:4", "T1 was superseded already, by line 3", "correct that row"},
		{"correction without its reason", "registers/tickets.csv", "T1,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.40\nT2,2026-03-02T10:05+00:00,GATE,T2,in,stone,19.10\n",
			"", "registers/tickets.csv:3", "needs its reason", ""},
		{"correction of nothing", "registers/diary.csv", header, "at,until,places,act,text,supersedes,reason\n2026-03-02,,,none,x,D9,wrong\n", "registers/diary.csv:2", "no row above has the id D9", ""},
		{"end before the beginning", "registers/diary.csv", "2026-03-02T12:00+00:00", "2026-03-02T07:00+00:00", "registers/diary.csv:2", "is not after the beginning", ""},
		{"no time at all", "registers/diary.csv", "2026-03-03,,", ",,", "registers/diary.csv:3", "when it happened is missing", ""},
		{"NUL byte", "registers/diary.csv", "gate hung", "gate\x00hung", "registers/diary.csv:2", "NUL", ""},
		{"not UTF-8", "registers/diary.csv", "gate hung", "gate \xe9", "registers/diary.csv:2", "not UTF-8", "save it as UTF-8"},
		{"decimal comma", "registers/tickets.csv", "18.40", "\"18,40\"", "registers/tickets.csv:2", "not a decimal", ""},
		{"some rows recorded and some not", "registers/diary.csv", header + "2026-03-02T08:00+00:00,2026-03-02T12:00+00:00,GATE,noisy work,gate hung\n2026-03-03,,,none,no work\n",
			"at,act,recorded\n2026-03-02,none,2026-03-02T17:00Z\n2026-03-03,none,\n", "registers/diary.csv:3", "the time of receipt is missing", "fill it in every row"},
		{"one register with receipts, another without", "registers/diary.csv", header + "2026-03-02T08:00+00:00,2026-03-02T12:00+00:00,GATE,noisy work,gate hung\n2026-03-03,,,none,no work\n",
			"at,act,recorded\n2026-03-02,none,2026-03-02T17:00Z\n", "registers/tickets.csv:1", "no row says when it was received", "registers/diary.csv"},
		{"unknown register", "registers/diarry.csv", "", "at,act\n", "registers/diarry.csv", "no register has this name", `did you mean "diary.csv"`},
		{"unknown folder", "regsters/diary.csv", "", "at,act\n", "regsters", "nothing of this name", `did you mean "registers"`},
		{"no zone", "site.yaml", "zone: Europe/London", "zone: Local", "site.yaml:7", "Local", ""},
		{"anchor in YAML", "site.yaml", "name: Small site", "name: &n Small site", "site.yaml:2", "anchors", ""},
		{"duplicate key in YAML", "site.yaml", "datum: site datum", "datum: a\ndatum: b", "site.yaml:7", "stands twice", "keep one"},
		{"unknown key in site.yaml", "site.yaml", "datum:", "dattum:", "site.yaml", "not known here", `did you mean "datum"`},
		{"unknown instrument", "readings/index.csv", ",dB,,", ",dB,SLM9,", "readings/index.csv:2", "no instrument has the id SLM9", "registers/instruments.csv"},
		{"no such mapping", "readings/index.csv", ",n1,n1.csv", ",n9,n1.csv", "readings/index.csv:2", `no mapping "n9"`, ""},
		{"no such survey file", "surveys/index.csv", "p2,SV1.csv", "p2,SV7.csv", "surveys/index.csv:2", "SV7.csv: the file is not there", ""},
		{"survey without an id", "surveys/index.csv", "SV1,2026", ",2026", "surveys/index.csv:2", "has no id", ""},
		{"path out of the folder", "registers/tickets.csv", "id,at,places,number,direction,material,net [t]\nT1,", "id,files,at,places,number,direction,material,net [t]\nT1,../secret,", "registers/tickets.csv:2", "no path inside the folder", ""},
		{"holiday list under another name", "calendars/scotland.json", "", `{"id":"england","source":"x","from_year":2026,"to_year":2026,"days":[]}`, "calendars/scotland.json", "england", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			fsys := with(t, c.file, c.old, c.new)
			if rows := corrections[c.name]; rows != "" {
				fsys[c.file] = &fstest.MapFile{Data: []byte("id,supersedes,reason,at,places,number,direction,material,net [t]\n" + rows)}
			}
			var all []string
			for _, p := range problems(t, fsys) {
				text := p.String()
				all = append(all, text)
				if strings.HasPrefix(text, c.at) && strings.Contains(text, c.says) && strings.Contains(text, c.more) {
					return
				}
			}
			t.Errorf("no problem at %s says %q and %q; there were\n%s", c.at, c.says, c.more, strings.Join(all, "\n"))
		})
	}
}

// corrections are the rows of the cases about corrections, which need columns
// of their own.
var corrections = map[string]string{
	"correction of a superseded row": "T1,,,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.40\n" +
		"T1b,T1,weighed again,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.50\n" +
		"T1c,T1,and again,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.60\n",
	"correction without its reason": "T1,,,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.40\n" +
		"T1,T1,,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.50\n",
}

// TestEveryProblemAtOnce: three files with a fault each give three problems,
// in order of file and line.
func TestEveryProblemAtOnce(t *testing.T) {
	fsys := with(t, "registers/tickets.csv", "stone,18.40", "stone,heavy")
	fsys["registers/diary.csv"] = &fstest.MapFile{Data: []byte("at,act\n2026-13-01,none\n2026-03-02,dancing\n")}
	fsys["readings/n1.csv"] = &fstest.MapFile{Data: []byte("time,level\n2026-03-02 08:00:00,loud\n")}
	ps := problems(t, fsys)
	var where []string
	for _, p := range ps {
		where = append(where, strings.SplitN(p.String(), ",", 2)[0])
	}
	got := strings.Join(where, " ")
	if got != "readings/n1.csv:2 registers/diary.csv:2 registers/diary.csv:3 registers/tickets.csv:2" {
		t.Errorf("problems at %s\n%v", got, ps)
	}
}

// TestDuplicateImport: the same bytes under two names are one import.
func TestDuplicateImport(t *testing.T) {
	fsys := with(t, "readings/index.csv", "n1.csv,level\n", "n1.csv,level\nN1-B,noise.laeq,N1,,dB,,Europe/London,n1,n2.csv,level\n")
	fsys["readings/n2.csv"] = fsys["readings/n1.csv"]
	ps := problems(t, fsys)
	if got := ps[0].String(); !strings.Contains(got, "readings/index.csv:3") || !strings.Contains(got, "n2.csv is the same file as n1.csv") {
		t.Errorf("problem %q", got)
	}
}

// TestRowsWithoutIDThatSayTheSame are taken both, and noted.
func TestRowsWithoutIDThatSayTheSame(t *testing.T) {
	c := read(t, with(t, "registers/diary.csv", "2026-03-03,,,none,no work\n", "2026-03-03,,,none,no work\n2026-03-03,,,none,no work\n"))
	if len(c.Notes) != 1 || !strings.Contains(c.Notes[0].String(), "registers/diary.csv:4") {
		t.Errorf("notes: %v", c.Notes)
	}
	n := 0
	for i := range c.Drafts {
		if c.Drafts[i].Kind == "diary.1" {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%d diary lines, want 3", n)
	}
}

// TestClauseNumbersStayText: 1.10 is not 1.1, and decimals keep their noughts.
func TestClauseNumbersStayText(t *testing.T) {
	c := read(t, small())
	for i := range c.Drafts {
		if d := &c.Drafts[i]; d.Kind == "permit.1" {
			if got := d.Body.Objects("clauses")[0].Text("number"); got != "1.10" {
				t.Errorf("clause %q, want 1.10", got)
			}
		}
		if d := &c.Drafts[i]; d.Kind == "ticket.1" && d.Body.Text("ref") == "T2" && d.Body.Text("net") != "19.10" {
			t.Errorf("net %q, want 19.10", d.Body.Text("net"))
		}
	}
}

// TestCRLFAndMarkAreTaken: a register saved by a spreadsheet gives the same
// entries.
func TestCRLFAndMarkAreTaken(t *testing.T) {
	a := read(t, small())
	fsys := small()
	for _, name := range []string{"registers/diary.csv", "registers/tickets.csv"} {
		fsys[name].Data = []byte("\xEF\xBB\xBF" + strings.ReplaceAll(string(fsys[name].Data), "\n", "\r\n"))
	}
	b := read(t, fsys)
	for i := range a.Drafts {
		if a.Drafts[i].ID != b.Drafts[i].ID {
			t.Errorf("%s: another id", a.Drafts[i].Source)
		}
	}
}
