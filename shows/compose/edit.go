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
	for _, e := range slices.Concat(helpEdits(), songEdits(), lookEdits(), rigEdits(), setEdits()) {
		byWord[e.Do()] = e
	}
	return byWord
}

// songEdits are the edits of songs' files.
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
	}
}

// lookEdits are the edits of the looks file.
func lookEdits() []Edit {
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
		&AddRung{},
		&SetRung{},
		&MoveRung{},
		&RemoveRung{},
		&SetMoment{},
		&SetMomentLevel{},
		&SetCharacter{},
		&RenameCharacter{},
		&RemoveCharacter{},
	}
}

// rigEdits are the edits of the rig file and of profiles.
func rigEdits() []Edit {
	return []Edit{
		&SetAddress{},
		&FindAddresses{},
		&FindAddress{},
		&AddFixtures{},
		&AddProfile{},
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
		&SetRig{},
		&SetCircuit{},
		&SetFloor{},
		&AddUniverse{},
		&SetUniverse{},
		&RenameUniverse{},
		&RemoveUniverse{},
		&AddInput{},
		&SetInput{},
		&SetFader{},
		&RenameInput{},
		&RemoveInput{},
	}
}

// setEdits are the edits of sets and of the whole show.
func setEdits() []Edit {
	return []Edit{
		&SetOrder{},
		&SetSetLook{},
		&RenameSet{},
		&AddSet{},
		&RemoveSet{},
		&SetShow{},
		&SetLimit{},
	}
}

// helpEdits are the edits by which the program itself helps with a song.
func helpEdits() []Edit {
	return []Edit{&SetCueLevel{}, &SetBreath{}, &DraftSong{}, &ClearDraft{}, &AcceptFinding{}, &UnacceptFinding{}}
}
