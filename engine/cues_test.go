package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A pickup stays away when something else follows, in a section that does not
// loop too, and comes when nothing does.
func TestPickupGoesWithItsSection(t *testing.T) {
	p := asPlayed(t)
	song := &p.Songs[4]
	song.Sections[1].Loop, song.Variants = false, nil
	for _, c := range []struct {
		name string
		arm  int32
		when When
		want string
	}{
		{"nothing armed", None, 0, "dark"},
		{"the bridge armed", 2, SectionEnd, "dark"},
		{"the outro armed", 4, SectionEnd, "first"},
	} {
		s := newStage(p)
		s.send(Command{Kind: SelectSong, Index: 4})
		s.transport("start", "")
		require.NoError(t, s.play(9*quarter))
		if c.arm != None {
			s.send(Command{Kind: ArmSection, Index: c.arm, When: c.when})
		}
		require.NoError(t, s.play(15*quarter+quarter/2))
		assert.Equal(t, c.want, s.engine.Status(s.pos).Look, "%s: half a beat before the bridge", c.name)
	}
}
