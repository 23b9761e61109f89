package journal

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"tactus/clock"
)

// ErrHeader is in every error about the head of a journal.
var ErrHeader = errors.New("journal: not the head of a journal")

// firstLine is the first line: what it is, and the version of the form.
const firstLine = "tactus journal 1"

// Header says what was played and with what: all that a replay needs beside the
// records and the show.
type Header struct {
	Show    string    // as it was named: a folder, or "demo"
	Content string    // SHA-256 of its files, in hex
	Set     string    // name of the set list
	Program string    // what wrote it: version and processor
	Started time.Time // the wall clock at time 0
	Clock   clock.Config
	Lead    clock.Time // the longest that any universe had

	// Where the light went, as flags changed it:
	To, Interface, Protocol string
	CID                     [16]byte // of sACN; zeros without
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
	return append(b, '\n')
}

// parseLine takes a line of the head. Keys of later versions are passed over.
func (h *Header) parseLine(line string) error {
	key, value, _ := strings.Cut(line, " ")
	var err error
	switch key {
	case "show":
		h.Show, err = strconv.Unquote(value)
	case "content":
		h.Content = value
	case "set":
		h.Set, err = strconv.Unquote(value)
	case "program":
		h.Program, err = strconv.Unquote(value)
	case "started":
		h.Started, err = time.Parse(time.RFC3339Nano, value)
	case "to":
		h.To, err = strconv.Unquote(value)
	case "interface":
		h.Interface, err = strconv.Unquote(value)
	case "protocol":
		h.Protocol, err = strconv.Unquote(value)
	case "clock", "lead":
		w := &lineParser{rest: strings.Split(value, " ")}
		if key == "lead" {
			h.Lead = w.duration()
		} else {
			h.Clock.Lead = clock.Lead(w.optionalUint("lead", 8))
			h.Clock.Internal = clock.Tempo(w.optionalInt("internal", 64))
			w.acceptOrFail("ahead")
			h.Clock.Ahead = w.duration()
		}
		w.expect(len(w.rest) == 0, "its end")
		if w.fault != "" {
			err = fmt.Errorf("%s is wrong", w.fault)
		}
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
