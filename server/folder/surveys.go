package folder

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/geo/survey"
)

const surveysIndex = "surveys/index.csv"

// SurveyReader names the reader that survey entries commit to.
const SurveyReader = "swardbook survey 1"

// computedOfSurvey are the fields of a survey that reading its file gives.
var computedOfSurvey = []string{"parser", "points", "digest"}

// surveyColumns is the kind of a survey without what reading it gives.
func surveyColumns(k *book.Kind) *book.Kind {
	c := *k
	c.Fields = nil
	for _, fd := range k.Fields {
		if !slices.Contains(computedOfSurvey, fd.Name) {
			c.Fields = append(c.Fields, fd)
		}
	}
	return &c
}

// readSurveys reads surveys/index.csv and every file it names.
func (l *loader) readSurveys() {
	if !l.exists(surveysIndex) {
		return
	}
	data, ok := l.bytes(surveysIndex)
	if !ok {
		return
	}
	t := readTable(surveysIndex, data, &l.findings)
	if t == nil {
		return
	}
	for i := range t.head {
		if t.head[i].name == "date" {
			t.head[i].name = "at"
		}
	}
	s := newSheet(t, surveyColumns(l.kinds.Named("survey.1")))
	if !l.columns(s) {
		return
	}
	l.dir = "surveys/"
	for _, r := range s.rows {
		l.surveyRow(s, r)
	}
	l.dir = ""
	l.tableReceipts(s)
}

func (l *loader) surveyRow(s *sheet, r row) {
	d, recorded, ok := l.envelope(s, r)
	body, okBody := l.body(s, r)
	if s.withdrawal(r) && len(body) == 0 {
		body = nil
	}
	if body != nil && s.cell(r, "id") == "" {
		l.say(s.path, r.line, "id", "the survey has no id, so conditions and mounds cannot name it", "give it a short one, such as SV1")
		okBody = false
	}
	if body != nil && okBody {
		okBody = l.surveyFile(s.path, r.line, body)
	}
	d.Body = body
	if ok && okBody && l.identify(s, r, &d) {
		l.add(d, s.path, r.line, recorded)
	}
}

// surveyFile reads the survey a body names and puts down what came of it.
func (l *loader) surveyFile(index string, line int, body book.Object) bool {
	before := len(l.problems)
	file := l.pathOf(body.Text("file"))
	_, _, unknown, err := survey.Decided(survey.Order(body.Text("order")), surveyDecisions(body))
	for _, d := range unknown {
		l.say(index, line, "decisions", fmt.Sprintf("the decision %q on row %d is not known", d.Word, d.Row), survey.DecisionHelp)
	}
	if err != nil {
		l.say(index, line, "decisions", err.Error(), survey.DecisionHelp)
	}
	if len(l.problems) > before {
		return false
	}
	s, err := l.openSurvey(file, body)
	if err != nil {
		l.cause(file, 0, "", err)
		return false
	}
	for _, extra := range []struct {
		field string
		read  func(io.Reader, string) error
	}{
		{"breaklines", func(r io.Reader, name string) error {
			lines, err := survey.ReadBreaklines(r, name, s)
			s.Breaklines = append(s.Breaklines, lines...)
			return err
		}},
		{"boundary", func(r io.Reader, name string) (err error) {
			s.Boundary, err = survey.ReadBoundary(r, name)
			return err
		}},
	} {
		if body.Has(extra.field) {
			l.reading(l.pathOf(body.Text(extra.field)), extra.read)
		}
	}
	if len(l.problems) > before {
		return false
	}
	return l.cleanSurvey(index, line, file, s, body)
}

func (l *loader) openSurvey(file string, body book.Object) (*survey.Survey, error) {
	r, err := l.fsys.Open(file)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	read, _ := SurveyOptions(body)
	return survey.Read(r, file, read)
}

func (l *loader) reading(file string, read func(io.Reader, string) error) {
	r, err := l.fsys.Open(file)
	if err != nil {
		l.cause(file, 0, "", err)
		return
	}
	defer r.Close()
	if err := read(r, file); err != nil {
		l.cause(file, 0, "", err)
	}
}

// cleanSurvey settles a survey's points under the decisions taken by a person
// and commits the entry to what is left.
func (l *loader) cleanSurvey(index string, line int, file string, s *survey.Survey, body book.Object) bool {
	_, opts := SurveyOptions(body)
	points, found, err := survey.Clean(s, opts)
	if err != nil {
		var conflict *survey.ConflictError
		if errors.As(err, &conflict) {
			for _, w := range conflict.Found {
				l.say(file, w.Row, "", w.Text, `correct the file, or choose in the index under decisions: [{"row":0,"decision":"conflicts: first"}] (or last, reject)`)
			}
			return false
		}
		l.cause(file, 0, "", err)
		return false
	}
	decisions, _ := body["decisions"].([]any)
	for _, w := range append(slices.Clone(s.Warnings), found...) {
		decisions = append(decisions, book.Object{"row": int64(w.Row), "decision": string(w.Action), "why": w.Text})
	}
	if len(decisions) > 0 {
		body["decisions"] = decisions
	}
	body["parser"], body["points"], body["digest"] = SurveyReader, int64(len(points)), SurveyDigest(points).String()
	return true
}

// SurveyDigest is the SHA-256 a survey entry commits to: over the accepted
// points ordered by easting, northing and level, each "E N Level" in metres
// with as many digits as it takes to read the same values back, and a line
// feed.
func SurveyDigest(points []survey.Point) book.Hash {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b survey.Point) int {
		for _, d := range [3]float64{a.E - b.E, a.N - b.N, a.Level - b.Level} {
			if d < 0 {
				return -1
			}
			if d > 0 {
				return 1
			}
		}
		return 0
	})
	h := sha256.New()
	var line []byte
	for _, p := range sorted {
		line = strconv.AppendFloat(line[:0], p.E, 'f', -1, 64)
		line = strconv.AppendFloat(append(line, ' '), p.N, 'f', -1, 64)
		line = strconv.AppendFloat(append(line, ' '), p.Level, 'f', -1, 64)
		h.Write(append(line, '\n'))
	}
	return book.Hash(h.Sum(nil))
}
