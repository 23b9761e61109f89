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
	for _, e := range slices.Concat(helpKinds(), songKinds(), lookKinds(), rigKinds(), showKinds()) {
		byWord[e.Do()] = e
	}
	return byWord
}

// songKinds are the edits of songs' files.
func songKinds() []Edit {
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
	}
}

// lookKinds are the edits of the looks file.
func lookKinds() []Edit {
	return []Edit{
		&AddLook{},
		&CopyLook{},
		&CopyLookForSong{},
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

// rigKinds are the edits of the rig file and of profiles.
func rigKinds() []Edit {
	return []Edit{
		&SetAddress{},
		&SetPlace{},
		&SetFixture{},
		&AddFixture{},
		&AddFixtures{},
		&FindAddress{},
		&AddProfile{},
		&SplitFixture{},
		&RenameFixture{},
		&RemoveFixture{},
		&SetGroup{},
		&RenameGroup{},
		&RemoveGroup{},
		&SetRigList{},
	}
}

// showKinds are the edits of sets.
func showKinds() []Edit {
	return []Edit{
		&SetOrder{},
		&SetSetLook{},
		&RenameSet{},
		&AddSet{},
		&RemoveSet{},
	}
}

// helpKinds are the edits by which the program itself helps with a song.
func helpKinds() []Edit {
	return []Edit{&SetCueLevel{}, &SetBreath{}, &DraftSong{}, &ClearDraft{}, &AcceptFinding{}, &UnacceptFinding{}}
}
