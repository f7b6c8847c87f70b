package permit

import (
	"strings"
	"testing"
)

// TestSentence holds the wordings that no archetype uses; those of the
// archetypes stand in testdata/sentences.txt.
func TestSentence(t *testing.T) {
	q := quantities(t)
	volume := "clause: \"1\"\nkind: measured\nsubject: water.volume\nplace: OUT1\nwindow: local day\nstatistic: sum\nlimit: <= 100 m³\n"
	dated := "clause: \"1\"\nkind: dated\ndone: {subject: site.act, with: {act: seed}}\n"
	for _, c := range []struct{ name, body, want string }{
		{"whole site", with(volume, "place", "whole site"), "On the whole site, the sum of volume of water on each local day must be no more than 100 m³."},
		{"any of several places", with(volume, "place", "{any: [A, B]}"), "At any of A and B, the sum of"},
		{"mean of places with a distance", with(volume, "place", "{mean: [A, B], buffer: 5 m}"), "At the mean of A and B and within 5 m of it, the sum of"},
		{"mean", with(volume, "statistic", "flow-weighted mean"), "At OUT1, the flow-weighted mean of volume of water on"},
		{"percentile", with(volume, "statistic", "percentile 90"), "the 90th percentile of volume of water"},
		{"median", with(volume, "statistic", "median"), "the median of volume of water"},
		{"lowest and highest", with(volume, "statistic", "min"), "the lowest value of volume of water"},
		{"change", with(volume, "statistic", "difference"), "the change in volume of water from beginning to end on each local day"},
		{"duration", "clause: \"1\"\nkind: measured\nsubject: site.act\nwith: {act: noisy work}\nplace: NSR1\nwindow: local day\nstatistic: duration\nlimit: <= 2 h\n", "the time taken by work on site (noisy work) on each local day must be no more than 2 h."},
		{"share", with(volume, "statistic", "share"), "the share of volume of water"},
		{"minutes", with(volume, "window", "15 minutes"), "in each 15 minutes by the clock"},
		{"UTC day", with(volume, "window", "UTC day"), "in each 24 hours from 00:00 UTC"},
		{"28 days", with(volume, "window", "28 days from 2026-01-05"), "in each 28 days counted from 5 January 2026"},
		{"rolling hour", with(volume, "window", "rolling hour"), "in any 60 minutes"},
		{"rolling day", with(volume, "window", "rolling 1 day"), "in any one day, whenever it begins"},
		{"whole life", with(volume, "window", "whole life"), "over the whole time the condition stands"},
		{"less than", with(volume, "limit", "< 5 m³"), "must be less than 5 m³."},
		{"at least, with its decimals", with(volume, "limit", "≥ 55.0 m³"), "must be at least 55.0 m³."},
		{"more than", with(volume, "limit", "more than 5 m³"), "must be more than 5 m³."},
		{"exactly", with(volume, "limit", "= 0 m³"), "must be exactly 0 m³."},
		{"between, one end", with(volume, "limit", "between 6 and 9 m³, low end excluded"), "must lie between 6 and 9 m³, the low end excluded."},
		{"between, the other", with(volume, "limit", "between 6 and 9 m³, high end excluded"), "must lie between 6 and 9 m³, the high end excluded."},
		{"between, neither", with(volume, "limit", "between 6 and 9 m³, both ends excluded"), "must lie between 6 and 9 m³, both ends excluded."},
		{"either", with(with(volume, "limit", "[< 6 m³, more than 9 m³]"), "join", "any of"), "must either be less than 6 m³ or be more than 9 m³."},
		{"below another place", with(volume, "limit", "≥ 2 m³ below UP1"), "must be at least 2 m³ below that at UP1."},
		{"above a surface", with(volume, "limit", "<= 3 m above surface pre-works"), "must be no more than 3 m above surface pre-works."},
		{"share of another", with(volume, "limit", "≥ 95 % of soil.mound_volume"), "must be at least 95 % of mound volume."},
		{"background less, with a floor", with(noise, "limit", "background BG - 5 dB, floor 45"), "must be no more than the background BG less 5 dB, the sum taken as no lower than 45 dB."},
		{"background with a cap", with(noise, "limit", "background BG + 10 dB, cap 55"), "plus 10 dB, the sum taken as no higher than 55 dB."},
		{"curve by distance", with(volume, "limit", "{curve: [[10, 5], [20, 8]], unit: m³, along: distance}"), "must be no more than the line by distance through 5 m³ at 10 m and 8 m³ at 20 m, straight between and level beyond the ends."},
		{"last", with(volume, "rule", "last"), "the sum of volume of water on each local day, of which the latest counts, must be"},
		{"information", with(with(volume, "limit", ""), "severity", "information"), "the sum of volume of water on each local day is worked out for information; nothing is judged."},
		{"benchmark", with(volume, "severity", "benchmark"), "should be no more than 100 m³. This is a benchmark: beyond it action is due, but it is no breach in itself."},
		{"cut at the edge", with(with(volume, "schedule", "[{days: mon, from: 09:00, to: 10:00}]"), "edge", "cut"), "on each local day, Monday 09:00 to 10:00 but not on holidays, must be no more than 100 m³. A window partly outside the hours is cut at their edge."},
		{"on holidays alone", with(volume, "schedule", "[{from: 09:00, to: 10:00, holidays: only}]"), ", on holidays 09:00 to 10:00, must"},
		{"at all other times", with(volume, "schedule", "{complement of: [{days: mon-fri, from: 09:00, to: 10:00}, {days: \"sat,sun\", from: 00:00, to: 24:00, holidays: ignored}]}"),
			"at all times other than Monday to Friday 09:00 to 10:00 but not on holidays; and Saturday and Sunday all day, holidays included,"},
		{"dates open on one side", with(volume, "schedule", "[{days: every day, from: 22:00, to: 06:00, first: 2026-04-01}, {days: every day, from: 22:00, to: 06:00, last: 2026-09-30}]"),
			"every day 22:00 to 06:00 the next day from 1 April 2026 and every day 22:00 to 06:00 the next day to 30 September 2026 but not on holidays"},
		{"rounding to the limit", with(volume, "rounding", "to the limit's decimals"), "Values are rounded to the decimals of the limit before they are compared."},
		{"less-thans", with(volume, "nondetects", "zero"), "A less-than result counts as zero."},
		{"less-thans in full", with(volume, "nondetects", "full"), "A less-than result counts as its full figure."},
		{"less-thans estimated", with(with(volume, "nondetects", "estimate"), "with", "{estimate: order statistics}"), "Less-than results are estimated as order statistics."},
		{"duty in part", with(volume, "monitoring", "{windows: 90 %}"), "Apart from the limit, at least 90 % of the days due must be measured."},
		{"split", with(volume, "straddle", "split at the change"), "A window in which the condition is varied is split at the change."},
		{"force, a date in summer", with(with(volume, "from", "2026-06-17"), "to", "2026-12-01"), "In force from the start of 17 June 2026 until the start of 1 December 2026."},
		{"force, an instant", with(volume, "from", "2026-06-17T06:30:00Z"), "In force from 07:30 on 17 June 2026 (+01:00)."},
		{"phase with force", with(with(volume, "from", "2026-02-01"), "phase", "strip"), "In force from the start of 1 February 2026 only while the phase strip runs."},
		{"in place of alone", with(volume, "in place of", "2"), "While it applies it stands in place of condition 2."},
		{"unknown quantity", with(volume, "subject", "water.colour-index"), "the sum of water colour index on"},
		{"by a date", with(dated, "deadline", "by 2026-05-01"), "Work on site (seed) must be done by the end of 1 May 2026. Until the record shows it, it is taken as not done."},
		{"later of two, rolled", with(dated, "deadline", "{by: 2026-05-01, within: 1 month, of: grant, whichever: later, roll: next working day}"),
			"must be done by the end of 1 May 2026 or no later than 1 month after the notice was granted, that day not counted, whichever is later; a last day that is no working day moves to the next working day."},
		{"hours", with(dated, "deadline", "{within: 24 hours, of: {subject: site.act, place: GATE}}"), "no later than 24 hours after work on site at GATE, each by itself."},
		{"beginning with", with(dated, "deadline", "{within: 28 days, of: {first: {subject: site.paper, with: {scheme: plan, stage: approved, revision: B}}}, counting: beginning with}"),
			"no later than 28 days after the first of the stage “approved” of plan, revision B, that day being the first counted."},
		{"silence", with(with(dated, "deadline", "by 2026-05-01"), "missing", "cannot be judged"), "Where the record is silent it cannot be judged."},
		{"acts only at a place", "clause: \"1\"\nkind: interval\nsubject: site.act\nwith: {act: refuel}\nplace: PAD\nseverity: benchmark\n", "Work on site (refuel) should take place only at PAD."},
		{"present at all times", "clause: \"1\"\nkind: present\ndone: {subject: site.paper, with: {scheme: plan, stage: approved}}\n", "The stage “approved” of plan must be on file."},
		{"attested as to something", "clause: \"1\"\nkind: attested\nrole: ecologist\nsubject: site.act\nwith: {act: clear}\nplace: HEDGE1\n", "At HEDGE1, the ecologist states that clause 1 is kept as to work on site (clear)."},
		{"a name like pH begins a sentence", "clause: \"1\"\nkind: interval\nsubject: water.ph\nschedule: [{days: mon, from: 09:00, to: 10:00}]\n", "pH may take place only"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Sentence(mustRead(t, oneClause(c.body)).Conditions[0], q)
			if !strings.Contains(got, c.want) {
				t.Errorf("want %s\ngot  %s", c.want, got)
			}
		})
	}
}
