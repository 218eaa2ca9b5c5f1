package renewal

import (
	"encoding/json"
	"os"
	"testing"
)

// A stored case is a year and what GLPK found to be best for it;
// testdata/README.md says how it was made.
type stored struct {
	Jobs         []Job
	Order        Order
	Weeks        int
	Fullest      int
	Off, Changed int
}

func TestThePlanIsWhatGLPKFound(t *testing.T) {
	raw, err := os.ReadFile("testdata/glpk.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []stored
	if err := json.Unmarshal(raw, &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) < 10 {
		t.Fatalf("%d stored cases", len(cases))
	}
	for i, c := range cases {
		c.compare(t, i)
	}
}

func (c stored) compare(t *testing.T, i int) {
	t.Helper()
	plan, err := Level(c.Jobs, c.Weeks, c.Order)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Fullest != c.Fullest || plan.Off != c.Off || plan.Changed != c.Changed {
		t.Errorf("case %d, %d renewals: %d in the fullest week, %d weeks off, %d changed; GLPK %d, %d, %d",
			i, len(c.Jobs), plan.Fullest, plan.Off, plan.Changed, c.Fullest, c.Off, c.Changed)
	}
}
