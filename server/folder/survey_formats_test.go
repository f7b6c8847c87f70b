package folder_test

import (
	"strings"
	"testing"
	"testing/fstest"
)

const twoSurfaces = `<LandXML><Units><Metric linearUnit="meter"/></Units><Surfaces>
<Surface name="before"><Definition surfType="TIN"><Pnts><P id="1">2000 1000 10</P><P id="2">2000 1010 10</P><P id="3">2010 1000 10</P></Pnts><Faces><F>1 2 3</F></Faces></Definition></Surface>
<Surface name="after"><Definition surfType="TIN"><Pnts><P id="1">2000 1000 11</P><P id="2">2000 1010 11</P><P id="3">2010 1000 11</P><P id="4">2010 1010 11</P></Pnts><Faces><F>1 2 3</F><F>2 4 3</F></Faces></Definition></Surface>
</Surfaces></LandXML>
`

func withSurvey(t *testing.T, decisions string) fstest.MapFS {
	t.Helper()
	fsys := small()
	fsys["surveys/index.csv"] = &fstest.MapFile{Data: []byte("id,date,purpose,surveyor,file,decisions\nSV1,2026-02-02,pre-works,p2,SV1.xml," + decisions + "\n")}
	fsys["surveys/SV1.xml"] = &fstest.MapFile{Data: []byte(twoSurfaces)}
	delete(fsys, "surveys/SV1.csv")
	return fsys
}

// The entry keeps which surface of the file it is, and goes out as it came in.
func TestSurveyOfOneSurfaceAmongSeveral(t *testing.T) {
	fsys := withSurvey(t, `"[{""row"":0,""decision"":""surface: after"",""why"":""as restored""}]"`)
	c := read(t, fsys)
	found := false
	for _, d := range c.Drafts {
		if d.Kind == "survey.1" {
			found = true
			if n := d.Body.Integer("points"); n != 4 {
				t.Errorf("%d points, want the 4 of the surface named", n)
			}
		}
	}
	if !found {
		t.Fatal("no survey was read")
	}
}

func TestSurveyDecisionsAreChecked(t *testing.T) {
	for name, c := range map[string][2]string{
		"no choice among surfaces": {"", "before, after"},
		"a surface not there":      {`"[{""row"":0,""decision"":""surface: design"",""why"":""x""}]"`, `no surface is called "design"`},
		"an unknown word":          {`"[{""row"":0,""decision"":""colour: red"",""why"":""x""}]"`, "colour: red"},
		"an unknown unit":          {`"[{""row"":0,""decision"":""unit: rod"",""why"":""x""}]"`, "the unit is m"},
	} {
		var all []string
		for _, p := range problems(t, withSurvey(t, c[0])) {
			all = append(all, p.String())
		}
		if !strings.Contains(strings.Join(all, "\n"), c[1]) {
			t.Errorf("%s: no problem says %q: %q", name, c[1], all)
		}
	}
}
