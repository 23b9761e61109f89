package live

import (
	"context"

	"tactus/cmd/tactus/showfiles"
)

// Follow lets edits of the show's files reach the show while it plays. A nil
// reloader is none. tell gets lines for people, the first is a headline; bad
// means that something keeps an edit out.
func (s *Session) Follow(r *showfiles.Reloader, tell func(bad bool, lines []string)) {
	if r == nil {
		return
	}
	if s.partner != nil {
		s.partner.edits = r
	}
	if s.composer != nil && s.composer.atOnce {
		s.followComposer(r, tell)
		return
	}
	s.watchFiles = func(ctx context.Context) {
		r.Run(ctx, func(e *showfiles.Edit) {
			if e.Reload != nil && !s.partner.onLamps() {
				s.partner.refuseEdit()
				tell(true, []string{"the show's files have changed: not taken over, as the other computer is on the lamps; save them again when this one is"})
				return
			}
			if e.Reload != nil && s.partner != nil {
				s.partner.editPlays(e)
			}
			if e.Show != nil && s.page != nil {
				s.page.panel.Edited(e.Show)
			}
			if e.Reload != nil && s.kept.keeps() {
				s.kept.edited(e)
			}
			if e.Reload == nil || s.translator.reload(ctx, e.Reload) {
				tell(e.Faults != nil || e.Restart != nil || len(e.SongFaults) > 0, e.Lines())
			}
			if s.composer != nil {
				_, _ = s.composer.Reread() // a folder that is gone is told of by the next change
			}
		})
	}
}

// followComposer lets edits of the show's files reach a rehearsal in which the page edits
// them too.
func (s *Session) followComposer(r *showfiles.Reloader, tell func(bad bool, lines []string)) {
	r.Instead(s.composer.folderChanged)
	s.watchFiles = func(ctx context.Context) {
		r.Run(ctx, func(e *showfiles.Edit) {
			tell(e.Faults != nil || e.Restart != nil || len(e.SongFaults) > 0 || len(e.NotMadeAgain) > 0, e.Lines())
		})
	}
}

// LogEdit tells the log.
func (s *Session) LogEdit(bad bool, lines []string) {
	for _, line := range lines {
		if bad {
			s.log.Error().Msg(line)
		} else {
			s.log.Info().Msg(line)
		}
	}
}
