package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
	"tactus/protocol/dmx"
)

// A journal that nobody empties counts what does not fit and tells where.
func TestJournalCountsWhatDoesNotFit(t *testing.T) {
	j := engine.NewJournal(2)
	for i := range 5 {
		j.Append(&engine.Record{Kind: engine.RecordFrame, Frame: uint64(i)})
	}
	<-j.Records()
	<-j.Records()
	j.Append(&engine.Record{Kind: engine.RecordFrame, Frame: 5})
	j.Close()
	var got []engine.Record
	for r := range j.Records() {
		got = append(got, r)
	}
	if assert.Len(t, got, 2) {
		assert.Equal(t, engine.RecordGap, got[0].Kind)
		assert.EqualValues(t, 3, got[0].Count)
		assert.EqualValues(t, 5, got[1].Frame)
	}
	(*engine.Journal)(nil).Append(&engine.Record{Kind: engine.RecordFrame})
}

// The sum is CRC-32C, reckoned here bit by bit as RFC 3720, 12.1 and B.4 have it.
func TestSumIsCRC32C(t *testing.T) {
	u := make([]dmx.Universe, 2)
	for i := range u[1].Slots {
		u[1].Slots[i] = byte(i * 7)
	}
	want := ^uint32(0)
	for i := range u {
		for _, b := range u[i].Slots {
			want ^= uint32(b)
			for range 8 {
				want = want>>1 ^ 0x82f63b78&-(want&1)
			}
		}
	}
	assert.Equal(t, ^want, engine.Sum(u))
}
