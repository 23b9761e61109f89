package clock

import (
	"fmt"
	"reflect"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fill sets every number and truth value below v to another one than zero, each different
// from the one before. Fields of the paths in skip stay.
func fill(v reflect.Value, path string, n *int64, skip map[string]bool) {
	if skip[path] {
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Field(i)
			fill(reflect.NewAt(f.Type(), unsafe.Pointer(f.UnsafeAddr())).Elem(), path+"."+v.Type().Field(i).Name, n, skip)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), path, n, skip)
		}
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		*n++
		v.SetFloat(float64(*n) + 0.5)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		*n++
		v.SetInt(1 + *n%100)
	case reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		*n++
		v.SetUint(uint64(1 + *n%100))
	default:
		panic(fmt.Sprintf("%s is a %s: say here and in code what becomes of it", path, v.Kind()))
	}
}

// filled is a transport without a zero in it. Indexes and counts are in their range; all
// that is not in a checkpoint is named here.
func filled() *Transport {
	t := NewTransport(Config{})
	n := int64(0)
	fill(reflect.ValueOf(t).Elem(), "", &n, map[string]bool{
		".lock.bell": true, ".lock.banks.bell": true, // a table, the same in every lock
		".lock.banks.noise.edges": true, // follow from bin
		".lock.banks.noise.pools": true, // scratch
	})
	t.lead, t.source = LeadTap, MIDI
	t.internal, t.tempo, t.plan.tempo, t.plan.next = BPM(111), BPM(112), BPM(113), BPM(114)
	t.glide.last, t.glide.n, t.taps.n = 3, maxLegs, 5
	l := &t.lock
	l.shown, l.strip.n = wideBank, 7
	for i := range l.banks {
		b := &l.banks[i]
		b.live, b.best, b.proven = maxHyps, 5+i, 6+i
		for k := range b.hyps {
			b.hyps[k].period = minPeriod + float64(i*100+k)
			b.hyps[k].kind = tempoModel(1 + k%int(numTempoModels-1))
		}
		broad := b.noise.broad
		b.noise.setBins(b.noise.bin)
		b.noise.broad = broad
	}
	return t
}

// A checkpoint has every field: one that is added later and forgotten fails here.
func TestCheckpointHasEveryField(t *testing.T) {
	want := filled()
	b := want.AppendCheckpoint([]byte("before"))
	got, rest, err := RestoreTransport(append(b[len("before"):], "after"...))
	require.NoError(t, err)
	assert.Equal(t, "after", string(rest))
	for i := range want.lock.banks {
		want.lock.banks[i].noise.pools = got.lock.banks[i].noise.pools
	}
	require.Equal(t, want, got)
	assert.Equal(t, b[len("before"):], got.AppendCheckpoint(nil), "written again")
	assert.NotNil(t, got.lock.bell)
	t.Logf("%d bytes", len(b)-len("before"))
}

// Every cut, and every index outside its range, is an error with numbers.
func TestBrokenTransportCheckpoints(t *testing.T) {
	b := filled().AppendCheckpoint(nil)
	for n := 0; n < len(b); n += 1 + n/7 {
		_, _, err := RestoreTransport(b[:n])
		require.ErrorIs(t, err, ErrCheckpoint, n)
		require.ErrorContains(t, err, "need", n)
	}
	for name, row := range map[string]struct {
		change func(t *Transport)
		says   string
	}{
		"legs":     {func(t *Transport) { t.glide.last = maxLegs }, "newest leg of the position is 64, must be 0 to 63"},
		"no legs":  {func(t *Transport) { t.glide.n = 0 }, "legs of the position is 0, must be 1 to 64"},
		"best":     {func(t *Transport) { t.lock.banks[0].live, t.lock.banks[0].best = 2, 2 }, "best hypothesis is 2, must be 0 to 1"},
		"model":    {func(t *Transport) { t.lock.banks[0].hyps[3].kind = numTempoModels }, "tempo model of a hypothesis is 5, must be 0 to 4"},
		"taps":     {func(t *Transport) { t.taps.n = -1 }, "taps is -1, must be 0 to 8"},
		"shown":    {func(t *Transport) { t.lock.shown = numBanks + 1 }, "estimate that is shown is 4, must be 0 to 3"},
		"count":    {func(t *Transport) { t.lock.count = -1 }, "count of ticks is -1"},
		"corners":  {func(t *Transport) { t.lock.strip.n = 33 }, "corners of a strip is 33, must be 0 to 32"},
		"tempo":    {func(t *Transport) { t.tempo = 0 }, "the tempo is 0, must be"},
		"no bin":   {func(t *Transport) { t.lock.banks[2].noise.bin = 0 }, "width of a bin in ns is 0"},
		"infinite": {func(t *Transport) { t.base = 1e300 }, "a number is 1e+300"},
	} {
		bad := filled()
		row.change(bad)
		_, _, err := RestoreTransport(bad.AppendCheckpoint(nil))
		require.ErrorIs(t, err, ErrCheckpoint, name)
		assert.ErrorContains(t, err, row.says, name)
	}
}

func TestTransportCheckpointAllocatesNothing(t *testing.T) {
	tr := filled()
	b := tr.AppendCheckpoint(nil)
	assert.Zero(t, testing.AllocsPerRun(20, func() { b = tr.AppendCheckpoint(b[:0]) }))
}
