package shows

import "testing"

func TestDemoLoads(t *testing.T) {
	show, problems := Load(Demo(), Options{})
	if err := problems.Err(); err != nil {
		t.Fatalf("the demo has faults:\n%v", err)
	}
	if got := len(show.Program.Heads); got != 16 {
		t.Errorf("the demo has %d heads, want 16", got)
	}
	if got := len(show.Program.Songs); got != 3 {
		t.Errorf("the demo has %d songs, want 3", got)
	}
}
