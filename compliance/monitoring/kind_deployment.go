package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// deploymentKind says where and how an instrument stood from when to when.
// Readings outside any deployment of their channel are doubtful.
func deploymentKind() *book.Kind {
	return &book.Kind{
		Name: "deployment.1", Register: "deployments", Subject: "monitoring", Title: "Deployment",
		Help: "Where and how an instrument stood, from when to when.",
		Fields: []book.Field{
			{Name: "instrument", Title: "Instrument", Type: book.Ref, Required: true},
			{Name: "height", Title: "Height above ground", Type: book.Decimal, Unit: "m"},
			{Name: "position", Title: "How it stands", Type: book.Choice, Options: []string{"free field", "façade", "in the ground", "on the structure", "in the water", "in the pipe", "on a mast", "other"}},
			{Name: "facade_distance", Title: "Distance to the nearest wall", Type: book.Decimal, Unit: "m", Min: "0"},
			{Name: "settings", Title: "Settings", Type: book.Prose, Help: "Weighting, response, interval, range, clock."},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.MayLast, Plain: true,
		Check: needsRef("the deployment", "channels and checks"),
	}
}
