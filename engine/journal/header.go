package journal

import (
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tactus/clock"
)

// ErrHeader is in every error about the head of a journal.
var ErrHeader = errors.New("journal: not a journal's header")

// firstLine names the form and its version.
const firstLine = "tactus journal 1"

// Bounds of a checkpoint in a head, in bytes.
const (
	checkpointPart = 4500 // a line: 6000 characters
	maxCheckpoint  = 64 << 20
)

// Header says what was played and with what: all that a replay needs besides the
// records and the show.
type Header struct {
	Show    string    // its name on the command line: a folder, or "demo"
	Content string    // SHA-256 of its files, in hex
	Set     string    // name of the set list
	Program string    // what wrote it: version and processor
	Started time.Time // the wall clock at time 0
	Clock   clock.Config
	Lead    clock.Time // the longest of all universes

	// The output as flags changed it:
	To, Interface, Protocol string
	CID                     [16]byte // of sACN; zeros without it

	// Checkpoint is the state that the run went on with after a crash: see
	// engine.RestoreCheckpoint. Nil: it began with the show. It is written as lines of
	// base64 (RFC 4648, 4).
	Checkpoint []byte
}

// AppendTo appends the head with the empty line that ends it.
func (h *Header) AppendTo(b []byte) []byte {
	b = append(append(b, firstLine...), '\n')
	for _, f := range []struct{ key, value string }{
		{"show", strconv.Quote(h.Show)},
		{"content", h.Content},
		{"set", strconv.Quote(h.Set)},
		{"program", strconv.Quote(h.Program)},
		{"started", h.Started.UTC().Format(time.RFC3339Nano)},
		{"clock", fmt.Sprintf("lead %d internal %d ahead %s", h.Clock.Lead, h.Clock.Internal, appendTime(nil, h.Clock.Ahead))},
		{"lead", string(appendTime(nil, h.Lead))},
		{"to", strconv.Quote(h.To)},
		{"interface", strconv.Quote(h.Interface)},
		{"protocol", strconv.Quote(h.Protocol)},
		{"cid", hex.EncodeToString(h.CID[:])},
	} {
		b = append(append(append(append(b, f.key...), ' '), f.value...), '\n')
	}
	for part := range slices.Chunk(h.Checkpoint, checkpointPart) {
		b = append(base64.StdEncoding.AppendEncode(append(b, "checkpoint "...), part), '\n')
	}
	return append(b, '\n')
}

// quoted returns the values that are written as quoted text, by key.
func (h *Header) quoted() map[string]*string {
	return map[string]*string{
		"show": &h.Show, "set": &h.Set, "program": &h.Program,
		"to": &h.To, "interface": &h.Interface, "protocol": &h.Protocol,
	}
}

// parseLine reads a line of the head. It skips keys of later versions.
func (h *Header) parseLine(line string) error {
	key, value, _ := strings.Cut(line, " ")
	var err error
	if text := h.quoted()[key]; text != nil {
		*text, err = strconv.Unquote(value)
	}
	switch key {
	case "content":
		h.Content = value
	case "started":
		h.Started, err = time.Parse(time.RFC3339Nano, value)
	case "clock":
		w := newLineParser(value)
		h.Clock.Lead = clock.Lead(w.optionalUint("lead", 8))
		h.Clock.Internal = clock.Tempo(w.optionalInt("internal", 64))
		w.acceptOrFail("ahead")
		h.Clock.Ahead = w.duration()
		err = w.end()
	case "lead":
		w := newLineParser(value)
		h.Lead = w.duration()
		err = w.end()
	case "checkpoint":
		var part []byte
		part, err = base64.StdEncoding.DecodeString(value)
		if len(h.Checkpoint)+len(part) > maxCheckpoint {
			err = fmt.Errorf("longer than %d bytes", maxCheckpoint)
		}
		h.Checkpoint = append(h.Checkpoint, part...)
	case "cid":
		var cid []byte
		if cid, err = hex.DecodeString(value); err == nil && len(cid) != len(h.CID) {
			err = fmt.Errorf("have %d bytes, need %d", len(cid), len(h.CID))
		}
		copy(h.CID[:], cid)
	}
	if err != nil {
		return fmt.Errorf("%w: %s: %w", ErrHeader, key, err)
	}
	return nil
}
