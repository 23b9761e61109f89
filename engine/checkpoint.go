package engine

import (
	"encoding/binary"
	"hash/crc32"

	"tactus/clock"
)

// CheckpointVersion is the form of checkpoints that this program writes, and the only one
// that it reads.
const CheckpointVersion = 1

// checkpointMark begins every checkpoint.
const checkpointMark = "tactus checkpoint\n"

// Lengths, in bytes, of what stands around a checkpoint's content.
const (
	checkpointHead = len(checkpointMark) + 16 // mark, version, length
	checkpointTail = 4                        // CRC-32C
)

// CheckpointInfo says what a checkpoint is of, before it is restored.
type CheckpointInfo struct {
	Show   string       // Program.Name
	Origin clock.Origin // LoopConfig.Origin: where its times lie on the computer's clocks
	At     clock.Time   // when its last frame was made
	Frame  uint64       // the number of the next frame
}

func (i *CheckpointInfo) code(c *clock.Coder) {
	c.Text(&i.Show)
	i.Origin.Code(c)
	clock.CodeInts(c, &i.At)
	clock.CodeInts(c, &i.Frame)
}

// checkpoint is what a checkpoint has of a loop, or of a replay of one.
type checkpoint struct {
	info     CheckpointInfo
	frames   *frames
	evidence *barEvidence
	health   *Health
}

// append appends the checkpoint to b. It allocates nothing if b has room.
func (k *checkpoint) append(b []byte) []byte {
	from := len(b)
	c := clock.CoderTo(append(b, checkpointMark...))
	version, length := CheckpointVersion, 0
	clock.CodeInts(&c, &version, &length)
	k.info.code(&c)
	k.code(&c)
	return sealCheckpoint(k.frames.clock.AppendCheckpoint(c.Bytes()), from)
}

// sealCheckpoint writes the length and the checksum of the checkpoint that begins at from.
func sealCheckpoint(b []byte, from int) []byte {
	binary.LittleEndian.PutUint64(b[from+checkpointHead-8:], uint64(len(b)-from+checkpointTail))
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], crc32.MakeTable(crc32.Castagnoli)))
}

// code codes all but the head and the clock.
func (k *checkpoint) code(c *clock.Coder) {
	e := k.frames.engine
	groups := e.identity.code(c)
	if c.Err() != nil {
		return
	}
	e.memory.code(c, e.prog, groups)
	k.frames.code(c)
	k.evidence.code(c)
	clock.CodeInts(c, &k.health.Frames, &k.health.Missed, &k.health.Errors)
	clock.CodeInts(c, &k.health.LastGood)
}

// ReadCheckpoint checks a checkpoint's form and checksum, and says what it is of. b may
// be longer than the checkpoint. Errors wrap clock.ErrCheckpoint.
func ReadCheckpoint(b []byte) (CheckpointInfo, error) {
	info, _, err := openCheckpoint(b)
	return info, err
}

// openCheckpoint returns a Coder for what follows the info.
func openCheckpoint(b []byte) (info CheckpointInfo, c clock.Coder, err error) {
	c = clock.CoderFrom(b)
	mark := make([]byte, len(checkpointMark))
	c.ByteList(mark)
	version, length := 0, 0
	if clock.CodeInts(&c, &version, &length); c.Err() == nil {
		switch {
		case string(mark) != checkpointMark:
			c.Failf("it begins with %q, not with %q", mark, checkpointMark)
		case version != CheckpointVersion:
			c.Failf("its form is version %d, this program reads version %d", version, CheckpointVersion)
		case length < checkpointHead+checkpointTail || length > len(b):
			c.Failf("cut off: have %d bytes, need %d", len(b), length)
		}
	}
	if c.Err() != nil {
		return info, c, c.Err()
	}
	end := length - checkpointTail
	stored, sum := binary.LittleEndian.Uint32(b[end:]), crc32.Checksum(b[:end], crc32.MakeTable(crc32.Castagnoli))
	if stored != sum {
		c.Failf("its checksum is %08x, must be %08x", sum, stored)
		return info, c, c.Err()
	}
	c = clock.CoderFrom(b[checkpointHead:end])
	info.code(&c)
	return info, c, c.Err()
}

// Restored is a show as a checkpoint has it, with all that later frames depend on. A Loop
// goes on from it live (LoopConfig.Resume), a Replay by the records that came after it
// (ResumeReplay). It is used once.
type Restored struct {
	Info CheckpointInfo

	frames   frames
	evidence barEvidence
	health   Health
}

// RestoreCheckpoint makes a show from a checkpoint of the same show. All memory that frames need is
// allocated here. Errors wrap clock.ErrCheckpoint and name what differs: a checkpoint of
// another show, of another version, or damaged.
func RestoreCheckpoint(p *Program, b []byte) (*Restored, error) {
	info, c, err := openCheckpoint(b)
	if err != nil {
		return nil, err
	}
	r := &Restored{Info: info, frames: frames{engine: New(p)}}
	k := checkpoint{frames: &r.frames, evidence: &r.evidence, health: &r.health}
	if k.code(&c); c.Err() != nil {
		return nil, c.Err()
	}
	transport, rest, err := clock.RestoreTransport(c.Bytes())
	if err != nil {
		return nil, err
	}
	if len(rest) != 0 {
		c.Failf("%d bytes too many", len(rest))
		return nil, c.Err()
	}
	r.frames.clock, r.health.Arrivals = transport, transport.Arrivals()
	r.frames.engine.showRestored()
	return r, nil
}

// Engine returns the engine. It belongs to the Loop or Replay that goes on from it.
func (r *Restored) Engine() *Engine { return r.frames.engine }

// Clock returns the transport, like Engine.
func (r *Restored) Clock() *clock.Transport { return r.frames.clock }

// showRestored makes the universes of the last frame again, for those who look on before
// the next.
func (e *Engine) showRestored() {
	copy(e.sentLight, e.limiter.statesBefore)
	e.prog.Patch.Encode(e.universes, e.sentLight)
}
