package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// pulse shows two looks in turn, hz whole turns a second, for so long, and
// returns what the bytes had: changes as flashes in the worst second.
func pulse(t *testing.T, e *Engine, pos *clock.Position, a, b Part, hz float64, over clock.Time) [flash.NumKinds]float64 {
	t.Helper()
	var w witness
	looks := [2]int32{int32(len(e.prog.Looks)) - 2, int32(len(e.prog.Looks)) - 1}
	e.prog.Looks[looks[0]].Parts, e.prog.Looks[looks[1]].Parts = []Part{a}, []Part{b}
	half := clock.Time(float64(clock.Second) / hz / 2)
	for end, start := pos.At+over, pos.At; pos.At < end; pos.At += 10 * clock.Millisecond {
		e.Do(Command{Kind: ShowLook, Index: looks[(pos.At-start)/half%2]}, *pos)
		u := e.Frame(*pos)
		w.see(pos.At, &u[0])
	}
	return w.worst
}

// quiet is the hall with nothing lit and two looks for pulse, at a second.
func quiet(t *testing.T) (*Engine, clock.Position) {
	p := asPlayed(t)
	p.WalkIn, p.Ease = None, 0
	p.HousePalette[Main] = fixtures.RGB{1, 0, 0}
	p.Looks = append(slices.Clone(p.Looks), named("a", cue(snap)), named("b", cue(snap)))
	return New(p), clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
}

// Trains through the engine on both sides of three a second; what is below is
// untouched, what is above ends at three. A dim red counts as red though its
// luminance does not count.
func TestTrainsAreHeldToThree(t *testing.T) {
	for _, c := range []struct {
		name string
		a, b Part
		hz   float64
		acts bool
		kind flash.Kind
	}{
		{"2.9 a second", dims(lamps, 0), dims(lamps, 1), 2.9, false, flash.General},
		{"3.1 a second", dims(lamps, 0), dims(lamps, 1), 3.1, true, flash.General},
		{"10 a second", dims(lamps, 0), dims(lamps, 1), 10, true, flash.General},
		{"8 % ten times a second", dims(lamps, 0.3), dims(lamps, 0.38), 10, false, flash.General},
		{"11 % ten times a second", dims(lamps, 0.3), dims(lamps, 0.41), 10, true, flash.General},
		{"bright ten times a second", dims(lamps, 0.82), dims(lamps, 1), 10, false, flash.General},
		{"dim red, 2.9 a second", level(washes, 0, Main), level(washes, 0.3, Main), 2.9, false, flash.Red},
		{"dim red, 5 a second", level(washes, 0, Main), level(washes, 0.3, Main), 5, true, flash.Red},
	} {
		e, pos := quiet(t)
		free, from := quiet(t)
		free.limiter = limiter{}
		wanted := pulse(t, free, &from, c.a, c.b, c.hz, 5*clock.Second)[c.kind]
		if c.acts {
			require.Greater(t, wanted, 3.0, c.name)
		}
		got := pulse(t, e, &pos, c.a, c.b, c.hz, 5*clock.Second)[c.kind]
		assert.LessOrEqual(t, got, 3.0, "%s: %s flashes in the worst second", c.name, c.kind)
		if !c.acts {
			assert.Equal(t, wanted, got, "%s: %s flashes in the worst second", c.name, c.kind)
		}
		f := e.Status(pos).Limiter
		assert.Equal(t, c.acts, f.Acting, "%s, %d times", c.name, f.Count)
		assert.Equal(t, f.Count > 0, c.acts, "%s, %d times", c.name, f.Count)
		if c.acts {
			assert.Equal(t, c.kind, f.Kind, c.name)
			assert.Greater(t, f.Wanted, 3.0, c.name)
			assert.LessOrEqual(t, f.LetThrough, 3.0, c.name)
		}
	}
}

// Two groups that flash in turn add up in the rig.
func TestGroupsInTurnAddUp(t *testing.T) {
	e, pos := quiet(t)
	var w witness
	for n := range 600 { // each twice a second, a quarter apart: four for the rig
		pos.At += 10 * clock.Millisecond
		for i := range 2 {
			on := 0.0
			if (n+25*i)%50 < 10 {
				on = 1
			}
			e.Do(Command{Kind: Override, Index: int32(i), Level: on}, pos)
			e.Do(Command{Kind: Override, Index: int32(i), Param: fixtures.Green, Level: 1}, pos)
		}
		u := e.Frame(pos)
		w.see(pos.At, &u[0])
	}
	assert.LessOrEqual(t, w.worst[flash.General], 3.0, "flashes in the worst second")
	f := e.Status(pos).Limiter
	assert.True(t, f.Acting)
	assert.Equal(t, "the whole rig", f.Area)
	assert.Equal(t, 4.0, f.Wanted)
}

