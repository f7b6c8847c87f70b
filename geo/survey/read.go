package survey

import (
	"errors"
	"io"
)

// Order says which column of a point list holds what.
type Order string

// Column orders: P point name, E easting, N northing, Z level, D description
// (code). OrderHeader takes them from the header row and refuses a file without one.
const (
	OrderHeader Order = ""
	OrderPNEZD  Order = "PNEZD"
	OrderPENZD  Order = "PENZD"
	OrderNEZ    Order = "NEZ"
	OrderENZ    Order = "ENZ"
)

// Options steer Read. The zero value is right for a file with a header in metres.
type Options struct {
	Order         Order
	Unit          Unit // unit of the file; "" means metres
	DecimalComma  bool // "430004,000" is a number
	RejectBadRows bool // unreadable rows become warnings instead of failing the whole file
	MaxRows       int  // refuse longer files; 0 means 20 million
}

// ErrNoPoints is returned when a file holds no usable point.
var ErrNoPoints = errors.New("no usable points")

// Read reads a survey of any format known here, told by its content. name is
// used in messages. Every unreadable row is listed in the error.
func Read(r io.Reader, name string, opts Options) (*Survey, error) {
	return nil, errors.New("survey: reading is being built")
}
