package permit

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

func london(t testing.TB) *time.Location {
	t.Helper()
	loc, err := calendar.LoadZone("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// granted and varied make small notices: conditions are "id", "id<=50",
// "id from 2026-08-01", "id to 2026-08-01" or "id action 45".
func granted(t testing.TB, reference string, conditions ...string) *Notice {
	return notice(t, "reference: "+reference+", granted: 2026-01-12", "", conditions)
}

func varied(t testing.TB, reference, varies, effective, removes string, conditions ...string) *Notice {
	return notice(t, fmt.Sprintf("reference: %s, granted: 2026-01-20, varies: %s, effective: %s", reference, varies, effective), removes, conditions)
}

func notice(t testing.TB, head, removes string, conditions []string) *Notice {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "permit: {%s, zone: Europe/London}\n", head)
	if len(conditions) > 0 {
		b.WriteString("conditions:\n")
	}
	for _, c := range conditions {
		id, rest, _ := strings.Cut(c, " ")
		limit, extra := "55", ""
		words := strings.Fields(rest)
		for i := 0; i+1 < len(words); i += 2 {
			switch words[i] {
			case "limit":
				limit = words[i+1]
			case "action":
				extra += ", action_level: " + words[i+1] + " dB"
			default:
				extra += fmt.Sprintf(", %s: %s", words[i], words[i+1])
			}
		}
		fmt.Fprintf(&b, "  - {id: %s, clause: \"14\", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= %s dB%s}\n", id, limit, extra)
	}
	if removes != "" {
		fmt.Fprintf(&b, "removes: [%s]\n", removes)
	}
	return mustRead(t, b.String())
}

func TestInForce(t *testing.T) {
	loc := london(t)
	for _, c := range []struct {
		name    string
		notices []*Notice
		want    string
	}{
		{
			// Reference example X7: 55 until varied to 50 from Wednesday 17 June
			// 2026, 00:00 local, which is 23:00 UTC the day before.
			"a limit varied from a legal date",
			[]*Notice{granted(t, "A", "14"), varied(t, "B", "A", "2026-06-17", "", "14 limit 50")},
			"A/14 in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/14 in B <= 50 dB 2026-06-16T23:00Z",
		},
		{
			"one added, one removed, one left",
			[]*Notice{granted(t, "A", "a", "b"), varied(t, "B", "A", "2026-06-17", "b", "c")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z\nA/b in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/c in B <= 55 dB 2026-06-16T23:00Z",
		},
		{
			"an action level ends with its condition",
			[]*Notice{granted(t, "A", "a action 53"), varied(t, "B", "A", "2026-06-17", "", "a limit 50")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a in B <= 50 dB 2026-06-16T23:00Z\nA/a/action in A <= 53 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z",
		},
		{
			"an action level anew",
			[]*Notice{granted(t, "A", "a action 53"), varied(t, "B", "A", "2026-06-17", "", "a limit 50 action 48")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a in B <= 50 dB 2026-06-16T23:00Z\n" +
				"A/a/action in A <= 53 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a/action in B <= 48 dB 2026-06-16T23:00Z",
		},
		{
			"a variation of a variation belongs to the first notice",
			[]*Notice{granted(t, "A", "a"), varied(t, "C", "B", "2026-08-01", "", "a limit 45"), varied(t, "B", "A", "2026-06-17", "", "a limit 50")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a in B <= 50 dB 2026-06-16T23:00Z to 2026-07-31T23:00Z\nA/a in C <= 45 dB 2026-07-31T23:00Z",
		},
		{
			"of two of one date the later in the list prevails",
			[]*Notice{granted(t, "A", "a"), varied(t, "B", "A", "2026-06-17", "", "a limit 50"), varied(t, "C", "A", "2026-06-17", "", "a limit 45")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a in C <= 45 dB 2026-06-16T23:00Z",
		},
		{
			"its own from and to bound a version",
			[]*Notice{granted(t, "A", "a from 2026-02-01 to 2026-12-01"), varied(t, "B", "A", "2026-06-17", "", "a limit 50 from 2026-08-01 to 2026-12-01")},
			"A/a in A <= 55 dB 2026-02-01T00:00Z to 2026-06-16T23:00Z\nA/a in B <= 50 dB 2026-07-31T23:00Z to 2026-12-01T00:00Z",
		},
		{
			"what had ended before a variation keeps its end",
			[]*Notice{granted(t, "A", "a to 2026-03-01"), varied(t, "B", "A", "2026-06-17", "a")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-03-01T00:00Z",
		},
		{
			"what had not begun before a variation never does",
			[]*Notice{granted(t, "A", "a from 2026-09-01"), varied(t, "B", "A", "2026-06-17", "a")},
			"",
		},
		{
			"removed and brought back",
			[]*Notice{granted(t, "A", "a"), varied(t, "B", "A", "2026-06-17", "a"), varied(t, "C", "A", "2026-08-01", "", "a limit 60")},
			"A/a in A <= 55 dB 2026-01-12T00:00Z to 2026-06-16T23:00Z\nA/a in C <= 60 dB 2026-07-31T23:00Z",
		},
		{
			"notices stand by themselves, in the order given",
			[]*Notice{granted(t, "Z", "a"), granted(t, "A", "a")},
			"Z/a in Z <= 55 dB 2026-01-12T00:00Z\nA/a in A <= 55 dB 2026-01-12T00:00Z",
		},
		{
			"a variation of what is not on file stands by itself",
			[]*Notice{varied(t, "B", "A", "2026-06-17", "", "a")},
			"B/a in B <= 55 dB 2026-06-16T23:00Z",
		},
		{
			"variations in a ring stand by themselves",
			[]*Notice{varied(t, "A", "B", "2026-06-17", "", "a"), varied(t, "B", "A", "2026-06-17", "", "a")},
			"A/a in A <= 55 dB 2026-06-16T23:00Z\nB/a in B <= 55 dB 2026-06-16T23:00Z",
		},
		{"nothing", nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, v := range InForce(c.notices, time.UTC) {
				line := fmt.Sprintf("%s/%s in %s %s %s", v.Permit, v.Condition.ID, v.Notice, v.Condition.Limits[0], v.From.UTC().Format("2006-01-02T15:04Z"))
				if !v.To.IsZero() {
					line += " to " + v.To.UTC().Format("2006-01-02T15:04Z")
				}
				got = append(got, line)
				if v.Zone != loc || v.In.Reference != v.Notice {
					t.Errorf("version in zone %v of notice %s", v.Zone, v.In.Reference)
				}
			}
			if s := strings.Join(got, "\n"); s != c.want {
				t.Errorf("want\n%s\ngot\n%s", c.want, s)
			}
		})
	}
}

func TestInForceInTheSitesZone(t *testing.T) {
	n := mustRead(t, "permit: {reference: A, granted: 2026-06-12}\nconditions: [{clause: \"1\", kind: present, done: {subject: site.paper}}]")
	loc := london(t)
	v := InForce([]*Notice{n}, loc)
	if len(v) != 1 || v[0].Zone != loc || !v[0].From.Equal(time.Date(2026, 6, 11, 23, 0, 0, 0, time.UTC)) {
		t.Errorf("got %+v", v)
	}
}

func TestAccounted(t *testing.T) {
	n := mustRead(t, `permit: {reference: A, granted: 2026-01-12}
clauses:
  - {number: "1", text: one, treated: judged}
  - {number: "2", text: two, treated: attested, role: site manager}
  - {number: "3", text: three, treated: information}
  - {number: "4", treated: not yet entered}
  - {number: "5"}
`)
	if total, accounted := Accounted(n); total != 5 || accounted != 3 {
		t.Errorf("clauses %d, accounted for %d; want 5 and 3", total, accounted)
	}
}

func TestCheckTogether(t *testing.T) {
	clause := func(n *Notice) *Notice {
		n.Clauses = []Clause{{Number: "14", Treated: Judged}}
		return n
	}
	for _, c := range []struct {
		name    string
		notices []*Notice
		want    []string
	}{
		{"in order", []*Notice{clause(granted(t, "A", "a")), varied(t, "B", "A", "2026-06-17", "a", "b")}, nil},
		{"a reference twice", []*Notice{clause(granted(t, "A", "a")), clause(granted(t, "A", "a"))}, []string{"1:21: permit.reference: another notice has the reference A"}},
		{"varies what is not on file", []*Notice{clause(varied(t, "B", "A", "2026-06-17", "", "a"))}, []string{"permit.varies: the notice A is not on file"}},
		{"removes what is not there", []*Notice{clause(granted(t, "A", "a")), varied(t, "B", "A", "2026-06-17", "z")}, []string{"2:10: removes: there is no condition z to remove"}},
		{"a clause nobody lists", []*Notice{granted(t, "A"), varied(t, "B", "A", "2026-06-17", "", "a")}, []string{"conditions[0].clause: clause 14 is listed neither here nor in what this varies"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := CheckTogether(c.notices)
			if len(faults) != len(c.want) {
				t.Fatalf("got %v", faults)
			}
			for i, w := range c.want {
				if !strings.Contains(faults[i].Error(), w) {
					t.Errorf("got %s, want %s", faults[i], w)
				}
			}
		})
	}
}
