package inwords_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/clock/inwords"
)

const ms = clock.Millisecond

// unseen: a beat that is off by less is seen by nobody, say the words.
const unseen = 5 * ms

// led is a position that a locked MIDI clock leads.
func led(err clock.Time) clock.Position {
	return clock.Position{Source: clock.MIDI, Sync: clock.Locked, Err: err}
}

// Every pattern and every edge in words, short and long.
func TestWords(t *testing.T) {
	steps := clock.Arrivals{Feed: clock.InSteps, Every: 21 * ms, Late: 10 * ms, Spread: 20 * ms, Unknown: 10 * ms}
	for _, c := range []struct {
		name  string
		a     clock.Arrivals
		p     clock.Position
		level inwords.Level
		short string
		long  string
		help  string
	}{
		{
			"even",
			clock.Arrivals{Feed: clock.Even, Spread: ms},
			led(ms * 4 / 10), inwords.Well,
			"even, beat within 0.4 ms",
			"The clock comes in evenly. The beat is within 0.4 ms of the DAW's, which nobody sees.", "",
		},
		{
			"even, with a delay that all share",
			clock.Arrivals{Feed: clock.Even, Unknown: 6 * ms},
			led(12 * ms), inwords.Remark,
			"even, beat within 6 ms",
			"The clock comes in evenly. The beat is within 6 ms of the DAW's; a keen eye may see it. All of it may be up to 6 ms early or late alike, which the lead sets off.",
			"All ticks share a delay that cannot be told from them. Smaller audio buffers in the DAW make it smaller.",
		},
		{
			"uneven, and it costs nothing",
			clock.Arrivals{Feed: clock.Uneven, Spread: 4 * ms},
			led(1250_000), inwords.Well,
			"uneven, beat within 1.3 ms",
			"The clock comes in unevenly, its ticks up to 4 ms late. The beat is within 1.3 ms of the DAW's, which nobody sees.",
			"Nothing needs to be done. A MIDI cable instead of a network, another port or driver, and less load on the DAW's computer would be steadier.",
		},
		{
			"uneven, and it can be seen",
			clock.Arrivals{Feed: clock.Uneven, Spread: 80 * ms},
			led(20 * ms), inwords.Grave,
			"uneven, beat within 20 ms",
			"The clock comes in unevenly, its ticks up to 80 ms late. The beat may be off by 20 ms, and that can be seen.",
			"A MIDI cable instead of a network, another port or driver, and less load on the DAW's computer would be steadier.",
		},
		{
			"steps", steps, led(13 * ms), inwords.Well,
			"every 21 ms, beat within 3 ms",
			"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees. All of it may be up to 10 ms early or late alike, which the lead sets off.",
			"Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.",
		},
		{
			"steps, just below what may be seen", steps, led(10*ms + unseen - 1), inwords.Well,
			"every 21 ms, beat within 5 ms",
			"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 5 ms of the DAW's, which nobody sees. All of it may be up to 10 ms early or late alike, which the lead sets off.",
			"Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.",
		},
		{
			"steps, that may be seen", steps, led(10*ms + unseen), inwords.Remark,
			"every 21 ms, beat within 5 ms",
			"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 5 ms of the DAW's; a keen eye may see it. All of it may be up to 10 ms early or late alike, which the lead sets off.",
			"Smaller audio buffers in the DAW would be steadier.",
		},
		{
			"bursts",
			clock.Arrivals{Feed: clock.InBursts, Spread: 40 * ms},
			led(12 * ms), inwords.Remark,
			"in bursts, beat within 12 ms",
			"The clock is held up now and then, and its ticks then come at once, up to 40 ms late. The beat is within 12 ms of the DAW's; a keen eye may see it.",
			"Less load on the DAW's computer would be steadier, and a MIDI cable instead of a network.",
		},
		{
			"nothing is known of how it comes",
			clock.Arrivals{},
			led(ms), inwords.Well,
			"beat within 1 ms", "The clock leads. The beat is within 1 ms of the DAW's, which nobody sees.", "",
		},
		{
			"nothing is known, and it is bad",
			clock.Arrivals{},
			led(30 * ms), inwords.Grave,
			"beat within 30 ms", "The clock leads. The beat may be off by 30 ms, and that can be seen.",
			"A MIDI cable instead of a network, and smaller audio buffers in the DAW, would be steadier.",
		},
		{
			"no error is known",
			clock.Arrivals{Feed: clock.Even},
			led(1 << 55), inwords.Grave,
			"even, beat not known yet", "The clock comes in evenly. How far the beat is off is not known.",
			"All ticks share a delay that cannot be told from them. Smaller audio buffers in the DAW make it smaller.",
		},
		{
			"locked, pattern not known yet",
			clock.Arrivals{Feed: clock.Learning},
			led(2 * ms), inwords.Well,
			"beat within 2 ms", "The clock leads. The beat is within 2 ms of the DAW's, which nobody sees.", "",
		},
		{
			"just come",
			clock.Arrivals{Feed: clock.Learning},
			clock.Position{Source: clock.MIDI, Sync: clock.Acquiring, Err: 30 * ms},
			inwords.Well,
			"just come in, finding its tempo", "The clock has just come in, and its tempo is being found. That takes a bar or two.", "",
		},
		{
			"gone",
			clock.Arrivals{Feed: clock.Even},
			clock.Position{Source: clock.MIDI, Sync: clock.Holdover, Err: ms},
			inwords.Grave,
			"gone, the tempo carries on", "The clock has stopped coming in. The tempo carries on as it was, and the light plays on.",
			"Look at the DAW and the MIDI cable.",
		},
		{
			"none",
			clock.Arrivals{},
			clock.Position{},
			inwords.Well,
			"none comes in, the song's own tempo leads", "No MIDI clock comes in. The song's own tempo leads.",
			"If the light is to follow a DAW, start it; or tap.",
		},
		{
			"taps",
			clock.Arrivals{},
			clock.Position{Source: clock.Tapped},
			inwords.Well,
			"none comes in, taps lead", "No MIDI clock comes in. Taps lead the tempo.",
			"If the light is to follow a DAW, start it; or tap.",
		},
		{
			"not followed",
			clock.Arrivals{Feed: clock.Even},
			clock.Position{Source: clock.Tapped},
			inwords.Well,
			"comes in and is not followed", "A MIDI clock comes in, and the show does not follow it. Taps lead the tempo.",
			"If the light is to follow the DAW, see who leads the tempo: --clock, or show.yaml.",
		},
		{
			"a pattern that there is not",
			clock.Arrivals{Feed: clock.InBursts + 1},
			led(ms), inwords.Well,
			"beat within 1 ms", "The clock leads. The beat is within 1 ms of the DAW's, which nobody sees.", "",
		},
		{
			"ticks put in",
			clock.Arrivals{Feed: clock.Even, Lost: 1},
			led(ms), inwords.Well,
			"even, beat within 1 ms",
			"The clock comes in evenly. The beat is within 1 ms of the DAW's, which nobody sees. So far 1 tick got lost; the count was put right.", "",
		},
		{
			"ticks put in and taken out",
			clock.Arrivals{Feed: clock.Even, Lost: 3, Extra: 2},
			led(ms), inwords.Well,
			"even, beat within 1 ms",
			"The clock comes in evenly. The beat is within 1 ms of the DAW's, which nobody sees. So far 3 ticks got lost and 2 ticks too many came; the count was put right.", "",
		},
		{
			"ticks taken out",
			clock.Arrivals{Extra: 1},
			led(ms), inwords.Well,
			"beat within 1 ms",
			"The clock leads. The beat is within 1 ms of the DAW's, which nobody sees. So far 1 tick too many came; the count was put right.", "",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, inwords.Words{c.level, c.short, c.long, c.help}, inwords.Of(&c.a, &c.p))
		})
	}
}

