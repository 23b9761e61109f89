package laptop_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
)

func good() laptop.Measured {
	return laptop.Measured{
		Seconds: 30, Rate: 44, Timer: "a timer", Frames: 1320,
		Late: laptop.Spread{0.05, 0.2, 1}, Work: laptop.Spread{0.1, 0.3, 1},
	}
}

// heard is a clock in steps of 21 ms, by which the beat is off by err.
func heard(err clock.Time) func(*laptop.Measured) {
	return func(m *laptop.Measured) {
		m.Clock = &laptop.Jitter{Ticks: 999, Tempo: 120, Noise: 4}
		m.Clock.Locked(
			&clock.Arrivals{Feed: clock.InSteps, Every: 21 * clock.Millisecond},
			&clock.Position{Source: clock.MIDI, Sync: clock.Locked, Err: err},
		)
	}
}

// A clock that the lock is not on has no words.
func TestClockIsTakenWhenLocked(t *testing.T) {
	var j laptop.Jitter
	j.Locked(&clock.Arrivals{Feed: clock.Even}, &clock.Position{Source: clock.MIDI, Sync: clock.Holdover, Err: 1})
	j.Locked(&clock.Arrivals{Feed: clock.Even}, &clock.Position{Sync: clock.Locked, Err: 1})
	assert.Equal(t, laptop.Jitter{}, j)
	j.Locked(&clock.Arrivals{Feed: clock.Even, Lost: 2, Extra: 1}, &clock.Position{Source: clock.MIDI, Sync: clock.Locked, Err: clock.Millisecond / 2})
	src, err := json.Marshal(j)
	require.NoError(t, err)
	for _, want := range []string{`"beat_error_ms":0.5`, `"feed":"even"`, `"lost":2`, `"extra":1`, `"level":"well"`, `"words":"The clock comes in evenly. `} {
		assert.Contains(t, string(src), want)
	}
}

// Each measurement and each fact leads to its verdict, and says what to do.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		name string
		m    func(*laptop.Measured)
		f    laptop.Facts
		want laptop.Verdict
		says string
	}{
		{"all well", nil, laptop.Facts{}, laptop.Fit, ""},
		{"no frame", func(m *laptop.Measured) { m.Frames = 0 }, laptop.Facts{}, laptop.NotFit, "no frame"},
		{"one missed", func(m *laptop.Measured) { m.Missed = 1 }, laptop.Facts{}, laptop.Remarks, "1 of 1321"},
		{"many missed", func(m *laptop.Measured) { m.Missed = 2 }, laptop.Facts{}, laptop.NotFit, "2 of 1322"},
		{"late", func(m *laptop.Measured) { m.Late.P99 = 2.1 }, laptop.Facts{}, laptop.Remarks, "2.1 ms late"},
		{"very late", func(m *laptop.Measured) { m.Late.P99 = 8.1 }, laptop.Facts{}, laptop.NotFit, "8.1 ms late"},
		{"once late", func(m *laptop.Measured) { m.Late.Worst = 12 }, laptop.Facts{}, laptop.Remarks, "one frame woke 12.0 ms late"},
		{"slow", func(m *laptop.Measured) { m.Work.P99 = 12 }, laptop.Facts{}, laptop.NotFit, "fewer universes"},
		{"send errors", func(m *laptop.Measured) { m.Errors, m.Fault = 3, "network is unreachable" }, laptop.Facts{}, laptop.NotFit, "network is unreachable"},
		{"no clock", func(m *laptop.Measured) { m.Clock = &laptop.Jitter{} }, laptop.Facts{}, laptop.NotFit, "no MIDI clock arrived\n      check the port's name"},
		{"little clock", func(m *laptop.Measured) { m.Clock = &laptop.Jitter{Ticks: 20} }, laptop.Facts{}, laptop.Remarks, "only 20 ticks"},
		{"good clock", func(m *laptop.Measured) { m.Clock = &laptop.Jitter{Ticks: 999, Tempo: 120, Noise: 1} }, laptop.Facts{}, laptop.Fit, "120.00 BPM"},
		{"uneven clock", func(m *laptop.Measured) { m.Clock = &laptop.Jitter{Ticks: 999, Noise: 5.1} }, laptop.Facts{}, laptop.Remarks, "unevenly"},
		{"late tick", func(m *laptop.Measured) { m.Clock = &laptop.Jitter{Ticks: 999, Latest: 40} }, laptop.Facts{}, laptop.Remarks, "40 ms late"},
		{"clock that costs nothing", heard(3 * clock.Millisecond), laptop.Facts{}, laptop.Fit, "Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees.\n              Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.\n"},
		{"clock that may be seen", heard(6 * clock.Millisecond), laptop.Facts{}, laptop.Remarks, "- Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 6 ms of the DAW's; a keen eye may see it.\n      Smaller audio buffers"},
		{"clock that is bad", heard(25 * clock.Millisecond), laptop.Facts{}, laptop.NotFit, "! Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat may be off by 25 ms, and that can be seen.\n      Smaller audio buffers"},
		{"battery", nil, laptop.Facts{Battery: true}, laptop.Remarks, "charger"},
		{"saving", nil, laptop.Facts{Saving: "the governor is powersave"}, laptop.Remarks, "powersave"},
		{"Wi-Fi", nil, laptop.Facts{WiFi: []string{"wlan0"}}, laptop.Remarks, "Wi-Fi (wlan0)"},
		{"memory", nil, laptop.Facts{FreeMB: 200}, laptop.Remarks, "200 MB"},
		{"enough memory", nil, laptop.Facts{FreeMB: 2000}, laptop.Fit, ""},
		{"load", nil, laptop.Facts{Load: 1.5}, laptop.Remarks, "1.5 times"},
		{"refused", nil, laptop.Facts{Refused: true, RealTime: "no real-time priority", Remedy: "join the group"}, laptop.Remarks, "join the group"},
		{"declined", nil, laptop.Facts{AsAsked: true}, laptop.Remarks, "--real-time"},
		{"WSL2", nil, laptop.Facts{WSL: true}, laptop.NotFit, "inside Windows"},
		{"not fit outweighs remarks", nil, laptop.Facts{WSL: true, Battery: true}, laptop.NotFit, "battery"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := good()
			if c.m != nil {
				c.m(&m)
			}
			r := laptop.Judge(m, c.f)
			var text strings.Builder
			r.WriteText(&text)
			assert.Equal(t, c.want, r.Verdict)
			assert.Contains(t, text.String(), "This computer is "+string(c.want)+".")
			assert.Contains(t, text.String(), c.says)
			for _, remark := range r.Remarks {
				assert.NotEmpty(t, remark.What, "%+v says too little", remark)
				assert.NotEmpty(t, remark.Do, "%+v says too little", remark)
			}
		})
	}
}

// Remarks are a list in JSON even where there is none.
func TestReportJSON(t *testing.T) {
	r := laptop.Judge(good(), laptop.Facts{})
	src, err := json.Marshal(r)
	assert.NoError(t, err)
	assert.Contains(t, string(src), `"remarks":[]`)
	assert.Contains(t, string(src), `"late_ms":{"p50":0.05,"p99":0.2,"worst":1}`)
}
