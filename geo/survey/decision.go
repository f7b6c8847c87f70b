package survey

import (
	"fmt"
	"strconv"
	"strings"
)

// Decision is what a person settled about one row of a survey file, or, on
// row 0, about the whole file.
type Decision struct {
	Row  int
	Word string // "leave out" on a row; on row 0 a word of DecisionHelp
}

// DecisionHelp says which decisions there are.
const DecisionHelp = `write {"row":12,"decision":"leave out","why":"…"}; for the whole file row 0 with "conflicts: first" (or last, reject), "unit: ft" (m, mm, cm, in, US survey ft), "surface: NAME", "layers: A, B", "boundary layer: L", "classes: 2, 8" or "thin: 0.5"`

// Decided turns decisions into the options of Read and Clean. Words it does
// not know are returned: what the reader itself noted of rows is among a kept
// entry's decisions, but has no say in a new one.
func Decided(order Order, decisions []Decision) (read Options, clean CleanOptions, unknown []Decision, err error) {
	read.Order = order
	for _, d := range decisions {
		key, value, _ := strings.Cut(d.Word, ":")
		value = strings.TrimSpace(value)
		known := true
		switch {
		case d.Row > 0 && strings.HasPrefix(d.Word, "leave out"):
			clean.LeaveOut = append(clean.LeaveOut, d.Row)
		case d.Row > 0:
			known = false
		case key == "conflicts":
			clean.Conflicts = ConflictRule(value)
		case key == "unit":
			read.Unit = Unit(value)
			if _, bad := metresPer(read.Unit); bad != nil || value == "" {
				err = fmt.Errorf("decision %q: the unit is m, mm, cm, in, ft or US survey ft", d.Word)
			}
		case key == "surface":
			read.Surface = value
		case key == "layers":
			read.Layers = list(value)
		case key == "boundary layer":
			read.BoundaryLayer = value
		case key == "classes":
			for _, c := range list(value) {
				n, bad := strconv.Atoi(c)
				if bad != nil || n < 0 || n > 255 {
					err = fmt.Errorf("decision %q: classes are whole numbers from 0 to 255", d.Word)
				}
				read.Classes = append(read.Classes, n)
			}
		case key == "thin":
			v, bad := strconv.ParseFloat(value, 64)
			if bad != nil || !(v > 0) {
				err = fmt.Errorf("decision %q: metres above 0", d.Word)
			}
			read.ThinM = v
		default:
			known = false
		}
		if !known {
			unknown = append(unknown, d)
		}
	}
	return read, clean, unknown, err
}

// list parts words at commas.
func list(text string) []string {
	var out []string
	for _, w := range strings.Split(text, ",") {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}
