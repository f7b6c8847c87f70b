package permit

import (
	"encoding/json"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// SchemaID names the JSON Schema of language number 1.
const SchemaID = "urn:swardbook:conditions:1"

// rules of a schema, as the JSON encoder takes them.
type rules = map[string]any

// Schema returns the JSON Schema (draft 2020-12) of the condition language: a
// notice with its clauses and conditions, with a description of every key. It
// tells an editor which keys and words there are; what a limit, a window or a
// date says inside its text, and what only makes sense together, Read and Check
// tell.
func Schema() []byte {
	text, _ := json.MarshalIndent(noticeSchema(), "", "  ") // of maps and strings
	return append(text, '\n')
}

// scalar is a value that is taken as typed.
func scalar(words string, examples ...any) rules {
	r := rules{"type": []string{"string", "number", "integer"}, "description": words}
	if len(examples) > 0 {
		r["examples"] = examples
	}
	return r
}

func oneOf[T ~string](words string, values ...T) rules {
	return rules{"type": "string", "enum": plain(values), "description": words}
}

func keys(words string, required []string, properties rules) rules {
	r := rules{"type": "object", "additionalProperties": false, "properties": properties, "description": words}
	if len(required) > 0 {
		r["required"] = required
	}
	return r
}

func listOf(words string, items rules) rules {
	return rules{"type": "array", "items": items, "description": words}
}

func either(words string, forms ...rules) rules {
	return rules{"anyOf": forms, "description": words}
}

func ref(name string) rules { return rules{"$ref": "#/$defs/" + name} }

func noticeSchema() rules {
	out := keys("A notice: every clause of the paper, and the conditions that are judged of them.", []string{"permit"}, rules{
		"language": scalar("number of the language", Language),
		"permit": keys("head of the notice", []string{"reference", "granted"}, rules{
			"reference": scalar("the authority's own reference"), "type": scalar("the document's own name", "planning permission"),
			"issued_by": scalar("who issued it"), "granted": scalar("date of the notice", "2026-01-12"),
			"revision": scalar("revision of an approved scheme", "B"), "zone": scalar("time zone by its IANA name; without it the site's", "Europe/London"),
			"holidays": scalar("id of the holiday list that the notice goes by"),
			"varies":   scalar("of a variation: reference of the notice it varies"), "effective": scalar("of a variation: its legal date", "2026-06-17"),
		}),
		"clauses": listOf("every clause, in the order of the paper", keys("a clause", []string{"number"}, rules{
			"number": scalar("as the paper numbers it", "14"), "text": scalar("as typed from the notice"),
			"treated":    oneOf("what becomes of it", Judged, Attested, Information, NotEntered),
			"role":       scalar("of an attested clause: the post that states it"),
			"checked_by": scalar("who compared the entry with the notice"),
		})),
		"conditions": listOf("what is judged of the clauses", ref("condition")),
		"removes":    either("of a variation: ids of conditions that end", scalar("one id"), listOf("ids", scalar("an id"))),
	})
	out["$schema"], out["$id"], out["title"] = "https://json-schema.org/draft/2020-12/schema", SchemaID, "Notice with its conditions"
	out["$defs"] = rules{"condition": conditionSchema(), "happening": happeningSchema(), "slots": slotsSchema()}
	return out
}

func conditionSchema() rules {
	properties := rules{}
	for _, group := range []rules{commonSchema(), valueSchema(), actSchema()} {
		for key, r := range group {
			properties[key] = r
		}
	}
	out := keys("A condition: what is judged of a clause.", []string{"clause", "kind"}, properties)
	var each []rules
	for _, k := range ofKind {
		names := append(append([]string{}, commonKeys...), k.keys...)
		each = append(each, rules{
			"if":   rules{"properties": rules{"kind": rules{"const": string(k.kind)}}},
			"then": rules{"propertyNames": rules{"enum": names}},
		})
	}
	out["allOf"] = each
	return out
}

// commonSchema are the keys of a condition of any kind.
func commonSchema() rules {
	codes := either("codes of features", scalar("a code"), listOf("codes", scalar("a code")))
	place := rules{"buffer": scalar("distance around them", "10 m")}
	for _, m := range []PlaceMode{WholeSite, Each, Any, MeanOf} {
		place[string(m)] = codes
	}
	return rules{
		"id": scalar("its name in the notice; the clause's number, with a letter where there are several"), "clause": scalar("number of the clause it is judged of"),
		"title": scalar("a few words"), "kind": oneOf("kind of condition", kindWords()...),
		"place":       either("where it holds", scalar("a feature's code, or whole site", "NSR1", string(WholeSite)), keys("several places, and how they are taken", nil, place)),
		"schedule":    either("hours in which it holds; at all times when left out", ref("slots"), keys("all other hours", []string{"complement of"}, rules{"complement of": ref("slots")})),
		"edge":        oneOf("a window that lies partly outside the hours", WholeWindows, CutAtEdge),
		"severity":    oneOf("what passing it means", AsLimit, AsBenchmark, AsActionLevel, AsInformation),
		"missing":     oneOf("what a gap is", CannotBeJudged, GapIsBreach, NotDone, CountGoesOn),
		"straddle":    oneOf("a window in which a variation falls", AtStart, SplitWindow, ByOwnTime),
		"evidence":    either("documents wanted", scalar("a document"), listOf("documents", scalar("a document"))),
		"in place of": scalar("id of the condition it replaces while it applies"), "from": scalar("in force from", "2026-02-01"),
		"to": scalar("in force until, that day not included"), "phase": scalar("only while this phase of the works runs"),
	}
}

// valueSchema are the keys of what is compared with a limit.
func valueSchema() rules {
	points := listOf("corners", rules{"type": "array", "items": scalar("a number"), "minItems": 2, "maxItems": 2})
	limit := either("one limit", scalar("a comparison", "<= 55 dB", "between 6 and 9 pH", "background NSR1-BG + 10 dB, floor 45, cap 55", "<= 10 NTU above UP1", ">= 95 % of soil.stripped"),
		keys("a limit along a curve", []string{"curve"}, rules{"curve": points, "compare": scalar("<= when left out"), "unit": scalar("unit of the limit"),
			"along": oneOf("what the curve runs along", Frequency, Distance)}))
	line := rules{"type": "array", "items": scalar("a number"), "minItems": 3, "maxItems": 3, "description": "from, to, allowed"}
	return rules{
		"subject": scalar("quantity it is about", "noise.laeq"), "basis": scalar("free field, façade, dissolved …"),
		"with":   rules{"type": "object", "additionalProperties": scalar("a word"), "description": "further words that the quantity knows, such as act or over"},
		"window": scalar("stretch that one value is of", "clock hour", "15 minutes", "local day", "day from 09:00", "instant", "event", "shift 19:00-07:00", "week from monday", "calendar month", "quarter", "calendar year", "rolling 12 months", "whole life"),
		"statistic": either("from readings to the value of a window", oneOf("a statistic", statistics...),
			rules{"type": "string", "pattern": `^(percentile [0-9.]+|energy mean over .+|lower bound [0-9.]+)$`, "examples": []any{"percentile 90", "energy mean over 11 h", "lower bound 90"}, "description": "a statistic with its number"}),
		"rule": either("from windows to a verdict; each by itself when left out", scalar("a rule", "every", "at most 35 per calendar year", "at most 5 % per rolling 12 months", "at least 9 of 10", "mean per calendar month", "last"),
			keys("so many of so many may be over", []string{"look-up table", "per"}, rules{"look-up table": listOf("the table of the notice", line), "per": scalar("period", "calendar year")})),
		"limit":        either("what it is compared with", limit, listOf("several limits", limit)),
		"join":         oneOf("how several limits go together", AllOf, AnyOf),
		"action_level": limit,
		"rounding":     scalar("before comparing; none when left out", string(Unrounded), string(ToLimitDecimals), "to 0.1"),
		"nondetects":   oneOf("what a less-than result counts as", Bracket, AsZero, AsHalf, AsFull, Estimated),
		"coverage": either("share of valid data that a window needs", scalar("a share", "75 %"), keys("what is needed", nil, rules{
			"window": scalar("of each window", "75 %"), "per": scalar("of the windows of a period", "90 %"), "least windows": scalar("fewest windows of a period"), "spacing": scalar("least time between samples", "24 h")})),
		"monitoring": keys("the duty to measure, judged apart", nil, rules{"every": scalar("a result in each", "calendar month"), "windows": scalar("share of windows measured", "100 %")}),
		"quota":      keys("applies on declared days only, and to so many", []string{"days", "per", "act"}, rules{"days": scalar("how many"), "per": scalar("period", "rolling 12 months"), "act": scalar("the act that is declared")}),
	}
}

// actSchema are the keys of what has to happen.
func actSchema() rules {
	return rules{
		"first": ref("happening"), "then": ref("happening"), "done": ref("happening"),
		"good_for": scalar("how long first holds good; for ever when left out", "48 hours"),
		"role":     scalar("the post that states it"),
		"deadline": either("by when", scalar("a date", "by 2026-05-01"), keys("a term", nil, rules{
			"by": scalar("a date"), "within": scalar("a length", "28 days", "5 working days", "3 months"),
			"of": either("what it counts from", oneOf("a fixed point", Grant, WindowEnd), ref("happening"),
				keys("the first time something happens", []string{string(FirstHappening)}, rules{string(FirstHappening): ref("happening")})),
			"before":    rules{"type": []string{"boolean", "string"}, "description": "before it, not after"},
			"counting":  oneOf("which days count", After, BeginningWith, ClearDays),
			"roll":      oneOf("a last day that is no working day", NoRoll, NextWorking, PrevWorking),
			"whichever": oneOf("of by and within", "earlier", "later"),
		})),
	}
}

func happeningSchema() rules {
	return keys("something in the record", []string{"subject"}, rules{
		"subject": scalar("a quantity", "site.act", "site.paper"),
		"with":    rules{"type": "object", "additionalProperties": scalar("a word"), "description": "further words, such as act, scheme or stage"},
		"place":   scalar("where it is not the condition's own"),
	})
}

func slotsSchema() rules {
	return listOf("hours", keys("a slot; an end at or before its start runs over midnight", []string{"from", "to"}, rules{
		"days": scalar("days of the week", "mon-fri", "sat", "every day", "mon,wed-fri"), "from": scalar("wall clock", "07:00"), "to": scalar("wall clock", "19:00"),
		"first": scalar("first date, included"), "last": scalar("last date, included"),
		"holidays": oneOf("on the days of the holiday list", calendar.Closed, calendar.Ignored, calendar.Only),
	}))
}
