package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const geoReference = "../../testdata/reference/geo/"

// call runs one of the two ground commands.
func call(t *testing.T, stdin string, args ...string) (code int, out, errText string) {
	t.Helper()
	run := map[string]func([]string, *strings.Reader, *bytes.Buffer, *bytes.Buffer) int{
		"volume": func(a []string, in *strings.Reader, o, e *bytes.Buffer) int { return runVolume(a, in, o, e) },
		"levels": func(a []string, in *strings.Reader, o, e *bytes.Buffer) int { return runLevels(a, in, o, e) },
	}[args[0]]
	var stdout, stderr bytes.Buffer
	code = run(args[1:], strings.NewReader(stdin), &stdout, &stderr)
	return code, stdout.String(), stderr.String()
}

// file writes a file for one test and returns its path.
func file(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

var jsonKeys = []string{"fill_m3", "cut_m3", "net_m3", "fill_area_m2", "cut_area_m2", "plan_area_m2", "max_above_m", "max_below_m", "mean_m", "rms_m", "within_area_m2", "within_share", "doubtful_area_m2", "warnings"}

// Expected figures: testdata/reference/geo/README.md.
func TestGroundFigures(t *testing.T) {
	t4 := []string{"--from", geoReference + "t4_pre.csv", "--to", geoReference + "t4_post.csv"}
	flat := file(t, "flat.csv", "point,easting,northing,level\n1,430000,310000,101\n2,430100,310000,101\n3,430100,310080,101\n4,430000,310080,101\n")
	foot := file(t, "foot.geojson", `{"type":"Polygon","coordinates":[[[430100,310100],[430140,310100],[430140,310130],[430100,310130],[430100,310100]]]}`)
	footLevels := file(t, "foot3.geojson", `{"type":"Polygon","coordinates":[[[430100,310100,49],[430140,310100,49],[430140,310130,49],[430100,310130,49],[430100,310100,49]]]}`)
	stockpile := []string{"--from", geoReference + "t2_stockpile_points.csv", "--breaklines", geoReference + "t2_stockpile_breaklines.csv"}
	tests := []struct {
		name string
		args []string
		want map[string]float64
	}{
		{"plane to a level survey", []string{"volume", "--from", geoReference + "t1_plane.csv", "--to", flat},
			map[string]float64{"fill_m3": 12080.0 / 3, "cut_m3": 2480.0 / 3, "net_m3": 3200, "fill_area_m2": 5600, "cut_area_m2": 2400, "max_above_m": 1.8, "max_below_m": 1}},
		{"plane over a level", []string{"volume", "--from", geoReference + "t1_plane.csv", "--base", "level:101"},
			map[string]float64{"fill_m3": 2480.0 / 3, "cut_m3": 12080.0 / 3, "net_m3": -3200, "max_above_m": 1, "max_below_m": 1.8}},
		{"stockpile over a level", append([]string{"volume", "--base", "level:50"}, stockpile...), map[string]float64{"fill_m3": 3800, "cut_m3": 0, "plan_area_m2": 1200, "max_above_m": 6}},
		{"stockpile over its toe", append([]string{"volume", "--base", "toe", "--within", foot}, stockpile...), map[string]float64{"fill_m3": 3800}},
		{"stockpile over a toe with levels", append([]string{"volume", "--base", "toe", "--within", footLevels}, stockpile...), map[string]float64{"fill_m3": 5000, "max_above_m": 7}},
		{"ridge with its breakline", []string{"volume", "--to", geoReference + "t3_ridge_points.csv", "--breaklines-to", geoReference + "t3_ridge_breaklines.csv", "--base", "level:10"}, map[string]float64{"fill_m3": 1080}},
		{"survey against survey", append([]string{"volume"}, t4...),
			map[string]float64{"fill_m3": 7568.852093260, "cut_m3": 11804.527101802, "net_m3": -4235.675008542, "fill_area_m2": 15392.393549108, "cut_area_m2": 14607.606450892, "max_above_m": 5.857931186, "max_below_m": 4.975504916}},
		{"inside a boundary", append([]string{"volume", "--within", geoReference + "t5_boundary.csv", "--tolerance", "0.15"}, t4...),
			map[string]float64{"fill_m3": 230.517019970, "cut_m3": 6441.745763488, "plan_area_m2": 12200, "within_area_m2": 8123.691634260, "doubtful_area_m2": 0}},
		{"over an earlier survey as base", []string{"volume", "--to", geoReference + "t4_post.csv", "--base", geoReference + "t4_pre.csv"}, map[string]float64{"fill_m3": 7568.852093260}},
		{"levels", []string{"levels", "--before", geoReference + "t4_pre.csv", "--after", geoReference + "t4_post.csv", "--within", geoReference + "t5_boundary.csv", "--tolerance", "0.15", "--accuracy", "0.02"},
			map[string]float64{"within_area_m2": 8123.691634260, "within_share": 8123.691634260 / 12200}},
		{"large surveys", []string{"volume", "--from", geoReference + "t6_pre.csv", "--to", geoReference + "t6_post.csv", "--tolerance", "0.15"}, map[string]float64{"fill_m3": 29242.183114710, "cut_m3": 32060.338243295, "within_area_m2": 118586.307362}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			code, out, errText := call(t, "", append(tt.args, "--json")...)
			if code != exitDone || errText != "" {
				t.Fatalf("exit %d: %s", code, errText)
			}
			var got map[string]any
			if err := json.Unmarshal([]byte(out), &got); err != nil {
				t.Fatal(err)
			}
			for _, k := range jsonKeys {
				if _, ok := got[k]; !ok {
					t.Errorf("no key %s", k)
				}
			}
			if len(got) != len(jsonKeys) {
				t.Errorf("%d keys, want %d", len(got), len(jsonKeys))
			}
			for k, want := range tt.want {
				v, ok := got[k].(float64)
				if !ok || math.Abs(v-want) > 1e-9*max(1, math.Abs(want)) {
					t.Errorf("%s: %v, want %.9f", k, got[k], want)
				}
			}
			_, hasTolerance := tt.want["within_area_m2"]
			if (got["within_area_m2"] != nil) != hasTolerance || (got["doubtful_area_m2"] != nil) != hasTolerance || (got["within_share"] != nil) != hasTolerance {
				t.Errorf("within %v, share %v, doubtful %v", got["within_area_m2"], got["within_share"], got["doubtful_area_m2"])
			}
			if list, ok := got["warnings"].([]any); !ok || len(list) != 0 {
				t.Errorf("warnings %v, want an empty list", got["warnings"])
			}
		})
	}
}

