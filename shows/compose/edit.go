package compose

import "slices"

// Edit is one change that a person makes to a show. It is applied to sources in memory,
// and judged by the loader afterwards, together with the other edits of the same request.
type Edit interface {
	// Do returns the word that names the edit in JSON, such as "set energy".
	Do() string
	// Words says what the edit does, for a button that undoes it: "energy 7 for section 4
	// of songs/lanterns.yaml".
	Words() string
	// edit changes the sources. The error is a language.Problems that says what cannot be
	// done and why; the sources are then dropped.
	edit(f *files) error
}

// kinds returns a new edit of each kind, by its word in JSON.
func kinds() map[string]Edit {
	byWord := map[string]Edit{}
	for _, e := range slices.Concat(songEdits(), lookEdits(), setEdits(), rigEdits()) {
		byWord[e.Do()] = e
	}
	return byWord
}

func songEdits() []Edit {
	return []Edit{
		&SetEnergy{},
		&SetBars{},
		&MoveBoundary{},
		&RenameSection{},
		&AddSection{},
		&RemoveSection{},
		&SplitSection{},
		&JoinSections{},
		&MoveSection{},
		&SetSection{},
		&SetSectionLevel{},
		&PlaceCue{},
		&MoveCue{},
		&RemoveCue{},
		&SetCue{},
		&SetColour{},
		&SetSong{},
		&RenameSong{},
		&AddSong{},
		&ImportSong{},
		&CopySong{},
		&RemoveSong{},
		&AcceptFinding{},
		&UnacceptFinding{},
	}
}

func lookEdits() []Edit {
	return []Edit{
		&AddLook{},
		&CopyLook{},
		&RenameLook{},
		&RemoveLook{},
		&SetLookLevel{},
		&SetLookColour{},
		&SetLookFade{},
		&SetLookEffects{},
		&SetHouseColour{},
		&AddEffect{},
		&SetEffect{},
		&CopyEffect{},
		&RenameEffect{},
		&RemoveEffect{},
	}
}

func setEdits() []Edit {
	return []Edit{
		&SetOrder{},
		&SetSetLook{},
		&RenameSet{},
		&AddSet{},
		&RemoveSet{},
	}
}

func rigEdits() []Edit {
	return []Edit{
		&SetAddress{},
		&SetPlace{},
		&SetFixture{},
		&AddFixture{},
		&SplitFixture{},
		&RenameFixture{},
		&RemoveFixture{},
		&SetGroup{},
		&RenameGroup{},
		&RemoveGroup{},
		&SetRigList{},
	}
}
