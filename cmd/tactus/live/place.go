package live

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/shows/position"
)

// placeText says where in the set the show is.
func placeText(p *engine.Program, snap *engine.Snapshot) string {
	st := &snap.Status
	if st.Song == engine.None {
		return fmt.Sprintf("look %q%s", st.Look, heldWords(st))
	}
	song := &p.Songs[st.Song]
	words := []string{song.Name, position.Name(song, st.Beat)}
	if !snap.Pos.Playing {
		words = append(words, "stopped")
	}
	return fmt.Sprintf("%s at %.1f BPM%s", strings.Join(words, ", "), song.MeterAt(st.Beat).PerBeat(snap.Pos.Tempo).BPM(), heldWords(st))
}

// heldWords says what keeps the light from following the music.
func heldWords(st *engine.Status) string {
	words := ""
	if st.Held {
		words += ", HOLD"
	}
	if st.Blackout {
		words += ", BLACKOUT"
	}
	return words
}
