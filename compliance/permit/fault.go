package permit

import (
	"fmt"
	"sort"
	"strings"
)

// Fault is one thing wrong with a notice as written, in words for who wrote it.
type Fault struct {
	File   string // name of the text; "" when there was none
	Line   int    // counted from 1; 0 when not known
	Column int    // in characters, counted from 1; 0 when not known
	Field  string // path of the key, "conditions[2].limit"; "" = the whole text
	Reason string // what is wrong
	Remedy string // what to do
}

// Error writes the fault as file:line:column: field: reason; remedy.
func (f Fault) Error() string {
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File + ":")
	}
	if f.Line > 0 {
		fmt.Fprintf(&b, "%d:%d:", f.Line, f.Column)
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	b.WriteString(f.Reason)
	if f.Remedy != "" {
		b.WriteString("; " + f.Remedy)
	}
	return b.String()
}

// Faults is everything wrong with a notice, in the order of its text. As an
// error it is one line for each; an empty list is no error and is never
// returned as one.
type Faults []Fault

// Error writes one line for each fault.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// err returns the faults in order of their places, or nil when there is none.
func (fs Faults) err() error {
	if len(fs) == 0 {
		return nil
	}
	fs.sort()
	return fs
}

func (fs Faults) sort() {
	sort.SliceStable(fs, func(i, j int) bool {
		if fs[i].Line != fs[j].Line {
			return fs[i].Line < fs[j].Line
		}
		return fs[i].Column < fs[j].Column
	})
}

// known writes the list of words that would have been understood, the
// likeliest first when the word at hand is nearly one of them.
func known(word string, words []string) string {
	list := strings.Join(words, ", ")
	if near := nearest(word, words, 1); len(near) == 1 {
		return fmt.Sprintf("did you mean %q? known are: %s", near[0], list)
	}
	return "known are: " + list
}

// nearest returns up to most of the words that are a slip of the hand away
// from word, the nearest first.
func nearest(word string, words []string, most int) []string {
	type near struct {
		word  string
		steps int
	}
	var found []near
	for _, w := range words {
		steps := slips(strings.ToLower(word), strings.ToLower(w))
		if allowed := max(1, min(len(word), len(w))/3); steps <= allowed {
			found = append(found, near{w, steps})
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].steps < found[j].steps })
	var out []string
	for i := 0; i < len(found) && i < most; i++ {
		out = append(out, found[i].word)
	}
	return out
}

// slips counts the letters to be added, dropped or changed to turn a into b.
func slips(a, b string) int {
	if len(a) > 100 || len(b) > 100 {
		return len(a) + len(b)
	}
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(x); i++ {
		corner := row[0]
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := corner
			if x[i-1] != y[j-1] {
				cost++
			}
			corner = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(y)]
}
