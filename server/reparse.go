package server

import (
	"encoding/hex"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/server/folder"
	"github.com/swardbook/swardbook/server/handover"
)

// reparse reads an entry's original again and says where this program's reader
// differs from the one that was used. That is no tampering: what was accepted
// then is committed in the entry.
func reparse(o handover.Original) []string {
	switch o.Entry.Kind {
	case "import.1":
		return reparseReadings(o)
	case "survey.1":
		return reparseSurvey(o)
	}
	return nil
}

func differs(e *book.Entry, format string, args ...any) []string {
	return []string{fmt.Sprintf("parser differs: entry %d: %s", e.Seq, fmt.Sprintf(format, args...))}
}

func reparseReadings(o handover.Original) []string {
	e := o.Entry
	h, err := book.ParseHash(e.Body.Text("file"))
	if err != nil {
		return differs(e, "file: %v", err)
	}
	f, err := o.File(h)
	if err != nil {
		return differs(e, "its original is not to be had: %v", err)
	}
	defer func() { _ = f.Close() }()
	parsed, err := series.ReadDelimited(f, e.Body.Text("name"), monitoring.MappingOf(e.Body))
	if err != nil {
		return differs(e, "%v", err)
	}
	now := map[string]series.ParsedChannel{}
	for _, c := range parsed.Channels {
		now[c.Channel] = c
	}
	var out []string
	for _, c := range e.Body.Objects("channels") {
		got, there := now[c.Text("channel")]
		if !there || got.Count != c.Integer("count") || hex.EncodeToString(got.Digest[:]) != c.Text("digest") {
			out = append(out, differs(e, "channel %s is read otherwise (%d readings, then %d)", c.Text("channel"), got.Count, c.Integer("count"))...)
		}
	}
	return out
}

func reparseSurvey(o handover.Original) []string {
	e := o.Entry
	h, err := book.ParseHash(e.Body.Text("file"))
	if err != nil {
		return differs(e, "file: %v", err)
	}
	f, err := o.File(h)
	if err != nil {
		return differs(e, "its original is not to be had: %v", err)
	}
	defer func() { _ = f.Close() }()
	read, clean := folder.SurveyOptions(e.Body)
	s, err := survey.Read(f, "survey", read)
	if err != nil {
		return differs(e, "%v", err)
	}
	points, _, err := survey.Clean(s, clean)
	if err != nil {
		return differs(e, "%v", err)
	}
	if int64(len(points)) != e.Body.Integer("points") || folder.SurveyDigest(points).String() != e.Body.Text("digest") {
		return differs(e, "the survey's points are read otherwise (%d points, then %d)", len(points), e.Body.Integer("points"))
	}
	return nil
}
