package book

import "time"

// Draft is an entry before it has a place in a book: what its author says.
// Seq, site, receipt, salt, hashes and links are given when it is sealed.
type Draft struct {
	ID         ID
	Kind       string
	Places     []string
	At         time.Time
	Until      time.Time
	Precision  Precision
	Offset     string
	Made       time.Time
	By         string
	For        string
	Role       string
	Supersedes ID
	Reason     string
	Files      []Hash
	Body       Object // nil withdraws what Supersedes names
	Source     string // "registers/diary.csv line 12", for messages; not kept
}

// Envelope returns the envelope the draft gets with that place in a book.
func (d *Draft) Envelope(site string, seq int64, recorded time.Time) Envelope {
	return Envelope{
		ID: d.ID, Seq: seq, Site: site, Kind: d.Kind, Places: d.Places,
		At: d.At, Until: d.Until, Precision: d.Precision, Offset: d.Offset,
		Made: d.Made, Recorded: recorded, By: d.By, For: d.For, Role: d.Role,
		Supersedes: d.Supersedes, Reason: d.Reason, Files: d.Files,
	}
}

// Same tells whether a sealed entry says what the draft says: the same id
// with the same content is "already there", with another it is a conflict.
func (d *Draft) Same(e *Entry) bool {
	v := d.Envelope(e.Site, e.Seq, e.Recorded)
	v.BodyHash = Hash{}
	if d.Body != nil {
		if e.Body == nil || e.BodyHash != HashBody(e.Salt, d.Body) {
			return false
		}
		v.BodyHash = e.BodyHash
	}
	return string(v.Bytes()) == string(e.Envelope.Bytes())
}