// When several areas are held back, the status names the one that flashes most, and
// an explanation of a head in it names the same. The front flashes eight times a
// second and is a small part of the rig, which the lamps make flash four times.
func TestStatusAndExplanationNameTheWorstArea(t *testing.T) {
	e, pos := quiet(t)
	for n := range 400 {
		pos.At += 10 * clock.Millisecond
		for group, half := range map[int32]int{1: 12, 2: 6} {
			level := 0.5 * float64(group) // the lamps to a half, the front to full
			e.Do(Command{Kind: Override, Index: group, Level: level * float64(n/half%2)}, pos)
		}
		e.Frame(pos)
	}
	status, held := e.Status(pos).Limiter, 0
	for i := range e.limiter.areas {
		if e.limiter.times[i].wanted.Rate(pos.At).Most() > 3 {
			held++
		}
	}
	require.Greater(t, held, 3, "areas that flash too often")
	require.True(t, status.Acting)
	assert.Equal(t, "front", status.Area)
	assert.InDelta(t, 8, status.Wanted, 0.5)
	explained := e.View(pos).Explain(front)[0].Limiter
	assert.Equal(t, status.Area, explained.Area)
	assert.Equal(t, status.Kind, explained.Kind)
	assert.InDelta(t, status.Wanted, explained.Wanted, 0.5)
	assert.Equal(t, status.LetThrough, explained.LetThrough)
}

// A song may have more, for a reason, and no other.
func TestSongMayHaveMore(t *testing.T) {
	for limit, want := range map[int8]float64{0: 3, 5: 5, 10: 8, 99: 8} {
		e, pos := quiet(t)
		e.prog.Songs[0].Flashes = limit
		e.shown.song = 0
		var w witness
		for n := range 400 { // eight a second
			pos.At += 12500 * clock.Microsecond
			e.Do(Command{Kind: Override, Index: 1, Level: float64(n / 5 % 2)}, pos)
			e.shown.song = 0
			u := e.Frame(pos)
			w.see(pos.At, &u[0])
		}
		assert.Equal(t, want, w.worst[flash.General], "up to %d: flashes in the worst second", limit)
	}
}

// After any music that the limit allows, one press of blackout is there with its
// frame, and so is the work light. A third key that follows at once is no longer.
func TestUrgentKeysAreThereAtOnce(t *testing.T) {
	for phase := range clock.Time(35) { // anywhere in a train at the limit
		for _, key := range []CommandKind{Blackout, WorkLight} {
			e, pos := quiet(t)
			front := dims([]int32{front}, 1)
			pulse(t, e, &pos, dims([]int32{front.Heads[0]}, 0), front, 3, 3*clock.Second+phase*10*clock.Millisecond)
			e.Do(Command{Kind: key}, pos)
			e.Frame(pos)
			want := 0.0
			if key == WorkLight {
				want = 1
			}
			assert.Equal(t, want, e.sentLight[8-2][fixtures.Intensity], "%v, %d ms on: level of the front with the frame of the key", key, phase*10)
		}
	}
}