func TestGroundTables(t *testing.T) {
	code, out, _ := call(t, "", "volume", "--from", geoReference+"t4_pre.csv", "--to", geoReference+"t4_post.csv")
	for _, want := range []string{"7,568.9 m³", "11,804.5 m³", "−4,235.7 m³", "30,000.0 m²", "5.858 m", levelCaution} {
		if code != exitDone || !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	code, out, _ = call(t, "", "volume", "--from", geoReference+"t2_stockpile_points.csv", "--breaklines", geoReference+"t2_stockpile_breaklines.csv", "--base", "level:50")
	for _, want := range []string{"above the base", "3,800.0 m³", "6.000 m", "1 in 1.67 (31.0°)", moundCaution, levelCaution} {
		if code != exitDone || !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	code, out, _ = call(t, "", "levels", "--before", geoReference+"t4_pre.csv", "--after", geoReference+"t4_post.csv", "--tolerance", "0.15", "--accuracy", "0.02")
	for _, want := range []string{"within ±0.15 m", "65.89 % of the area", "doubtful", "at ±0.02 m accuracy", levelCaution} {
		if code != exitDone || !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
}

func TestGroundWarnings(t *testing.T) {
	text := "1,0,0,10\n2,100,0,10\n3,100,100,10\n4,0,100,10\n5,50,50,-9999\n"
	code, out, errText := call(t, text, "volume", "--from", "-", "--order", "penz", "--base", "level:9", "--within",
		file(t, "a.csv", "easting,northing\n50,0\n150,0\n150,100\n50,100\n50,0\n"), "--json")
	if code != exitDone {
		t.Fatalf("exit %d: %s", code, errText)
	}
	var got struct {
		Fill     float64  `json:"fill_m3"`
		Warnings []string `json:"warnings"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if got.Fill != 5000 || len(got.Warnings) != 2 || !strings.Contains(got.Warnings[0], "line 5 (5): no data, rejected") || !strings.Contains(got.Warnings[1], "5000.000 m² of the area asked for") {
		t.Errorf("%+v", got)
	}
}

func TestGroundRefusals(t *testing.T) {
	pre, post := geoReference+"t4_pre.csv", geoReference+"t4_post.csv"
	degrees := file(t, "wgs.geojson", `{"type":"Polygon","coordinates":[[[-1.5,52.5],[-1.49264,52.5],[-1.49264,52.504495],[-1.5,52.5]]]}`)
	elsewhere := file(t, "else.geojson", `{"type":"Polygon","coordinates":[[[0,0],[1000,0],[1000,1000],[0,0]]]}`)
	tests := []struct {
		name string
		code int
		args []string
		want []string
	}{
		{"nothing", exitUsage, []string{"volume"}, []string{"--from and --to"}},
		{"one survey, no base", exitUsage, []string{"volume", "--from", pre}, []string{"--base"}},
		{"two surveys and a base", exitUsage, []string{"volume", "--from", pre, "--to", post, "--base", "level:1"}, []string{"one survey"}},
		{"toe without an area", exitUsage, []string{"volume", "--from", pre, "--base", "toe"}, []string{"--within"}},
		{"a stray word", exitUsage, []string{"volume", pre, post}, []string{"no word"}},
		{"an unknown flag", exitUsage, []string{"volume", "--form", pre}, []string{"--form", "help volume"}},
		{"a negative tolerance", exitUsage, []string{"volume", "--from", pre, "--to", post, "--tolerance", "-1"}, []string{"0 or more"}},
		{"accuracy alone", exitUsage, []string{"volume", "--from", pre, "--to", post, "--accuracy", "0.1"}, []string{"--tolerance"}},
		{"an unknown unit", exitUsage, []string{"volume", "--from", pre, "--to", post, "--unit", "rod"}, []string{"us-ft"}},
		{"an unknown rule", exitUsage, []string{"volume", "--from", pre, "--to", post, "--two-levels", "mean"}, []string{"neither"}},
		{"levels without tolerance", exitUsage, []string{"levels", "--before", pre, "--after", post}, []string{"--tolerance 0.15"}},
		{"levels with one survey", exitUsage, []string{"levels", "--before", pre, "--tolerance", "0.15"}, []string{"--after"}},
		{"levels with a word", exitUsage, []string{"levels", "x"}, []string{"no word"}},
		{"no such file", exitFailed, []string{"volume", "--from", "nowhere.csv", "--to", post}, []string{"nowhere.csv"}},
		{"a level that is none", exitFailed, []string{"volume", "--from", pre, "--base", "level:high"}, []string{"not a level"}},
		{"too few points", exitFailed, []string{"volume", "--from", file(t, "two.csv", "point,easting,northing,level\n1,1,1,1\n2,2,2,2\n"), "--base", "level:0"}, []string{"two.csv", "fewer than 3"}},
		{"no header", exitFailed, []string{"volume", "--from", file(t, "raw.csv", "1,1,2,3\n2,4,5,6\n3,1,9,2\n"), "--base", "level:0"}, []string{"raw.csv", "not guessed", "PENZD"}},
		{"two levels at one place", exitFailed, []string{"volume", "--from", file(t, "c.csv", "point,easting,northing,level\n1,0,0,1\n2,0,0,2\n3,9,0,1\n4,0,9,1\n"), "--base", "level:0"}, []string{"line 3", "two levels"}},
		{"a dirty survey", exitFailed, []string{"volume", "--from", geoReference + "t7_dirty.csv", "--base", "level:0"}, []string{"line 16", "decimal comma"}},
		{"an area in degrees", exitFailed, []string{"volume", "--from", pre, "--to", post, "--within", degrees}, []string{"wgs.geojson", "longitude and latitude", "project"}},
		{"an area elsewhere", exitFailed, []string{"levels", "--before", pre, "--after", post, "--within", elsewhere, "--tolerance", "1"}, []string{"no common ground", "430000"}},
		{"an open ring", exitFailed, []string{"volume", "--from", pre, "--to", post, "--within", file(t, "o.csv", "easting,northing\n430010,310010\n430090,310010\n430090,310090\n430010,310090\n")}, []string{"not closed"}},
		{"breaklines of unknown points", exitFailed, []string{"volume", "--from", pre, "--to", post, "--breaklines", file(t, "b.csv", "from,to\nX1,X2\n")}, []string{"b.csv", `"X1"`, `"X2"`}},
		{"a base that is no survey", exitFailed, []string{"volume", "--from", pre, "--base", degrees}, []string{"no point, line or triangle with levels"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			code, out, errText := call(t, "", tt.args...)
			if code != tt.code || out != "" {
				t.Fatalf("exit %d, want %d; out %q, err %q", code, tt.code, out, errText)
			}
			for _, want := range tt.want {
				if !strings.Contains(errText, want) {
					t.Errorf("%q does not say %q", errText, want)
				}
			}
		})
	}
}

func TestGroundHelp(t *testing.T) {
	for _, name := range []string{"volume", "levels"} {
		code, out, _ := call(t, "", name, "--help")
		for _, want := range []string{"Usage: swardbook " + name, "--within", "metres", "Example:", "Exit codes:"} {
			if code != exitDone || !strings.Contains(out, want) {
				t.Errorf("%s: help does not say %q", name, want)
			}
		}
	}
}
