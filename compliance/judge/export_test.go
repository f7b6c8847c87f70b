package judge

import "github.com/swardbook/swardbook/compliance/quantity"

// Whole judges as All does, but every condition in one go and by itself: no
// month apart, nothing shared, no window at a glance.
func Whole(rec *Record, list *quantity.List, opts Options) (*Report, error) {
	s, out, err := begin(rec, list, opts)
	if err != nil {
		return nil, err
	}
	lost, err := s.open(&out.Clauses)
	if err != nil {
		return nil, err
	}
	out.Judgements = append(out.Judgements, lost...)
	for _, t := range s.tasks() {
		out.Judgements = append(out.Judgements, s.asked(s.hearWhole(t.line, t.place).judgements)...)
	}
	return out, nil
}

// InCommon is inCommon, for the tests.
var InCommon = inCommon
