package engine

// Alone returns a program that shows one look from its start, at once and with nothing else:
// for pictures of it, and to measure it. It has the colours of a song, or the show's own for
// None. The program itself stays as it is; the two share their heads and effects.
func (p *Program) Alone(look Cue, song int32) *Program {
	alone := *p
	look.Fade, look.ColourFade, look.Build, look.Sends = Span{Length: Length{Den: 1}}, nil, nil, nil
	alone.Looks, alone.Songs, alone.SetList, alone.Sends = []Cue{look}, nil, nil, nil
	alone.WalkIn, alone.WalkOut, alone.Talk, alone.Pad = 0, None, None, None
	alone.Notes, alone.EffectsStop, alone.LevelInputs, alone.Faders = NewNotes(), false, nil, nil
	if song != None {
		alone.HousePalette, alone.HouseDeep = p.Songs[song].Palette, p.Songs[song].Deep
	}
	return &alone
}
