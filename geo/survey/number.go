package survey

import (
	"bytes"
	"math"
	"strconv"
)

var powersOfTen = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a decimal number as strconv.ParseFloat would, without
// allocating in the common case: digits below 2^53 with at most 22 decimals,
// where one division of exact values rounds once. Hexadecimal, underscores
// and words are not numbers here. decimals counts the digits after the point.
func parseNumber(b []byte) (v float64, decimals int, ok bool) {
	i, neg := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mantissa uint64
	digits, point := 0, -1
	for ; i < len(b); i++ {
		c := b[i]
		switch {
		case c >= '0' && c <= '9':
			if digits++; digits > 18 {
				return parseSlow(b)
			}
			mantissa = mantissa*10 + uint64(c-'0')
		case c == '.' && point < 0:
			point = digits
		default:
			return parseSlow(b)
		}
	}
	if digits == 0 {
		return 0, 0, false
	}
	if point >= 0 {
		decimals = digits - point
	}
	if mantissa >= 1<<53 {
		return parseSlow(b)
	}
	v = float64(mantissa) / powersOfTen[decimals]
	if neg {
		v = -v
	}
	return v, decimals, true
}

func parseSlow(b []byte) (float64, int, bool) {
	for _, c := range b {
		if !(c >= '0' && c <= '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil && !(math.IsInf(v, 0)) {
		return 0, 0, false
	}
	decimals := 0
	if i := bytes.IndexByte(b, '.'); i >= 0 {
		decimals = len(b) - i - 1
	}
	return v, decimals, true
}

// withPoint turns a decimal comma into a point in a copy.
func withPoint(b []byte) []byte {
	if i := bytes.IndexByte(b, ','); i >= 0 {
		b = bytes.Clone(b)
		b[i] = '.'
	}
	return b
}

// noDataLevels are numbers written where there was no level.
// Source: common practice of instruments and terrain software; from memory.
var noDataLevels = [...]float64{-9999, -99999, 9999.99, -32768}

// noDataWords are words written where there was no value.
var noDataWords = [...]string{"", "nan", "null", "nodata", "no data", "n/a", "na", "none", "-", "--", "*"}

// noDataWord reports whether a field says that there is no value.
func noDataWord(b []byte) bool {
	if len(b) > 8 {
		return false
	}
	lower := bytes.ToLower(b)
	for _, w := range noDataWords {
		if string(lower) == w {
			return true
		}
	}
	return false
}

// noDataLevel reports whether a number stands for no level.
func noDataLevel(v float64) bool {
	if math.IsNaN(v) || math.Abs(v) >= 1e30 {
		return true
	}
	for _, m := range noDataLevels {
		if v == m {
			return true
		}
	}
	return false
}
