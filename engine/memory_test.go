package engine

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// An engine that is given another's memory makes the same frames as that one from
// then on, whatever plays, is held, flashes or has been edited; and the two do not
// touch each other.
func TestMemoryIsAllThatAFrameDependsOn(t *testing.T) {
	base := *asPlayed(t)
	held := 0
	rapid.Check(t, func(t *rapid.T) {
		p := wild(t, base)
		before, after := hectic(t, p), hectic(t, p)[1:]
		a, b := newRider(p), newRider(p)
		for _, s := range before { // both clocks have heard the same
			a.do(s, nil)
			b.do(s, nil)
		}
		if rapid.Bool().Draw(t, "edited") {
			r, err := NewReload(p, anyEdit(t, p))
			require.NoError(t, err)
			require.True(t, a.engine.Reload(r, a.clock.At(a.now)))
		}
		b.engine = New(a.engine.prog)
		b.engine.memory.copy(&a.engine.memory)
		if slices.Contains(a.engine.limiter.catchingUp, true) {
			held++
		}
		var frames []dmx.Universe
		for _, s := range after {
			a.do(s, func(u []dmx.Universe, _ clock.Position) { frames = append(frames, u[0]) })
		}
		for _, s := range after {
			b.do(s, func(u []dmx.Universe, pos clock.Position) {
				require.Equal(t, frames[0], u[0], "at %v the frame differs from that of the engine whose memory it has", pos.At.Sub(0))
				frames = frames[1:]
			})
		}
	})
	assert.NotZero(t, held, "no memory was copied while the flash limiter held light back")
}

// A copy shares nothing with its original but what is never written to.
func TestMemoryIsCopiedWhole(t *testing.T) {
	e := New(asPlayed(t))
	e.lostEffects = slices.Clone(e.prog.Effects)
	e.lostEffects[0].Wave.Levels = []float64{0, 1}
	var to memory
	to.copy(&e.memory)
	assert.Equal(t, e.memory, to)
	readOnly := map[string]bool{
		".limiter.heads": true, ".limiter.headAt": true, ".limiter.groupAt": true,
		".limiter.areas[0].Area.Heads": true, ".limiter.areas[0].Area.Shares": true,
		".lostEffects[0].Offsets": true, ".lostEffects[0].Wave.Levels": true,
	}
	lists := 0
	shared(t, "", reflect.ValueOf(&e.memory).Elem(), reflect.ValueOf(&to).Elem(), func(path string) {
		lists++
		assert.True(t, readOnly[path], "%s is shared by a memory and its copy", path)
	})
	assert.Equal(t, len(readOnly), lists, "the walk has not met each list that is read-only")
}

// shared reports each list that two values of a type have in common.
func shared(t *testing.T, path string, a, b reflect.Value, report func(string)) {
	switch a.Kind() {
	case reflect.Struct:
		for i := range a.NumField() {
			shared(t, path+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i), report)
		}
	case reflect.Array:
		if a.Len() > 0 {
			shared(t, path+"[0]", a.Index(0), b.Index(0), report)
		}
	case reflect.Slice:
		require.NotZero(t, a.Len(), "%s is empty: nothing can be told of it", path)
		if a.Pointer() == b.Pointer() {
			report(path)
			return
		}
		shared(t, path+"[0]", a.Index(0), b.Index(0), report)
	case reflect.Map, reflect.Chan, reflect.Func, reflect.Interface:
		assert.Fail(t, "a memory has none", "%s is a %s", path, a.Kind())
	}
}