// Whatever is measured, something is said, and no small error alarms.
func TestNobodyIsFrightened(t *testing.T) {
	for feed := clock.NoFeed; feed <= clock.InBursts+1; feed++ {
		for source := clock.Internal; source <= clock.MIDI; source++ {
			for sync := clock.Free; sync <= clock.Holdover; sync++ {
				for _, err := range []clock.Time{0, ms, 5*ms - 1, 5 * ms, 20 * ms, 1 << 56} {
					a := clock.Arrivals{Feed: feed, Every: 11 * ms, Spread: 9 * ms}
					p := clock.Position{Source: source, Sync: sync, Err: err}
					w := inwords.Of(&a, &p)
					require.NotEmpty(t, w.Short)
					require.True(t, strings.HasSuffix(w.Long, "."), w.Long)
					require.False(t, w.Level == inwords.Grave && w.Help == "", "%+v", w)
					if err < unseen && sync != clock.Holdover {
						require.Equal(t, inwords.Well, w.Level, w.Long)
						require.NotContains(t, w.Long, "can be seen")
					}
				}
			}
		}
	}
}

func TestBars(t *testing.T) {
	assert.Equal(t, "the DAW's bars are 21 ms later than counted (3 notes agree): press Align bars to follow them",
		string(inwords.AppendBars(nil, 20_833_333, 3)))
	assert.Equal(t, "the DAW's bars are 42 ms earlier than counted (4 notes agree): press Align bars to follow them",
		string(inwords.AppendBars(nil, -41_666_667, 4)))
	assert.Empty(t, inwords.AppendBars(nil, 0, 3))
}

func TestLevelNames(t *testing.T) {
	for want, l := range map[string]inwords.Level{"well": inwords.Well, "remark": inwords.Remark, "grave": inwords.Grave, "unknown": 9} {
		assert.Equal(t, want, l.String())
	}
}

// A line is drawn many times a second.
func TestAppendAllocs(t *testing.T) {
	b := make([]byte, 0, 200)
	a, p := clock.Arrivals{Feed: clock.InSteps, Every: 21 * ms}, led(3*ms)
	assert.Zero(t, testing.AllocsPerRun(100, func() { b = inwords.AppendBars(inwords.Append(b[:0], &a, &p), 42*ms, 3) }))
}
