package live

import (
	"github.com/rs/zerolog"

	"tactus/engine"
)

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
	if now.Begun > before.Begun {
		log.Info().Str("song", songName(s, now.Song)).Msg("the song that a program change armed is chosen")
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
