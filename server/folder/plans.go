package folder

import (
	"fmt"
	"path"
	"slices"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/geo/plan"
)

// planKeys are the keys of a plan's sidecar that are not fields of its entry.
var planKeys = []string{"valid_from", "entry"}

// readPlans reads the revisions of the site plan. Whether a plan is in the
// site's grid or in longitude and latitude is told beside it, never guessed.
func (l *loader) readPlans() {
	kind := l.kinds.Named("plan.1")
	for _, file := range l.names("plan", ".geojson", ".json") {
		n := l.sidecar(file)
		name := sidecarOf(file)
		if n == nil {
			if !l.exists(name) {
				l.say(file, 0, "", "nothing says which coordinates the plan holds", "put "+path.Base(name)+" beside it with coordinates: site grid (or wgs84) and valid_from: 2026-01-31")
			}
			continue
		}
		d := book.Draft{Kind: kind.Name, Source: file}
		from, err := parseMoment(n.word("valid_from"), l.site.Loc)
		if err != nil {
			l.say(name, lineOf(n, "valid_from"), "valid_from", "from which day the plan holds is missing or no date", "write valid_from: 2026-01-31")
			continue
		}
		l.day(&d, from)
		d.Body = l.yamlBody(name, n, kind, append(slices.Clone(planKeys), "file"))
		h, err := l.file(file)
		if err != nil {
			l.cause(file, 0, "", err)
			continue
		}
		d.Body["file"] = h.String()
		d.Files = []book.Hash{h}
		recorded := l.entryNode(name, n.get("entry"), &d)
		if d.ID == "" {
			d.ID = book.RowID(l.site.ID, kind.Name, file, path.Base(file))
		}
		l.checkPlan(file, d.Body.Text("coordinates"))
		l.add(d, file, 0, recorded)
	}
	l.strayFiles("plan", ".geojson", ".json", ".yaml")
}

// checkPlan reads the plan itself and learns its codes.
func (l *loader) checkPlan(file, coordinates string) {
	frame := map[string]plan.Frame{"site grid": plan.FrameSite, "wgs84": plan.FrameWGS84}[coordinates]
	r, err := l.fsys.Open(file)
	if err != nil {
		l.cause(file, 0, "", err)
		return
	}
	defer r.Close()
	features, err := plan.ReadFeatures(r, plan.Options{Name: file, Frame: frame})
	if err != nil {
		l.cause(file, 0, "", err)
		return
	}
	seen := map[string]bool{}
	for _, f := range features {
		switch {
		case f.Code == "":
			l.say(file, 0, "code", "a feature has no code", "give every feature a code of its own in its properties")
		case seen[f.Code]:
			l.say(file, 0, "code", f.Code+" stands on the plan twice", "a code names one feature for ever; give one of them another")
		case f.Kind == "":
			l.say(file, 0, "kind", f.Code+" has no kind", "say what it is in its properties, such as receptor or strip area")
		}
		seen[f.Code] = true
		l.codes[f.Code] = true
		for _, n := range f.Notes {
			l.notes = append(l.notes, Problem{File: file, Field: f.Code, Reason: n})
		}
	}
	l.overlappingStrips(file, features)
}

// stripArea is the kind of plan feature that soil is taken up from.
const stripArea = "strip area"

// overlappingStrips notes strip areas that cover the same ground: what is
// stripped there would be counted with both.
func (l *loader) overlappingStrips(file string, features []plan.Feature) {
	var names []string
	var areas []*plan.Polygon
	for _, f := range features {
		var rings orb.MultiPolygon
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			rings = orb.MultiPolygon{g.Clone()}
		case orb.MultiPolygon:
			rings = g.Clone()
		}
		if f.Kind != stripArea || f.Frame != plan.FrameSite || rings == nil {
			continue
		}
		p, err := plan.NewPolygon(rings, f.Code)
		if err != nil {
			l.cause(file, 0, "", err)
			continue
		}
		names, areas = append(names, f.Code), append(areas, p)
	}
	for _, o := range plan.Overlaps(names, areas) {
		l.notes = append(l.notes, Problem{File: file, Field: o.A + ", " + o.B,
			Reason: fmt.Sprintf("the strip areas overlap by %.2f m², at E %.2f N %.2f: what is stripped there counts with both", o.AreaM2, o.E, o.N), Remedy: "draw them side by side"})
	}
}

// strayFiles files what lies in a folder and is read by nothing.
func (l *loader) strayFiles(dir string, exts ...string) {
	for _, name := range l.names(dir, allBut(l, dir, exts)...) {
		l.say(name, 0, "", "nothing reads a file of this kind here", "move it to documents/ or remove it")
	}
}

func allBut(l *loader, dir string, exts []string) []string {
	var out []string
	for _, e := range l.extensions(dir) {
		if !slices.Contains(exts, e) && e != ".md" && e != ".txt" {
			out = append(out, e)
		}
	}
	return out
}
