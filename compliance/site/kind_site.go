package site

import "github.com/swardbook/swardbook/compliance/book"

// siteKind is the place itself; one entry, corrected when it changes.
func siteKind() *book.Kind {
	return &book.Kind{
		Name: "site.1", Subject: "site", Title: "Site", Place: book.NoPlace, Length: book.Moment,
		Help: "The place, its grid, its level datum and its time zone.",
		Fields: []book.Field{
			{Name: "name", Title: "Name", Type: book.Text, Required: true},
			{Name: "location", Title: "Where it lies", Type: book.Prose},
			{Name: "grid", Title: "Grid", Type: book.Text, Required: true, Help: "EPSG code such as EPSG:27700, or a name for a site grid of its own."},
			{Name: "control", Title: "Control of the site's own grid", Type: book.List, Fields: []book.Field{
				{Name: "name", Title: "Station", Type: book.Text, Required: true},
				{Name: "easting", Title: "Easting", Type: book.Decimal, Unit: "m", Required: true},
				{Name: "northing", Title: "Northing", Type: book.Decimal, Unit: "m", Required: true},
				{Name: "level", Title: "Level", Type: book.Decimal, Unit: "m"},
				{Name: "longitude", Title: "Longitude", Type: book.Decimal, Unit: "°", Min: "-180", Max: "180"},
				{Name: "latitude", Title: "Latitude", Type: book.Decimal, Unit: "°", Min: "-90", Max: "90"},
			}},
			{Name: "datum", Title: "Level datum", Type: book.Text, Required: true},
			{Name: "zone", Title: "Time zone", Type: book.Text, Required: true, Help: "IANA name, such as Europe/London."},
			{Name: "retention", Title: "Kept for", Type: book.Text, Help: "How long the record is kept, in words."},
			{Name: "zone_data", Title: "Rules of the time zone", Type: book.File, Help: "The zone's compiled rules, as the program held them when the book was opened."},
		},
	}
}
