package panel

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"unicode"

	"tactus/shows/language"
	"tactus/shows/smf"
)

// maxMIDIFile is the greatest length of a MIDI file in bytes. What a DAW exports of one
// song has a fiftieth of it; "tactus import midi" takes larger ones.
const maxMIDIFile = 1 << 20

// SongRead is a song as it was read from a MIDI file. The edit "import song" adds it.
type SongRead struct {
	Name     string   `json:"name"`
	Text     string   `json:"text"`     // of the song's file
	Sections int      `json:"sections"` // how many it has
	Time     string   `json:"time"`     // as planned: 3:20
	Notes    []string `json:"notes"`    // what was moved or left out
	Proposed bool     `json:"proposed"` // the file has no markers: the sections are proposals
}

// midiFile reads a song from a MIDI file, which is the request's body. It changes nothing.
func (p *Panel) midiFile(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	src, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxMIDIFile))
	if tooLong := (*http.MaxBytesError)(nil); errors.As(err, &tooLong) {
		refuse(w, http.StatusRequestEntityTooLarge, fmt.Errorf("the file has more than %d bytes, too many for one song; 'tactus import midi' reads larger ones", tooLong.Limit))
		return
	}
	if err != nil {
		refuse(w, http.StatusBadRequest, err)
		return
	}
	turn := p.composing.reading
	select {
	case turn <- struct{}{}:
	case <-r.Context().Done():
		refuse(w, http.StatusServiceUnavailable, errGone)
		return
	}
	read, err := songRead(src, r.URL.Query().Get("name"))
	<-turn
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("no song could be read from the file: %w", err))
		return
	}
	send(w, http.StatusOK, read)
}

// songRead reads a song from a MIDI file. name is the song's if the file has none.
func songRead(src []byte, name string) (*SongRead, error) {
	m, err := smf.Read(src, strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, name))
	if err != nil {
		return nil, err
	}
	s := &m.Song
	return &SongRead{
		Name: s.Name, Text: string(m.AppendTo(nil)), Sections: len(s.Sections), Time: language.Minutes(s.TimeAt(s.Length())),
		Notes: append([]string{}, m.Left...), Proposed: len(m.Proposed()) > 0,
	}, nil
}
