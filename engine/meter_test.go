package engine

import (
	"errors"
	"testing"

	"tactus/clock"
)

func TestMeter(t *testing.T) {
	const q = clock.Quarter
	cases := []struct {
		upper, lower int
		bar, beat    clock.Beat
		beats        int
	}{
		{4, 4, 4 * q, q, 4},
		{3, 4, 3 * q, q, 3},
		{2, 2, 4 * q, 2 * q, 2},
		{6, 8, 3 * q, q + q/2, 2}, // dotted quarters
		{12, 8, 6 * q, q + q/2, 4},
		{3, 8, q + q/2, q / 2, 3},
		{5, 4, 5 * q, q, 5},
		{7, 8, 7 * q / 2, q / 2, 7},
	}
	for _, c := range cases {
		m, err := NewMeter(c.upper, c.lower)
		if err != nil {
			t.Fatal(err)
		}
		if m.Bar() != c.bar || m.Beat() != c.beat || m.Beats() != c.beats {
			t.Errorf("%s: bar %d, beat %d, %d beats; want %d, %d, %d", m, m.Bar(), m.Beat(), m.Beats(), c.bar, c.beat, c.beats)
		}
	}
	for _, bad := range [][2]int{{4, 3}, {0, 4}, {33, 4}, {4, 0}, {-1, 8}} {
		if _, err := NewMeter(bad[0], bad[1]); !errors.Is(err, ErrMeter) {
			t.Errorf("%v: %v, want ErrMeter", bad, err)
		}
	}
}

func TestTempoOfTheBeat(t *testing.T) {
	six, _ := NewMeter(6, 8)
	if got := six.Quarters(clock.BPM(60)); got != clock.BPM(90) {
		t.Errorf("60 dotted quarters a minute are %v, want 90 quarters", got)
	}
	if got := six.PerBeat(clock.BPM(90)); got != clock.BPM(60) {
		t.Errorf("90 quarters a minute are %v, want 60 dotted quarters", got)
	}
}

func TestLengthIn(t *testing.T) {
	six, four := Meter{6, 8}, Meter{4, 4}
	half := Length{Num: 1, Den: 2}
	if got := half.In(four); got != clock.Quarter/2 {
		t.Errorf("half a beat of 4/4: %d", got)
	}
	if got := half.In(six); got != 3*clock.Quarter/4 {
		t.Errorf("half a beat of 6/8: %d", got)
	}
	if got := (Length{Num: 2, Den: 1, Bars: true}).In(six); got != 6*clock.Quarter {
		t.Errorf("two bars of 6/8: %d", got)
	}
}
