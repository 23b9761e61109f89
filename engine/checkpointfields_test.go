package engine

import (
	"fmt"
	"reflect"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// filler sets every number, text and truth value to another one than zero.
type filler struct {
	n    int64
	left map[string]bool // fields that stay, by path; true once met
}

func (f *filler) fill(v reflect.Value, path string) {
	if _, left := f.left[path]; left {
		f.left[path] = true
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Field(i)
			f.fill(reflect.NewAt(field.Type(), unsafe.Pointer(field.UnsafeAddr())).Elem(), path+"."+v.Type().Field(i).Name)
		}
	case reflect.Array, reflect.Slice:
		if v.Kind() == reflect.Slice && v.Len() == 0 {
			panic(path + " is empty: say what becomes of it")
		}
		for i := range v.Len() {
			f.fill(v.Index(i), path)
		}
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		f.n++
		v.SetFloat(0.001 + float64(f.n%900)/1000) // a level
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		f.n++
		v.SetInt(1 + f.n%100)
	case reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		f.n++
		v.SetUint(uint64(1 + f.n%100))
	case reflect.String:
		f.n++
		v.SetString(fmt.Sprint("text ", f.n))
	default:
		panic(fmt.Sprintf("%s is a %s: say here and in code what becomes of it", path, v.Kind()))
	}
}

// filled is a loop without a zero in all that a checkpoint has. Indexes are in their range.
// Fields that are not in a checkpoint are named here, with the reason.
func filled(t *testing.T, p *Program) *Loop {
	t.Helper()
	l := NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{})})
	f := &filler{left: map[string]bool{
		".cue": false, ".palette": false, // indexes; set below
		".lookPalette": false, ".limiter.heads": false, ".limiter.headAt": false, ".limiter.groupAt": false, ".limiter.areas.Area": false, // follow from the program
		".lostEffects":    false,                                                                                  // lost, as its comment says
		".limiter.wanted": false, ".limiter.allowed": false, ".limiter.share": false, ".limiter.areas.sum": false, // worked out in each frame before they are read
	}}
	m := &l.engine.memory
	f.fill(reflect.ValueOf(m).Elem(), "")
	for path, met := range f.left {
		require.True(t, met, "%s is no field of the memory", path)
	}
	s := &m.State
	s.play.song, s.play.section, s.play.cue, s.play.setListIndex = 1, 1, 1, 1
	s.play.armed = armed{section: 1, song: 1, boundary: 3, when: NextPhrase, fromNote: true, byHand: true}
	s.play.soon = armed{section: 1, song: 1, boundary: 4, when: SectionEnd, fromNote: true, byHand: true}
	s.play.programSong, s.play.left.song, s.play.left.place = 1, 1, 1
	for i := range s.overrides.list {
		s.overrides.list[i].group, s.overrides.list[i].param = 1, fixtures.Strobe
	}
	s.overrides.house.group, s.overrides.house.param = 1, fixtures.Strobe
	s.feel.old.rate, s.feel.now.rate = 1, 4
	s.shown = shownCue{song: 1, list: 0, cue: 1}
	s.programs.Song = 1
	m.cue, m.palette, m.meter = m.shown.cueIn(p), &p.Songs[1].Palette, Meter{6, 8}
	m.limiter.status.Kind = 1
	for i := range m.limiter.areas {
		a := &m.limiter.areas[i]
		for _, c := range [...]any{&a.letThrough, &a.wanted} {
			v := reflect.ValueOf(c).Elem()
			for _, at := range [...]string{"luminance", "red"} {
				way := v.FieldByName(at).FieldByName("way")
				reflect.NewAt(way.Type(), unsafe.Pointer(way.UnsafeAddr())).Elem().SetInt(-1)
			}
		}
		for _, c := range [...]any{&m.limiter.times[i].letThrough, &m.limiter.times[i].wanted} {
			counts := reflect.ValueOf(c).Elem().FieldByName("counts")
			for k := range counts.Len() {
				n, head := counts.Index(k).FieldByName("n"), counts.Index(k).FieldByName("head")
				reflect.NewAt(n.Type(), unsafe.Pointer(n.UnsafeAddr())).Elem().SetInt(48)
				reflect.NewAt(head.Type(), unsafe.Pointer(head.UnsafeAddr())).Elem().SetInt(11)
			}
		}
	}
	f.left = map[string]bool{"frames.engine": false, "frames.clock": false, "frames.onHandled": false} // the program's own
	f.fill(reflect.ValueOf(&l.frames).Elem(), "frames")
	l.rate, l.grid.rate, l.grid.i, l.tempoSong = dmx.MaxRate, dmx.MaxRate, 7, 1
	l.announced.Kind = clock.Planned
	f.left = map[string]bool{
		"health.Late": false, "health.WorstAt": false, "health.LastErr": false, // of the process
		"health.Arrivals": false, "health.BarOffset": false, // follow from the clock and the evidence
	}
	f.fill(reflect.ValueOf(&l.health).Elem(), "health")
	f.left = nil
	f.fill(reflect.ValueOf(&l.evidence).Elem(), "evidence")
	l.evidence.usualNotes, l.evidence.agreeing = 2, 3
	return l
}

