package permit

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
)

// TestReadRefuses holds every bad text of testdata/refused against the faults
// written beside it: place, key, reason and remedy of each, all at once.
func TestReadRefuses(t *testing.T) {
	for _, path := range testFiles(t, "refused/*.txt") {
		for _, c := range cases(t, path) {
			t.Run(strings.TrimSuffix(filepath.Base(path), ".txt")+"/"+c.name, func(t *testing.T) {
				n, err := Read(strings.NewReader(c.text), "n.yaml")
				var faults Faults
				if !errors.As(err, &faults) {
					t.Fatalf("read as %+v, %v", n, err)
				}
				if n != nil {
					t.Error("a notice came back beside the faults")
				}
				for _, f := range faults {
					if f.Reason == "" || f.Remedy == "" {
						t.Errorf("fault without reason or remedy: %+v", f)
					}
				}
				c.hold(t, faults.Error())
			})
		}
		rewrite(t, path)
	}
}

// TestCheckRefuses does the same for what Check finds.
func TestCheckRefuses(t *testing.T) {
	q := quantities(t)
	places := func(code string) bool { return !strings.HasPrefix(code, "NOT") }
	for _, path := range testFiles(t, "unsound/*.txt") {
		for _, c := range cases(t, path) {
			t.Run(strings.TrimSuffix(filepath.Base(path), ".txt")+"/"+c.name, func(t *testing.T) {
				n, err := Read(strings.NewReader(c.text), "n.yaml")
				if err != nil {
					t.Fatal(err)
				}
				faults := Check(n, q, places)
				if len(faults) == 0 {
					t.Fatal("nothing found")
				}
				for _, f := range faults {
					if f.Line == 0 || f.Column == 0 || f.Reason == "" || f.Remedy == "" {
						t.Errorf("fault without place, reason or remedy: %+v", f)
					}
				}
				c.hold(t, faults.Error())
			})
		}
		rewrite(t, path)
	}
}

func testFiles(t *testing.T, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", pattern))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files %s: %v", pattern, err)
	}
	return files
}

// badCase is one text with the faults it has. In the files a case begins with
// "== name", the text follows, and after "--" one line for each fault. A text
// that begins with "+ " lines is the body of a condition of clause 1, one that
// begins with "." stands in place of a key of the usual condition.
type badCase struct {
	name, text, want string
	source           string
	got              *string
}

var rewritten = map[string][]*badCase{}

func cases(t *testing.T, path string) []*badCase {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var out []*badCase
	for _, part := range strings.Split("\n"+string(b), "\n== ")[1:] {
		name, body, _ := strings.Cut(part, "\n")
		source, want, _ := strings.Cut(body+"\n", "\n--\n")
		c := &badCase{name: name, source: source, want: strings.TrimRight(want, "\n")}
		c.text = expand(source)
		out = append(out, c)
	}
	rewritten[path] = out
	return out
}

// expand makes a whole notice of a case's text.
func expand(source string) string {
	var body []string
	usual := noise
	lines := bufio.NewScanner(strings.NewReader(source))
	for lines.Scan() {
		l := lines.Text()
		switch {
		case strings.HasPrefix(l, "+ "):
			body = append(body, l[2:])
		case strings.HasPrefix(l, "."):
			key, value, _ := strings.Cut(l[1:], ": ")
			usual = with(usual, key, value)
		default:
			return unescape(source) + "\n"
		}
	}
	if len(body) > 0 {
		return oneClause(strings.Join(body, "\n"))
	}
	return oneClause(usual)
}

// unescape puts bytes in that a text file should not hold.
func unescape(s string) string {
	return strings.NewReplacer("<FF>", "\xff", "<NUL>", "\x00", "<DEL>", "\x7f", "<TAB>", "\t").Replace(s)
}

func (c *badCase) hold(t *testing.T, got string) {
	t.Helper()
	if *update {
		c.got = &got
		return
	}
	if got != c.want {
		t.Errorf("faults differ\n%s\nwant\n%s\ngot\n%s", numbered(c.text), c.want, got)
	}
}

func numbered(text string) string {
	var b strings.Builder
	for i, l := range strings.Split(text, "\n") {
		fmt.Fprintf(&b, "%3d %s\n", i+1, l)
	}
	return b.String()
}

// rewrite writes a file of cases with the faults found, under -update.
func rewrite(t *testing.T, path string) {
	if !*update {
		return
	}
	var b strings.Builder
	for _, c := range rewritten[path] {
		got := c.want
		if c.got != nil {
			got = *c.got
		}
		fmt.Fprintf(&b, "== %s\n%s\n--\n%s\n", c.name, c.source, got)
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestReadBytes(t *testing.T) {
	good := oneClause(noise)
	t.Run("a failing reader is told as such", func(t *testing.T) {
		_, err := Read(iotest.ErrReader(io.ErrClosedPipe), "n.yaml")
		if !errors.Is(err, io.ErrClosedPipe) || !strings.Contains(err.Error(), "n.yaml") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("a text beyond the limit is refused", func(t *testing.T) {
		_, err := Read(strings.NewReader(good+"# "+strings.Repeat("x", MaxText)), "n.yaml")
		var faults Faults
		if !errors.As(err, &faults) || !strings.Contains(err.Error(), "longer than") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("nesting beyond the limit is refused once", func(t *testing.T) {
		_, err := Read(strings.NewReader("permit: "+strings.Repeat("[", 2000)+strings.Repeat("]", 2000)), "n.yaml")
		if err == nil || !strings.Contains(err.Error(), "nested deeper") {
			t.Errorf("got %.300v", err)
		}
	})
	t.Run("half a file never passes", func(t *testing.T) {
		whole := mustRead(t, good)
		for i := 0; i < len(good)-1; i++ {
			n, err := Read(strings.NewReader(good[:i]), "n.yaml")
			if err == nil && len(Check(n, quantities(t), nil)) == 0 && Same(n, whole) {
				t.Fatalf("cut at byte %d it reads as the whole", i)
			}
		}
	})
}

// TestShortNightIsNoFault: a shift of eight hours lasts seven in the night that
// the clocks go forward, and a condition may be in force for just that night.
func TestShortNightIsNoFault(t *testing.T) {
	text := func(to string) string {
		return `permit: {reference: P/1, type: permit, granted: 2026-01-01, zone: Europe/London}
clauses: [{number: "1", text: a, treated: judged}]
conditions:
  - {id: n, clause: "1", kind: measured, subject: noise.laeq, place: NM1, window: "shift 23:00-07:00", statistic: energy mean, limit: <= 45 dB, from: 2026-03-28T23:00:00+00:00, to: ` + to + `}
`
	}
	for to, want := range map[string]bool{"2026-03-29T07:00:00+01:00": true, "2026-03-29T05:00:00+01:00": false} {
		n, err := Read(strings.NewReader(text(to)), "n.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if faults := Check(n, quantities(t), func(string) bool { return true }); (len(faults) == 0) != want {
			t.Errorf("until %s: %v", to, faults)
		}
	}
}
