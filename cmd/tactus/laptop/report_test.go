package laptop

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

func good() Measured {
	return Measured{
		Seconds: 30, Rate: 44, Timer: "a timer", Frames: 1320,
		Late: Spread{0.05, 0.2, 1}, Work: Spread{0.1, 0.3, 1},
	}
}

// heard is a clock in steps of 21 ms, by which the beat is off by err.
func heard(err clock.Time) func(*Measured) {
	return func(m *Measured) {
		m.Clock = &Jitter{Ticks: 999, Tempo: 120, Noise: 4}
		m.Clock.Locked(
			&clock.Arrivals{Feed: clock.InSteps, Every: 21 * clock.Millisecond},
			&clock.Position{Source: clock.MIDI, Sync: clock.Locked, Err: err},
		)
	}
}

// A clock that the lock is not on has no words.
func TestClockIsTakenWhenLocked(t *testing.T) {
	var j Jitter
	j.Locked(&clock.Arrivals{Feed: clock.Even}, &clock.Position{Source: clock.MIDI, Sync: clock.Holdover, Err: 1})
	j.Locked(&clock.Arrivals{Feed: clock.Even}, &clock.Position{Sync: clock.Locked, Err: 1})
	assert.Equal(t, Jitter{}, j)
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
		m    func(*Measured)
		f    Facts
		want Verdict
		says string
	}{
		{"all well", nil, Facts{}, Fit, ""},
		{"no frame", func(m *Measured) { m.Frames = 0 }, Facts{}, NotFit, "no frame"},
		{"one missed", func(m *Measured) { m.Missed = 1 }, Facts{}, Remarks, "1 of 1321"},
		{"many missed", func(m *Measured) { m.Missed = 2 }, Facts{}, NotFit, "2 of 1322"},
		{"late", func(m *Measured) { m.Late.P99 = 2.1 }, Facts{}, Remarks, "2.1 ms late"},
		{"very late", func(m *Measured) { m.Late.P99 = 8.1 }, Facts{}, NotFit, "8.1 ms late"},
		{"once late", func(m *Measured) { m.Late.Worst = 12 }, Facts{}, Remarks, "one frame woke 12.0 ms late"},
		{"slow", func(m *Measured) { m.Work.P99 = 12 }, Facts{}, NotFit, "fewer universes"},
		{"send errors", func(m *Measured) { m.Errors, m.Fault = 3, "network is unreachable" }, Facts{}, NotFit, "network is unreachable"},
		{"no clock", func(m *Measured) { m.Clock = &Jitter{} }, Facts{}, NotFit, "no MIDI clock arrived\n      check the port's name"},
		{"little clock", func(m *Measured) { m.Clock = &Jitter{Ticks: 20} }, Facts{}, Remarks, "only 20 ticks"},
		{"good clock", func(m *Measured) { m.Clock = &Jitter{Ticks: 999, Tempo: 120, Noise: 1} }, Facts{}, Fit, "120.00 BPM"},
		{"uneven clock", func(m *Measured) { m.Clock = &Jitter{Ticks: 999, Noise: 5.1} }, Facts{}, Remarks, "unevenly"},
		{"late tick", func(m *Measured) { m.Clock = &Jitter{Ticks: 999, Latest: 40} }, Facts{}, Remarks, "40 ms late"},
		{"clock that costs nothing", heard(3 * clock.Millisecond), Facts{}, Fit, "Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees.\n              Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.\n"},
		{"clock that may be seen", heard(6 * clock.Millisecond), Facts{}, Remarks, "- Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 6 ms of the DAW's; a keen eye may see it.\n      Smaller audio buffers"},
		{"clock that is bad", heard(25 * clock.Millisecond), Facts{}, NotFit, "! Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat may be off by 25 ms, and that can be seen.\n      Smaller audio buffers"},
		{"battery", nil, Facts{Battery: true}, Remarks, "charger"},
		{"saving", nil, Facts{Saving: "the governor is powersave"}, Remarks, "powersave"},
		{"Wi-Fi", nil, Facts{WiFi: []string{"wlan0"}}, Remarks, "Wi-Fi (wlan0)"},
		{"memory", nil, Facts{FreeMB: 200}, Remarks, "200 MB"},
		{"enough memory", nil, Facts{FreeMB: 2000}, Fit, ""},
		{"load", nil, Facts{Load: 1.5}, Remarks, "1.5 times"},
		{"refused", nil, Facts{Refused: true, RealTime: "no real-time priority", Remedy: "join the group"}, Remarks, "join the group"},
		{"declined", nil, Facts{AsAsked: true}, Remarks, "--real-time"},
		{"WSL2", nil, Facts{WSL: true}, NotFit, "inside Windows"},
		{"not fit outweighs remarks", nil, Facts{WSL: true, Battery: true}, NotFit, "battery"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := good()
			if c.m != nil {
				c.m(&m)
			}
			r := Judge(m, c.f)
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
	r := Judge(good(), Facts{})
	src, err := json.Marshal(r)
	assert.NoError(t, err)
	assert.Contains(t, string(src), `"remarks":[]`)
	assert.Contains(t, string(src), `"late_ms":{"p50":0.05,"p99":0.2,"worst":1}`)
}
