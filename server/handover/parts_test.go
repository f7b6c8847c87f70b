package handover

import (
	"bytes"
	"encoding/csv"
	"regexp"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/judge"
)

// Tables are read back by the standard library's CSV reader.
func TestTablesReadBack(t *testing.T) {
	rows := [][]string{{"plain", "a,b", `say "no"`, "two\nlines", " space ", ""}, {"€", "-1.5", "'=x", "CR\rhere", "x", "y"}}
	var b bytes.Buffer
	w := newTable(&b)
	for _, r := range rows {
		w.row(r...)
	}
	if err := w.flush(); err != nil {
		t.Fatal(err)
	}
	got, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
	if err != nil || len(got) != 2 {
		t.Fatalf("%q %v", b.String(), err)
	}
	for i := range rows {
		for k := range rows[i] {
			if got[i][k] != rows[i][k] {
				t.Errorf("wrote %q, read %q", rows[i][k], got[i][k])
			}
		}
	}
	if n := strings.Count(b.String(), "\r\n"); n != 2 {
		t.Errorf("%d lines end in CR LF", n)
	}
}

func TestFormulasAreKeptFromTablePrograms(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"empty", "", ""},
		{"a word", "hedge", "hedge"},
		{"a sum", "=1+1", "'=1+1"},
		{"a plus", "+44 1632 960001", "'+44 1632 960001"},
		{"an address", "@home", "'@home"},
		{"a number below nought", "-12.5", "-12.5"},
		{"a dash and a word", "-cmd", "'-cmd"},
		{"a tab", "\t=1", "'\t=1"},
		{"an apostrophe of its own", "'tis", "'tis"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := safe(tt.text)
			if got != tt.want {
				t.Fatalf("got %q", got)
			}
			if back := unsafe(got); back != tt.text {
				t.Fatalf("taken back it is %q", back)
			}
		})
	}
}

func TestChannelsAsFileNames(t *testing.T) {
	tests := []struct{ channel, want string }{
		{"N1-LAEQ", "N1-LAEQ"}, {"N/1", "~4e2f31"}, {"..", "~2e2e"}, {"", "~"}, {"~4e2f31", "~7e34653266" + "3331"}, {"ŵ", "~c5b5"}, {"a b", "~612062"},
	}
	seen := map[string]bool{}
	for _, tt := range tests {
		got := plainName(tt.channel)
		if got != tt.want || seen[got] {
			t.Errorf("%q: got %q", tt.channel, got)
		}
		seen[got] = true
	}
}

func TestRegistersTellWhatBecameOfEntries(t *testing.T) {
	m := unpacked(t, pack(t, build(t).input(testKey())))
	rows, err := csv.NewReader(bytes.NewReader(m[registersDir+"diary.csv"])).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"5", "in force", "strip", "topsoil, \"dry\"\nand loose"},
		{"6", "corrected by entry 8", "delivery", "topsoil, \"dry\"\nand loose"},
		{"7", "withdrawn by entry 9", "haul", "topsoil, \"dry\"\nand loose"},
		{"8", "in force", "delivery", "'=fence panels"},
		{"9", "withdrawal", "", ""},
	}
	at := map[string]int{}
	for i, h := range rows[0] {
		at[h] = i
	}
	if len(rows) != 1+len(want) {
		t.Fatalf("%d rows", len(rows))
	}
	for i, w := range want {
		r := rows[i+1]
		if r[at["seq"]] != w[0] || r[at["state"]] != w[1] || r[at["act"]] != w[2] || r[at["text"]] != w[3] {
			t.Errorf("row %d is %q", i+1, r)
		}
	}
	if !strings.Contains(string(m[registersDir+"site.1.csv"]), "Ordnance Datum Newlyn") {
		t.Error("the site's register is not its own")
	}
}

// The page needs nothing but itself.
func TestPageStandsAlone(t *testing.T) {
	text := string(unpacked(t, pack(t, build(t).input(testKey())))[pageName])
	for _, bad := range []string{"<script", "http:", "https:", "url(", "@import", "<img", "<iframe", "<link", " on"} {
		if bad == " on" {
			if m := regexp.MustCompile(`\son[a-z]+=`).FindString(text); m != "" {
				t.Errorf("the page holds %q", m)
			}
			continue
		}
		if strings.Contains(text, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	for _, want := range []string{"élan, ŵ, ≤ 2 m", "Clauses 5, accounted for 4", "not yet entered", "attested by the ecologist", "NSR1 (108 of 120)", "over by 3.876 dB", "gives no permission", `lang="en-GB"`} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not hold %q", want)
		}
	}
	for _, v := range order {
		if !strings.Contains(text, string(shapes[v])+"</svg>"+v.String()) {
			t.Errorf("%s does not stand with its shape", v)
		}
	}
}

