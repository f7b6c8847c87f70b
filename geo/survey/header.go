package survey

import (
	"fmt"
	"strings"
)

// column says what a column holds.
type column int

const (
	colNone column = iota
	colName
	colEasting
	colNorthing
	colLevel
	colCode
	colLine
	colRing
	colFrom
	colTo
	colA
	colB
	colC
	colDegrees
)

// headings maps plain column names to their meaning. Units in brackets or
// after an underscore are taken off before.
var headings = map[string]column{
	"point": colName, "pt": colName, "name": colName, "id": colName, "p": colName, "point id": colName,
	"point name": colName, "point no": colName, "point number": colName, "pointid": colName, "no": colName, "number": colName,
	"easting": colEasting, "east": colEasting, "e": colEasting, "x": colEasting, "grid e": colEasting, "site e": colEasting,
	"northing": colNorthing, "north": colNorthing, "n": colNorthing, "y": colNorthing, "grid n": colNorthing, "site n": colNorthing,
	"level": colLevel, "elevation": colLevel, "elev": colLevel, "z": colLevel, "height": colLevel, "rl": colLevel,
	"reduced level": colLevel, "h": colLevel,
	"code": colCode, "description": colCode, "desc": colCode, "d": colCode, "feature": colCode, "feature code": colCode, "remark": colCode,
	"line": colLine, "breakline": colLine, "string": colLine,
	"ring": colRing, "from": colFrom, "to": colTo, "a": colA, "b": colB, "c": colC,
	"lat": colDegrees, "latitude": colDegrees, "lon": colDegrees, "long": colDegrees, "lng": colDegrees, "longitude": colDegrees,
}

// columnNames are the words used in messages.
var columnNames = map[column]string{
	colName: "point", colEasting: "easting", colNorthing: "northing", colLevel: "level", colCode: "code",
	colLine: "line", colRing: "ring", colFrom: "from", colTo: "to", colA: "a", colB: "b", colC: "c",
}

// heading reads one column name and the unit written with it.
func heading(text string) (column, string) {
	s := strings.ToLower(strings.TrimSpace(text))
	unit := ""
	if i := strings.IndexAny(s, "([{"); i > 0 {
		unit = strings.Trim(s[i:], "()[]{} ")
		s = strings.TrimSpace(s[:i])
	}
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '_' || r == '-' || r == '.' }), " ")
	if col, ok := headings[s]; ok {
		return col, unit
	}
	if i := strings.LastIndexByte(s, ' '); i > 0 {
		if col, ok := headings[s[:i]]; ok {
			return col, s[i+1:]
		}
	}
	return colNone, ""
}

// header is what the first line says.
type header struct {
	cols  []column
	units []string // per column, "" when not stated
	texts []string
}

// readHeader reads a header line; ok is false when fewer than two columns are
// known, so that the line is not a header of ours.
func readHeader(fields [][]byte) (header, bool) {
	var h header
	known := 0
	for _, f := range fields {
		col, unit := heading(toText(f))
		h.cols, h.units, h.texts = append(h.cols, col), append(h.units, unit), append(h.texts, toText(f))
		if col != colNone {
			known++
		}
	}
	return h, known >= 2
}

// at returns where a column stands, or -1.
func (h header) at(c column) int {
	for i, k := range h.cols {
		if k == c {
			return i
		}
	}
	return -1
}

// require checks that the wanted columns are there, each once.
func (h header) require(name string, wanted ...column) error {
	if h.at(colDegrees) >= 0 {
		return fileErr(name, ErrFormat, "the columns %s are longitude and latitude; give plane grid metres (project the survey to the site's grid first)",
			strings.Join(h.texts, ", "))
	}
	var missing []string
	for _, c := range wanted {
		if h.at(c) < 0 {
			missing = append(missing, columnNames[c])
		}
	}
	if len(missing) > 0 {
		return fileErr(name, ErrFormat, "no column for %s among %s; name it so in the header, or remove the header and state the order (for instance PENZD)",
			strings.Join(missing, ", "), strings.Join(h.texts, ", "))
	}
	seen := map[column]string{}
	for i, c := range h.cols {
		if other, twice := seen[c]; twice && c != colNone {
			return fileErr(name, ErrFormat, "columns %q and %q both mean %s; rename one", other, h.texts[i], columnNames[c])
		}
		seen[c] = h.texts[i]
	}
	return nil
}

// unit returns the unit the header states for lengths.
func (h header) unit(name string, told Unit) (Unit, error) {
	found := ""
	for i, c := range h.cols {
		if c != colEasting && c != colNorthing && c != colLevel || h.units[i] == "" {
			continue
		}
		if found != "" && found != h.units[i] {
			return "", fileErr(name, ErrFormat, "the header states two units, %q and %q; one file has one unit", found, h.units[i])
		}
		found = h.units[i]
	}
	var stated Unit
	switch found {
	case "":
		if told == "" {
			return Metre, nil
		}
		return told, nil
	case "m", "metre", "metres", "meter", "meters":
		stated = Metre
	case "ftus", "usft", "us ft", "us survey ft", "us survey feet":
		stated = USSurveyFoot
	case "ft", "foot", "feet", "int ft", "international ft":
		if told == InternationalFoot || told == USSurveyFoot {
			return told, nil
		}
		return "", fileErr(name, ErrFormat, "the header says %q; state which foot: ft (0.3048 m) or US survey ft (1200/3937 m), 11 m apart at N 5,500,000 m", found)
	default:
		return "", fileErr(name, ErrFormat, "unit %q in the header is not known; use m, ft or US survey ft", found)
	}
	if told != "" && told != stated {
		return "", fileErr(name, ErrFormat, "the header says %s, but %s was asked for", stated, told)
	}
	return stated, nil
}

// metresPer returns the length of a unit in metres.
func metresPer(u Unit) (float64, error) {
	switch u {
	case Metre, "":
		return 1, nil
	case Millimetre:
		return 0.001, nil
	case Centimetre:
		return 0.01, nil
	case Inch:
		return 0.0254, nil
	case InternationalFoot:
		return 0.3048, nil
	case USSurveyFoot:
		return 1200.0 / 3937.0, nil
	}
	return 0, fmt.Errorf("unit %q is not known; use m, mm, cm, ft, US survey ft or in", u)
}

// orderColumns returns the columns of a stated order.
func orderColumns(o Order) ([]column, error) {
	letters := map[rune]column{'P': colName, 'E': colEasting, 'N': colNorthing, 'Z': colLevel, 'D': colCode, 'X': colEasting, 'Y': colNorthing}
	var cols []column
	var seen [colDegrees + 1]bool
	for _, r := range strings.ToUpper(string(o)) {
		c, ok := letters[r]
		if !ok || seen[c] {
			return nil, fmt.Errorf("column order %q: use each of P (point), E, N, Z (level), D (code) at most once, such as PENZD", o)
		}
		seen[c] = true
		cols = append(cols, c)
	}
	if !seen[colEasting] || !seen[colNorthing] || !seen[colLevel] {
		return nil, fmt.Errorf("column order %q lacks E, N or Z", o)
	}
	return cols, nil
}