// A checkpoint has every field: one that is added later and forgotten fails here.
func TestCheckpointHasEveryField(t *testing.T) {
	p := asPlayed(t)
	l := filled(t, p)
	l.config.Origin = clock.Origin{Boot: "boot", Steady: true, System: 3, Wall: 4}
	l.madeAt = 5
	b := l.AppendCheckpoint([]byte("before"))[len("before"):]
	info, err := ReadCheckpoint(append(b, "after"...))
	require.NoError(t, err)
	assert.Equal(t, CheckpointInfo{Show: p.Name, Origin: l.config.Origin, At: 5, Frame: l.health.Frames}, info)
	from, err := RestoreCheckpoint(p, b)
	require.NoError(t, err)
	assert.Equal(t, info, from.Info)
	want, got := &l.engine.memory, &from.frames.engine.memory
	assert.Same(t, want.cue, got.cue)
	assert.Same(t, want.palette, got.palette)
	m, n := &want.limiter, &got.limiter
	m.wanted, m.allowed, m.share, n.wanted, n.allowed, n.share = nil, nil, nil, nil, nil, nil
	require.Equal(t, want, got)
	l.frames.engine, l.frames.clock, l.onHandled, from.frames.engine, from.frames.clock = nil, nil, nil, nil, nil
	require.Equal(t, l.frames, from.frames)
	require.Equal(t, l.evidence, from.evidence)
	l.health.Arrivals, from.health.Arrivals = clock.Arrivals{}, clock.Arrivals{}
	require.Equal(t, l.health, from.health)
	t.Logf("%d bytes for %d heads", len(b), len(p.Heads))
}

// Every index that a program lacks is an error, never a panic.
func TestCheckpointIndexesAreChecked(t *testing.T) {
	p := asPlayed(t)
	for name, row := range map[string]struct {
		change func(l *Loop)
		says   string
	}{
		"song":       {func(l *Loop) { l.engine.play.left.song = int32(len(p.Songs)) }, "index of a song is"},
		"below none": {func(l *Loop) { l.engine.programs.Song = -2 }, "index of a song is -2"},
		"place":      {func(l *Loop) { l.engine.play.setListIndex = len(p.SetList) }, "a place in the set list is"},
		"armed":      {func(l *Loop) { l.engine.play.armed.section = 99 }, "index of an armed section is 99"},
		"when":       {func(l *Loop) { l.engine.play.soon.when = numWhen }, "boundary of what is armed is 5"},
		"section":    {func(l *Loop) { l.engine.play.section = 99 }, "index of the present section is 99"},
		"param":      {func(l *Loop) { l.engine.overrides.house.param = fixtures.NumParams }, "parameter of an override is 10"},
		"level":      {func(l *Loop) { l.engine.masters.all.goal = 1.1 }, "a level is 1.1, must be 0 to 1"},
		"rate":       {func(l *Loop) { l.rate = 45 }, "rate in frames a second is 45, must be 1 to 44"},
		"note grid":  {func(l *Loop) { l.engine.play.noteGrid = 0 }, "notes are moved to steps of 0"},
		"meter":      {func(l *Loop) { l.engine.meter.Lower = 0 }, "4/0"},
		"notes":      {func(l *Loop) { l.evidence.agreeing = 4 }, "notes that agree is 4, must be 0 to 3"},
		"changes":    {func(l *Loop) { l.tempoChanges = -1 }, "changes of tempo is -1"},
	} {
		l := filled(t, p)
		l.engine.meter = common
		row.change(l)
		_, err := RestoreCheckpoint(p, l.AppendCheckpoint(nil))
		require.ErrorIs(t, err, clock.ErrCheckpoint, name)
		assert.ErrorContains(t, err, row.says, name)
	}
}

