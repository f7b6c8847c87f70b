package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"swardbook": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the real command line as its users do.
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("TESTDATA", root)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"figure": figure, "keys": keys, "judged": judged, "code": code, "keep": keep,
		},
	})
}

// code NUMBER COMMAND...: the command ends with that exit code.
func code(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code NUMBER COMMAND [ARG...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if err != nil {
		got = -1
		if n, perr := strconv.Atoi(strings.TrimPrefix(err.Error(), "exit status ")); perr == nil {
			got = n
		}
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d (%v)", got, want, err)
	}
}

// keep FILE: what the last command printed goes into FILE.
func keep(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(ts.ReadFile("stdout")), 0o600))
}

func decode(ts *testscript.TestScript) map[string]any {
	var v map[string]any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &v))
	return v
}

// figure KEY VALUE [TOLERANCE]: a number of the JSON printed last, relative
// tolerance 1e-9 where none is given.
func figure(ts *testscript.TestScript, _ bool, args []string) {
	got, ok := decode(ts)[args[0]].(float64)
	want, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	tolerance := 1e-9
	if len(args) > 2 {
		tolerance, err = strconv.ParseFloat(args[2], 64)
		ts.Check(err)
	}
	if !ok || math.Abs(got-want) > tolerance*math.Max(1, math.Abs(want)) {
		ts.Fatalf("%s is %v, want %v", args[0], decode(ts)[args[0]], want)
	}
}

// keys KEY...: the JSON printed last has just these keys.
func keys(ts *testscript.TestScript, _ bool, args []string) {
	v := decode(ts)
	for _, k := range args {
		if _, there := v[k]; !there {
			ts.Fatalf("key %s is missing", k)
		}
		delete(v, k)
	}
	if len(v) > 0 {
		ts.Fatalf("keys not expected: %v", v)
	}
}

// judged PERMIT CONDITION VERDICT [NAME=VALUE...]: one roll-up of a report.
func judged(ts *testscript.TestScript, _ bool, args []string) {
	list, _ := decode(ts)["judgements"].([]any)
	for _, one := range list {
		j, _ := one.(map[string]any)
		if j["permit"] != args[0] || j["condition"] != args[1] {
			continue
		}
		if j["verdict"] != args[2] {
			ts.Fatalf("%s %s is %v, want %s", args[0], args[1], j["verdict"], args[2])
		}
		for _, pair := range args[3:] {
			name, want, _ := strings.Cut(pair, "=")
			if got := member(j, name); !sameText(got, want) {
				ts.Fatalf("%s %s: %s is %v, want %s", args[0], args[1], name, got, want)
			}
		}
		return
	}
	ts.Fatalf("no judgement of %s %s", args[0], args[1])
}

func member(v any, path string) any {
	for _, name := range strings.Split(path, ".") {
		m, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = m[name]
	}
	return v
}

func sameText(got any, want string) bool {
	f, isNumber := got.(float64)
	w, err := strconv.ParseFloat(want, 64)
	if isNumber && err == nil {
		return math.Abs(f-w) <= 5e-5*math.Max(1, math.Abs(w))
	}
	return fmt.Sprint(got) == want
}
