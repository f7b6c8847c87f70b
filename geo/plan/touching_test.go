package plan

import (
	"strings"
	"testing"
)

// A hole may touch the outer ring at corners; it may not leave through them.
func TestHolesThatTouch(t *testing.T) {
	tests := []struct {
		name, rings, fault string
	}{
		{"inside, touching two corners' sides", `[[0,0],[10,10],[0,10],[0,0]],[[2,2],[3,3],[1,4],[2,2]]`, ""},
		{"out through a corner and back", `[[0,0],[10,10],[0,10],[0,0]],[[2,2],[7,0],[3,3],[0,1],[2,2]]`, "where they touch"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParsePolygon([]byte(`{"type":"Polygon","coordinates":[`+tt.rings+`]}`), site)
			if tt.fault == "" && err != nil || tt.fault != "" && (err == nil || !strings.Contains(err.Error(), tt.fault)) {
				t.Fatalf("got %v", err)
			}
		})
	}
}