func TestEveryVerdictHasAShapeAndAPlace(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range order {
		if shapes[v] == "" || seen[string(shapes[v])] {
			t.Errorf("%s has no shape of its own", v)
		}
		seen[string(shapes[v])] = true
	}
	if len(order) != 5 || order[0] != judge.NotComplied || order[1] != judge.CannotBeJudged {
		t.Error("the gravest do not come first")
	}
}

func TestSheetWrapsAndNamesAbsentCharacters(t *testing.T) {
	s, err := newSheet("t", "f", judgedAt, 1)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, text string
		wide       float64
		lines      []string
	}{
		{"one line", "a short line", 400, []string{"a short line"}},
		{"two lines", "one two three four five six", 62, []string{"one two three", "four five six"}},
		{"paragraphs", "a\nb", 400, []string{"a", "b"}},
		{"a word too long", strings.Repeat("m", 20), 80, nil},
		{"nothing", "", 50, []string{""}},
		{"no room at all", "ab", 0.1, []string{"a", "b"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := s.wrap(styleText, tt.text, tt.wide)
			if tt.lines != nil && strings.Join(got, "|") != strings.Join(tt.lines, "|") {
				t.Fatalf("got %q", got)
			}
			if strings.Join(strings.Fields(strings.Join(got, "")), "") != strings.Join(strings.Fields(tt.text), "") {
				t.Fatalf("characters were lost: %q", got)
			}
			for _, line := range got {
				if len([]rune(line)) > 1 && s.wide(styleText, line) > tt.wide {
					t.Errorf("%q is %v wide", line, s.wide(styleText, line))
				}
			}
		})
	}
	if got := s.printable(styleText, "ŵŷŻΩµ³₁₀≤≥±°–—…→▲■● ok 🌱 ✓"); got != "ŵŷŻΩµ³₁₀≤≥±°–—…→▲■● ok U+1F331 U+2713" {
		t.Errorf("got %q", got)
	}
	if got := strings.Join(s.missing(), " "); got != "U+2713 U+1F331" {
		t.Errorf("absent: %s", got)
	}
}

// A statement longer than a page goes on, with the heads of its table.
func TestLongCover(t *testing.T) {
	s := &statement{Site: "S", instant: judgedAt}
	n := noticeLines{Title: "Notice"}
	for i := range 60 {
		n.Clauses = append(n.Clauses, clauseLines{Number: strings.Repeat("1.", 1+i%3), Text: strings.Repeat("words of a clause ", 1+i), Treated: "judged",
			Judgements: []verdictLine{{Verdict: order[i%5], What: "W", Sentence: strings.Repeat("found ", i*3), Figures: "limit", Evidence: "1"}}})
	}
	s.Notices = []noticeLines{n}
	b, err := coverText(s)
	if err != nil {
		t.Fatal(err)
	}
	if pages := bytes.Count(b, []byte("/Type /Page\n")); pages < 8 {
		t.Fatalf("%d pages", pages)
	}
	again, err := coverText(s)
	if err != nil || !bytes.Equal(b, again) {
		t.Fatalf("set again it is another: %v", err)
	}
}

func FuzzParseLine(f *testing.F) {
	k := build(f)
	p, err := (&Input{Site: testSite, Created: opened2026, Entries: k.entries, Withhold: true}).packed()
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range p.entries {
		line, err := bookLine(e, p.withheld[e.Seq])
		if err != nil {
			f.Fatal(err)
		}
		f.Add(bytes.TrimSuffix(line, []byte("\n")))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		e, withheld, err := parseLine(line)
		if err != nil {
			return
		}
		again, err := bookLine(e, withheld)
		if err != nil || string(again) != string(line)+"\n" {
			t.Fatalf("%q is written again as %q: %v", line, again, err)
		}
	})
}

func FuzzReadManifest(f *testing.F) {
	f.Add(unpacked(f, pack(f, build(f).input(testKey())))[manifestName])
	f.Add([]byte(`{"format":"swardbook/pack/1"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := readManifest(b)
		if err == nil && !bytes.Equal(m.text(), b) {
			t.Fatalf("%q is written again as %q", b, m.text())
		}
	})
}

func FuzzReadRuns(f *testing.F) {
	f.Add(unpacked(f, pack(f, build(f).input(testKey())))[chunksName])
	f.Add([]byte("import,channel,number,member,offset,bytes,readings,from,to,sha256\r\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		runs, err := readRuns(bytes.NewReader(b))
		if err != nil {
			return
		}
		for i := range runs {
			if runs[i].offset < 0 || runs[i].bytes < 0 || runs[i].readings < 0 {
				t.Fatalf("taken: %+v", runs[i])
			}
		}
	})
}
