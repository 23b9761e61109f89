package stream

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
)

func head() journal.Header {
	return journal.Header{Show: "Harbour Hall", Set: "friday", Program: "test", Lead: 20 * clock.Millisecond}
}

// written is one message of each kind.
func written() []byte {
	h := head()
	var b []byte
	b = AppendJSON(b, KindHello, Hello{Version: Version, Program: "test", Run: 9, State: State{Turn: 3, OnLamps: true}})
	b = AppendFixed(b, KindState, State{Turn: 1 << 40, Synced: true, Raised: -1, Frames: 12, Differing: 1})
	b = Append(b, KindFollow, []byte("5b1c"))
	b = Append(b, KindHead, h.AppendTo(nil))
	b = Append(b, KindShow, []byte("an archive"))
	b = Append(b, KindCheckpoint, nil)
	b = AppendRecord(b, &engine.Record{Kind: engine.RecordFrame, At: 3 * clock.Second, Frame: 7, Sum: 0x8f3a90c1, NoteAt: -4})
	b = AppendFixed(b, KindAskTime, clock.Time(5))
	b = AppendFixed(b, KindTime, Time{5, -6})
	b = Append(b, KindChangeOver, nil)
	b = Append(b, KindYours, nil)
	return AppendJSON(b, KindBye, Bye{Over: true, Reason: "the show is over"})
}

func TestMessagesComeBack(t *testing.T) {
	r := NewReader(bytes.NewReader(written()))
	next := func(want Kind) []byte {
		t.Helper()
		k, payload, err := r.Next()
		require.NoError(t, err)
		require.Equal(t, want, k)
		return payload
	}
	var hello Hello
	require.NoError(t, ParseJSON(next(KindHello), &hello))
	assert.Equal(t, Hello{Version, "test", 9, State{Turn: 3, OnLamps: true}}, hello)
	var state State
	require.NoError(t, ParseFixed(next(KindState), &state))
	assert.Equal(t, State{Turn: 1 << 40, Synced: true, Raised: -1, Frames: 12, Differing: 1}, state)
	assert.Equal(t, "5b1c", string(next(KindFollow)))
	h, err := ParseHead(next(KindHead))
	require.NoError(t, err)
	assert.Equal(t, "Harbour Hall", h.Show)
	assert.Equal(t, 20*clock.Millisecond, h.Lead)
	assert.Equal(t, "an archive", string(next(KindShow)))
	assert.Empty(t, next(KindCheckpoint))
	rec, err := ParseRecord(next(KindRecord))
	require.NoError(t, err)
	assert.Equal(t, engine.Record{Kind: engine.RecordFrame, At: 3 * clock.Second, Frame: 7, Sum: 0x8f3a90c1, NoteAt: -4}, rec)
	var asked clock.Time
	require.NoError(t, ParseFixed(next(KindAskTime), &asked))
	assert.EqualValues(t, 5, asked)
	var at Time
	require.NoError(t, ParseFixed(next(KindTime), &at))
	assert.Equal(t, Time{5, -6}, at)
	next(KindChangeOver)
	next(KindYours)
	var bye Bye
	require.NoError(t, ParseJSON(next(KindBye), &bye))
	assert.Equal(t, Bye{true, "the show is over"}, bye)
	_, _, err = r.Next()
	assert.ErrorIs(t, err, io.EOF)
}

// A message that is longer than its kind may be is refused before it is read.
func TestLimits(t *testing.T) {
	for k := range Kind(255) {
		most := limit(k)
		assert.Equal(t, k >= KindHello && k < numKinds, most >= 0, "kind %d is known", k)
		tooLong := []byte{byte(k), 0xff, 0xff, 0xff, 0xff}
		_, _, err := NewReader(bytes.NewReader(tooLong)).Next()
		assert.ErrorIs(t, err, ErrMessage, "kind %d", k)
		if most >= 0 {
			_, payload, err := NewReader(bytes.NewReader(Append(nil, k, make([]byte, most)))).Next()
			assert.NoError(t, err, "kind %d", k)
			assert.Len(t, payload, most, "kind %d", k)
		}
	}
}

func TestWrongPayloads(t *testing.T) {
	assert.ErrorIs(t, ParseFixed([]byte{1, 2}, &State{}), ErrMessage)
	assert.ErrorIs(t, ParseFixed(make([]byte, 17), &Time{}), ErrMessage, "a byte too many")
	assert.ErrorIs(t, ParseJSON([]byte("{"), &Hello{}), ErrMessage)
	_, err := ParseRecord([]byte("\x00\x00\x00\x00\x00\x00\x00\x00no record"))
	assert.ErrorIs(t, err, journal.ErrLine)
	_, err = ParseRecord([]byte("short"))
	assert.ErrorIs(t, err, ErrMessage)
	_, err = ParseHead([]byte("no head"))
	assert.Error(t, err)
}

// Whatever comes, reading it ends without a panic, and takes no more memory than has
// come.
func FuzzReader(f *testing.F) {
	f.Add(written())
	f.Add([]byte{byte(KindShow), 0, 0xff, 0xff, 0xff, 1})
	f.Fuzz(func(t *testing.T, b []byte) {
		r := NewReader(bytes.NewReader(b))
		for {
			k, payload, err := r.Next()
			if err != nil {
				return
			}
			if r.payload.Cap() > 4*len(b)+4096 {
				require.Fail(t, "too large a buffer", "%d bytes for %d that came", r.payload.Cap(), len(b))
			}
			switch k {
			case KindHello:
				_ = ParseJSON(payload, &Hello{})
			case KindBye:
				_ = ParseJSON(payload, &Bye{})
			case KindState:
				_ = ParseFixed(payload, &State{})
			case KindTime:
				_ = ParseFixed(payload, &Time{})
			case KindRecord:
				_, _ = ParseRecord(payload)
			case KindHead:
				_, _ = ParseHead(payload)
			}
		}
	})
}