// A checkpoint of another show is refused, with what differs; so is a damaged one.
func TestCheckpointOfAnotherShow(t *testing.T) {
	p := asPlayed(t)
	b := NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{})}).AppendCheckpoint(nil)
	fewer, other, groups := *p, *p, *p
	fewer.Songs = p.Songs[:1]
	fewer.SetList = nil
	other.Looks = append([]Cue{}, p.Looks...)
	other.Looks[0].Name = "another"
	groups.Groups = append([]Group{}, p.Groups...)
	groups.Groups[0].Name = "another"
	for says, show := range map[string]*Program{
		fmt.Sprintf("it has %d songs, this show 1", len(p.Songs)): &fewer, "other names or places": &other,
		"group 1 has another name": &groups, "it has 8 heads, this show 64": rigOf(t, 64, 1),
	} {
		_, err := RestoreCheckpoint(show, b)
		require.ErrorIs(t, err, clock.ErrCheckpoint)
		if says == "it has 8 heads, this show 64" {
			continue // songs differ too, and are named first
		}
		assert.ErrorContains(t, err, says)
	}
	for n := 0; n < len(b); n += 1 + n/5 {
		_, err := RestoreCheckpoint(p, b[:n])
		require.ErrorIs(t, err, clock.ErrCheckpoint, n)
		require.ErrorContains(t, err, "need", n)
		bad := append([]byte{}, b...)
		bad[n] ^= 4
		_, err = ReadCheckpoint(bad)
		require.ErrorIs(t, err, clock.ErrCheckpoint, n)
	}
}

// FuzzCheckpoint changes a checkpoint, mends its length and checksum, and restores it: an
// error, or a show whose frames can be made.
func FuzzCheckpoint(f *testing.F) {
	p := asPlayed(f)
	l := NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{})})
	b := l.AppendCheckpoint(nil)
	f.Add(0, []byte{}, len(b))
	f.Add(300, []byte{255, 255}, len(b))
	f.Add(8000, []byte{1, 2, 3, 4, 5, 6, 7, 8}, 20000)
	f.Fuzz(func(t *testing.T, at int, change []byte, length int) {
		c := append([]byte{}, b[:min(max(length, 0), len(b))]...)
		if at >= 0 && at < len(c) {
			copy(c[at:], change)
		}
		tryCheckpoint(t, p, mended(c))
	})
}

// The same with changes drawn at random, at places that an index may have.
func TestAnyCheckpoint(t *testing.T) {
	p := asPlayed(t)
	l := filled(t, p)
	l.engine.meter = common
	b := l.AppendCheckpoint(nil)
	own := len(b) - len(l.clock.AppendCheckpoint(nil))
	rapid.Check(t, func(t *rapid.T) {
		c := append([]byte{}, b...)
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			at := rapid.IntRange(0, own-8).Draw(t, "at")
			copy(c[at:], rapid.SliceOfN(rapid.SampledFrom([]byte{0, 1, 2, 127, 128, 254, 255}), 1, 8).Draw(t, "bytes"))
		}
		tryCheckpoint(t, p, mended(c))
	})
}

// mended returns a checkpoint with its length and checksum right.
func mended(b []byte) []byte {
	if len(b) < checkpointHead+checkpointTail {
		return b
	}
	return sealCheckpoint(b[:len(b)-checkpointTail], 0)
}

func tryCheckpoint(t require.TestingT, p *Program, b []byte) {
	from, err := RestoreCheckpoint(p, b)
	if err != nil {
		require.ErrorIs(t, err, clock.ErrCheckpoint)
		return
	}
	r := ResumeReplay(from)
	for n := range uint64(4) {
		r.PlayRecord(&Record{Kind: RecordCommand, At: clock.Time(n) * clock.Second / 44, Command: Command{Kind: FireNote, Index: int32(60 + n)}})
		r.PlayRecord(&Record{Kind: RecordFrame, At: clock.Time(n) * clock.Second / 44, Frame: n})
		r.Status()
		r.engine.nextMark(r.pos)
		r.engine.plannedEvent(r.pos)
	}
}
