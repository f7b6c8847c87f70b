package folder_test

import (
	"strings"
	"testing"
	"testing/fstest"
)

// small is a site folder with a little of everything, for tests to spoil.
func small() fstest.MapFS {
	files := map[string]string{
		"site.yaml": `id: small
name: Small site
opened: 2026-01-05T09:00+00:00
entered_by: p1
grid: site grid
datum: site datum
zone: Europe/London
people:
  - id: p1
    name: A. Person
    roles:
      - role: officer
        from: 2026-01-05
  - id: p2
    name: B. Person
    roles:
      - role: surveyor
        from: 2026-01-05
`,
		"plan/2026-01-05.geojson": `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"code":"N1","kind":"monitoring point"},"geometry":{"type":"Point","coordinates":[1000,2000]}},
{"type":"Feature","properties":{"code":"GATE","kind":"gate"},"geometry":{"type":"Point","coordinates":[1100,2000]}},
{"type":"Feature","properties":{"code":"OUT1","kind":"discharge point"},"geometry":{"type":"Point","coordinates":[1200,2000]}}
]}
`,
		"plan/2026-01-05.yaml": "valid_from: 2026-01-05\ncoordinates: site grid\n",
		"permits/P-1.yaml": `permit: {reference: P/1, type: planning permission, issued_by: Some Council, granted: 2026-01-05, zone: Europe/London}
clauses:
  - {number: "1.10", text: "Not above 55 dB.", treated: judged}
conditions:
  - {clause: "1.10", kind: measured, subject: noise.laeq, place: N1, window: clock hour, statistic: energy mean, limit: <= 55 dB}
`,
		"registers/diary.csv": `at,until,places,act,text
2026-03-02T08:00+00:00,2026-03-02T12:00+00:00,GATE,noisy work,gate hung
2026-03-03,,,none,no work
`,
		"registers/tickets.csv": `id,at,places,number,direction,material,net [t]
T1,2026-03-02T09:12+00:00,GATE,T1,in,stone,18.40
T2,2026-03-02T10:05+00:00,GATE,T2,in,stone,19.10
`,
		"registers/samples.csv": `id,at,places,results
S1,2026-03-02T09:00+00:00,OUT1,"[{""determinand"":""tss"",""result"":""12"",""unit"":""mg/L""}]"
`,
		"readings/index.csv": `channel,quantity,place,deployment,unit,instrument,zone,mapping,file,column
N1-LAEQ,noise.laeq,N1,,dB,,Europe/London,n1,n1.csv,level
`,
		"readings/mappings/n1.yaml": "delimiter: \",\"\nheader_row: 1\ntime:\n  columns: [time]\n  stamp: begin\n  interval: 900\n",
		"readings/n1.csv":           "time,level\n2026-03-02 08:00:00,51.2\n2026-03-02 08:15:00,52.0\n2026-03-02 08:30:00,50.1\n2026-03-02 08:45:00,49.9\n",
		"surveys/index.csv":         "id,date,purpose,surveyor,file\nSV1,2026-02-02,pre-works,p2,SV1.csv\n",
		"surveys/SV1.csv":           "point,easting,northing,level\n1,1000,2000,10.00\n2,1010,2000,10.20\n3,1000,2010,10.10\n4,1010,2010,10.40\n",
	}
	out := fstest.MapFS{}
	for name, text := range files {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

// with returns the small site with one text in one file replaced; replacing
// nothing is a fault of the test.
func with(t testing.TB, name, old, new string) fstest.MapFS {
	t.Helper()
	fsys := small()
	if fsys[name] == nil {
		fsys[name] = &fstest.MapFile{Data: []byte(new)}
		return fsys
	}
	text := string(fsys[name].Data)
	if !strings.Contains(text, old) {
		t.Fatalf("%s does not hold %q", name, old)
	}
	fsys[name] = &fstest.MapFile{Data: []byte(strings.Replace(text, old, new, 1))}
	return fsys
}
