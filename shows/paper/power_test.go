package paper

import (
	"math"
	"strings"
	"testing"
)

// Handbook arithmetic (from memory): P = U·I. 2300 W at 230 V are 10 A, 2400 W
// at 120 V are 20 A; a breaker of 20 A carries 16 A for hours, one of 16 A 12.8.
func TestAmps(t *testing.T) {
	for _, c := range [][3]float64{{2300, 230, 10}, {2400, 120, 20}, {575, 230, 2.5}, {1000, 100, 10}, {0, 230, 0}} {
		if got := Amps(c[0], c[1]); math.Abs(got-c[2]) > 1e-9 {
			t.Errorf("%v W at %v V: %v A, want %v", c[0], c[1], got, c[2])
		}
	}
	for _, c := range []struct {
		breaker, volts, watts float64
		over                  bool
	}{{20, 120, 1920, false}, {20, 120, 1921, true}, {16, 230, 2944, false}, {16, 230, 2945, true}, {0, 230, 9999, false}} {
		if s := (Sum{Breaker: c.breaker, Full: c.watts}); s.Over(c.volts) != c.over {
			t.Errorf("%v W on %v A at %v V: over is %v", c.watts, c.breaker, c.volts, !c.over)
		}
	}
}

// powered gives the demo's rig watts and circuits.
func powered(rig string) string {
	rig = strings.Replace(rig, "universes:\n", "mains: {voltage: 230 V}\ncircuits:\n  truss: {breaker: 10 A}\n  hall: {breaker: 16 A}\nuniverses:\n", 1)
	rig = strings.ReplaceAll(rig, "    profile: dimmer-rgb\n", "    profile: dimmer-rgb\n    watts: 200 W\n    circuit: truss\n")
	rig = strings.ReplaceAll(rig, "{profile: dimmer, universe: stage", "{profile: dimmer, watts: 575 W, circuit: hall, universe: stage")
	return strings.ReplaceAll(rig, "{profile: hazer, ", "{profile: hazer, watts: 700 W, circuit: hall, ")
}

// By hand: eight washes of 200 W are 1600 W, 6.96 A of the 8 A that 10 A carry.
// "full sail" has the front truss at 80 % and the back truss at 100 % with
// effects that only scale: 4·160 + 4·200 = 1440 W. Two fronts of 575 W and a
// hazer that always heats are 1850 W at full.
func TestSums(t *testing.T) {
	s := show(t, powered)
	circuits, night := Sums(s)
	if len(circuits) != 3 {
		t.Fatal(circuits)
	}
	truss, hall := circuits[0], circuits[1]
	if truss.Fixtures != 8 || truss.Full != 1600 || hall.Fixtures != 3 || hall.Full != 1850 || night.Full != 3450 {
		t.Errorf("%+v\n%+v\n%+v", truss, hall, night)
	}
	if math.Abs(truss.Worst-1440) > 1e-6 {
		t.Errorf("the trusses draw %v W at %s, want 1440", truss.Worst, truss.When)
	}
	if hall.Worst < 700 || hall.Worst > hall.Full {
		t.Errorf("the hall draws %v W, want 700 for the hazer at least", hall.Worst)
	}
	if night.Worst > truss.Worst+hall.Worst+1e-6 || night.Worst < truss.Worst {
		t.Errorf("the night draws %v W, its circuits %v and %v", night.Worst, truss.Worst, hall.Worst)
	}
	if circuits[2].Unknown != 5 { // four warmers and the house lights
		t.Errorf("%d fixtures without watts", circuits[2].Unknown)
	}
	var out strings.Builder
	Power(&out, s)
	for _, want := range []string{"power at 230 V", "1600 W", "7.0 A", "8.0 A of 10 A", "CAUTION", "qualified people", "NEC 210.20(A)", "from memory", "worst moment"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
	if strings.Contains(out.String(), "TOO MUCH") {
		t.Errorf("within limits, and yet\n%s", out.String())
	}
	out.Reset()
	Power(&out, show(t, func(rig string) string { return strings.Replace(powered(rig), "breaker: 10 A", "breaker: 8 A", 1) }))
	if !strings.Contains(out.String(), "TOO MUCH AT FULL") { // 6.96 A of 6.4; as planned 6.26
		t.Errorf("no warning in\n%s", out.String())
	}
}
