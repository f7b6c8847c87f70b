package catalogue

import (
	"bufio"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/inspection"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

func mustQuantities(t *testing.T) *quantity.List {
	t.Helper()
	l, err := Quantities()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

var codeForm = regexp.MustCompile(`^[a-z]+\.[a-z][a-z0-9_]*$`)

func TestQuantitiesAreSound(t *testing.T) {
	for _, q := range mustQuantities(t).All() {
		t.Run(q.Code, func(t *testing.T) {
			if !codeForm.MatchString(q.Code) || q.Title == "" {
				t.Error("the code is not subject.name, or the title is missing")
			}
			if _, known := unit.Lookup(q.Unit); !known {
				t.Errorf("unit %q is not known", q.Unit)
			}
			if (q.Form == quantity.Series) != (q.Observe == nil) {
				t.Error("readings of channels are not observed by the quantity; everything else is")
			}
			if q.Decibel != strings.HasPrefix(q.Unit, "dB") {
				t.Error("a level in dB is one for averaging too, and nothing else is")
			}
			if q.NotBelow != nil && *q.NotBelow != 0 {
				t.Errorf("the least possible value is %v; every one of ours is 0", *q.NotBelow)
			}
			if q.Caution != "" && Caution(q.Caution) == "" {
				t.Errorf("there is no caution %q", q.Caution)
			}
		})
	}
}

// uncautioned are the quantities that belong to no family of figures with a
// caution of its own: rain and air temperature.
var uncautioned = []string{"weather.rain", "weather.temperature"}

func TestEveryFigureCarriesItsCaution(t *testing.T) {
	want := map[string]string{
		"noise.laeq": "receptors", "noise.lafmax": "receptors", "dust.pm10": "receptors", "vibration.ppv": "vibration", "vibration.airblast": "blast",
		"weather.wind": "wind", "water.flow": "discharge", "water.discharge_volume": "discharge", "water.level": "shaft", "water.ph": "high-ph",
		"water.tss": "river", "soil.mound_height": "mound", "soil.mound_slope": "mound", "soil.mound_volume": "mound", "soil.stripped_area": "levels",
		"restoration.level_difference": "levels", "haulage.tonnes": "vehicle", "plant.run_hours": "generator", "site.act": "verdict", "site.paper": "verdict",
	}
	list := mustQuantities(t)
	for _, q := range list.All() {
		if (q.Caution == "") != slices.Contains(uncautioned, q.Code) {
			t.Errorf("%s carries the caution %q", q.Code, q.Caution)
		}
	}
	for code, key := range want {
		if q := list.Named(code); q == nil || q.Caution != key {
			t.Errorf("%s does not carry the caution %s", code, key)
		}
	}
}

// families are the figures that must have a caution; one line each.
const families = `blast charge
vibration at buildings
noise and dust at receptors
predicted noise
mounds, spoil
levels, sections
casing displacement
shaft depth
water discharge rate
pH, cement
river and outfall
generator
bund capacity
vehicle
wind
weed treatment
trees, nests
every form
every verdict`

func TestCautionsCoverEveryFamily(t *testing.T) {
	keys := CautionKeys()
	lines := bufio.NewScanner(strings.NewReader(families))
	n := 0
	for lines.Scan() {
		n++
		family := lines.Text()
		if !slices.ContainsFunc(keys, func(k string) bool { return strings.Contains(CautionFigures(k), family) }) {
			t.Errorf("no caution goes with %s", family)
		}
	}
	if n != len(keys) {
		t.Errorf("%d families and %d cautions", n, len(keys))
	}
	seen := map[string]bool{}
	for _, k := range keys {
		text := Caution(k)
		if seen[k] || len(text) < 20 || len(text) > 160 || !strings.HasSuffix(text, ".") {
			t.Errorf("caution %s stands twice, or is no short sentence: %q", k, text)
		}
		seen[k] = true
	}
	if Caution("no such key") != "" || CautionFigures("no such key") != "" {
		t.Error("an unknown key has a caution")
	}
}

func TestChecklists(t *testing.T) {
	lists := Checklists()
	if len(lists) < 3 {
		t.Fatalf("%d checklists, where three at least belong", len(lists))
	}
	seen := map[string]bool{}
	for _, c := range lists {
		if seen[c.ID] || c.ID == "" || c.Title == "" || len(c.Items) < 5 {
			t.Errorf("checklist %q stands twice or is too thin", c.ID)
		}
		seen[c.ID] = true
		if named := inspection.ChecklistNamed(c.ID); named == nil || named.Title != c.Title {
			t.Errorf("checklist %s is not found by its id", c.ID)
		}
		items := map[string]bool{}
		for _, it := range c.Items {
			if items[it.ID] || it.ID == "" || it.Text == "" || !c.Has(it.ID) {
				t.Errorf("item %s of %s stands twice or is blank", it.ID, c.ID)
			}
			items[it.ID] = true
		}
	}
	if inspection.ChecklistNamed("none") != nil {
		t.Error("a checklist is found that is not there")
	}
}

func TestActs(t *testing.T) {
	// The closed list of acts that conditions may be triggered by.
	for _, name := range strings.Fields("commencement strip store blast discharge dewater haul pour refuel clear light cease restore seed complete") {
		if !act.Known(name) {
			t.Errorf("act %s is missing", name)
		}
	}
	if act.Known(act.None) || act.Known(act.AllWorks) || act.Known("digging") {
		t.Error("something is taken for an act that is none")
	}
}