// A fixture's own strobe is held to the limit; different rates add up, and levels
// that change take their share.
func TestStrobesAreHeldToThree(t *testing.T) {
	shutter := fixtures.Channel{Use: fixtures.Shutter, Param: fixtures.Strobe, Value: 255, Strobe: fixtures.Rates{Slow: 10, Fast: 250, SlowHz: 0.5, FastHz: 20}}
	profile, err := fixtures.NewProfile("flasher", "", []fixtures.Channel{{Param: fixtures.Intensity}, shutter})
	require.NoError(t, err)
	p := &Program{WalkIn: None, WalkOut: None, Talk: None, Pad: None, Notes: NewNotes()}
	var at []fixtures.Placement
	for n := range 2 {
		at = append(at, fixtures.Placement{Name: string(rune('a' + n)), Profile: profile, Address: 1 + 2*n, Head: n})
		p.Heads = append(p.Heads, Head{Name: string(rune('a' + n)), Fixture: int32(n)})
		p.Groups = append(p.Groups, Group{Name: string(rune('a' + n)), Heads: []int32{int32(n)}})
	}
	p.Patch, err = fixtures.NewPatch(1, at)
	require.NoError(t, err)
	e := New(p)
	pos := clock.Position{At: clock.Second}
	hz := func(levels, rates [2]float64) [2]float64 {
		for i := range 2 {
			e.Do(Command{Kind: Override, Index: int32(i), Level: levels[i]}, pos)
			e.Do(Command{Kind: Override, Index: int32(i), Param: fixtures.Strobe, Level: rates[i] / fixtures.MaxStrobe}, pos)
		}
		e.Frame(pos)
		pos.At += 3 * clock.Second
		e.Frame(pos)
		var got [2]float64
		for i := range got {
			got[i] = e.limiter.heads[i].StrobeRate(&e.sentLight[i])
		}
		return got
	}
	for _, c := range []struct{ levels, rates, want [2]float64 }{
		{[2]float64{1, 1}, [2]float64{4, 0}, [2]float64{3, 0}},
		{[2]float64{1, 1}, [2]float64{2, 0}, [2]float64{2, 0}},
		{[2]float64{1, 1}, [2]float64{2, 2}, [2]float64{2, 2}},
		{[2]float64{1, 1}, [2]float64{4, 2}, [2]float64{3 * 3 / 5.0, 2 * 3 / 5.0}}, // each by itself first,
		{[2]float64{1, 1}, [2]float64{4, 0.55}, [2]float64{3 * 3 / 3.55, 0}},       // too slow for its shutter,
		{[2]float64{0, 0}, [2]float64{4, 3}, [2]float64{4, 3}},                     // dark: nothing flashes
	} {
		got := hz(c.levels, c.rates)
		for i := range got {
			if !assert.InDelta(t, c.want[i], got[i], 1e-9, "levels %v, %v Hz", c.levels, c.rates) {
				break
			}
		}
	}
	e.Do(Command{Kind: Override, Index: 0, Param: fixtures.Strobe, Level: 1}, pos)
	e.Do(Command{Kind: Override, Index: 1, Param: fixtures.Strobe, Level: 0}, pos)
	for n := range 4 {
		pos.At += 100 * clock.Millisecond
		e.Do(Command{Kind: Override, Index: 0, Level: float64((n + 1) % 2)}, pos)
		e.Frame(pos)
	}
	pos.At += 100 * clock.Millisecond
	e.Do(Command{Kind: Override, Index: 0, Level: 1}, pos)
	e.Frame(pos)
	assert.Equal(t, 0.5, e.limiter.heads[0].StrobeRate(&e.sentLight[0]), "after five changes in a second: rate of a strobe in Hz")
}

// A reload in the middle of it keeps the count.
func TestReloadKeepsTheCount(t *testing.T) {
	e, pos := quiet(t)
	var w witness
	for n := range 600 {
		pos.At += 10 * clock.Millisecond
		e.Do(Command{Kind: Override, Index: 1, Level: float64(n / 6 % 2)}, pos)
		u := e.Frame(pos)
		w.see(pos.At, &u[0])
		if n%45 == 44 {
			to := *e.prog
			r, err := NewReload(e.prog, &to)
			require.NoError(t, err)
			require.True(t, e.Reload(r, pos))
		}
	}
	assert.LessOrEqual(t, w.worst[flash.General], 3.0, "flashes in the worst second")
}

// Who asks why is shown what was let through, and the layer that did it.
func TestLimiterIsExplained(t *testing.T) {
	e, pos := quiet(t)
	pulse(t, e, &pos, dims(lamps, 1), dims(lamps, 0), 10, 2*clock.Second+10*clock.Millisecond)
	pos.At += 10 * clock.Millisecond
	e.Do(Command{Kind: ShowLook, Index: int32(len(e.prog.Looks)) - 1}, pos)
	e.Frame(pos)
	x := e.View(pos).Explain(lamp1)[0]
	require.Equal(t, e.sentLight[lamp1], x.State, "explained")
	assert.Equal(t, FlashLayer, x.Steps[x.Decider(fixtures.Intensity)].Layer, "decided")
	assert.False(t, slices.ContainsFunc(e.View(pos).Explain(front)[0].Steps, func(s Step) bool { return s.Layer == FlashLayer }), "it says that the front was held back, which was not")
}
