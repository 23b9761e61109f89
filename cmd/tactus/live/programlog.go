package live

import (
	"github.com/rs/zerolog"

	"tactus/engine"
)

const songChosen = "the song that a program change armed is chosen"

// programLog logs what MIDI program changes do beyond choosing a song at once.
type programLog struct{ told engine.ProgramStatus }

// update takes the next snapshot and logs what is new.
func (l *programLog) update(s *engine.Snapshot, log zerolog.Logger) {
	now, before := s.Status.Programs, l.told
	l.told = now
	if now.Armed > before.Armed {
		log.Warn().Str("song", songName(s, now.Song)).Str("plays", songName(s, s.Status.Song)).
			Msg("a program change came while a song plays; its song waits for the end of this one, or until the DAW stops or starts from 0")
	}
	switch st := &s.Status; {
	case now.Begun == before.Begun:
	case st.SongArmed != engine.None && !st.SongWaits: // it is chosen on its downbeat
		l.told.Begun = before.Begun
	case st.SongWaits: // another program change has come since
		log.Info().Str("song", songName(s, st.Song)).Msg(songChosen)
	case st.Song == now.Song || now.Undone > before.Undone: // else it was released before its downbeat
		log.Info().Str("song", songName(s, now.Song)).Msg(songChosen)
	}
	if now.Undone > before.Undone {
		log.Warn().Str("song", songName(s, s.Status.Song)).Str("instead of", songName(s, now.Song)).
			Msg("a note of the song before has brought it back; the program change was a mistake")
	}
}

// songName returns the name of a song, or "" for none.
func songName(s *engine.Snapshot, song int32) string {
	if song < 0 || int(song) >= len(s.Program.Songs) {
		return ""
	}
	return s.Program.Songs[song].Name
}
