package series

import (
	"fmt"
	"strings"
)

// markNames are the words for marks in mappings, entries and packs, by number.
var markNames = [...]string{
	Valid: "valid", Below: "below", Above: "above", Blank: "blank", Wind: "wind", Rain: "rain",
	Calibrating: "calibrating", Overload: "overload", Maintenance: "maintenance", Interference: "interference",
	Doubtful: "doubtful", Unreadable: "unreadable",
}

// String returns the word for the mark.
func (m Mark) String() string {
	if int(m) < len(markNames) {
		return markNames[m]
	}
	return fmt.Sprintf("mark %d", uint8(m))
}

// ParseMark reads the word for a mark.
func ParseMark(s string) (Mark, error) {
	for i, name := range markNames {
		if s == name {
			return Mark(i), nil
		}
	}
	return 0, fmt.Errorf("%q is no mark; known are %s", s, strings.Join(markNames[:], ", "))
}

// known tells whether the mark is one of those there are.
func (m Mark) known() bool { return int(m) < len(markNames) }
