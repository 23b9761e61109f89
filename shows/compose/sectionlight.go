package compose

import (
	"slices"
	"strings"

	"tactus/shows/draft"
	"tactus/shows/position"
	"tactus/shows/songtext"
)

// lightKeys are the keys by which a section has light of its own, which is a cue at its
// first beat. A fade goes with them.
func lightKeys() []string {
	return []string{"look", "effects", "set", "build", "send", "fade", "colour fade"}
}

// sectionLight returns where a key of a section's light is to be set, when to is its value;
// at is the place of the section, and key that of the key in it. A song has one cue at a
// place, so a cue of the list that stands at the section's first beat decides: a drafted one
// becomes the section's own light first, and a person's stays and gets the key.
func sectionLight(f *files, song string, section int, at, key place, to Value) (place, error) {
	has, err := f.keys(song, at)
	if err != nil || slices.ContainsFunc(has, func(k string) bool { return slices.Contains(lightKeys(), k) }) {
		return at, err
	}
	cue, drafted, err := cueAtStart(f, song, section)
	if err != nil || cue == nil {
		return at, err
	}
	there, err := f.node(song, append(slices.Clone(cue), key...))
	if err != nil || !drafted || there == nil && !to.given {
		return cue, err
	}
	return at, takeOver(f, song, cue, at)
}

// cueAtStart returns the cue of a song's list that begins with a section, in all its passes;
// nil: there is none, or the file has faults so that its places are not known. drafted
// reports that nobody has changed it since it was drafted.
func cueAtStart(f *files, song string, section int) (cue place, drafted bool, err error) {
	t, fault := timelineOf(f, song)
	if fault != nil {
		return nil, false, nil // the loader says what is wrong with the file
	}
	n, err := f.count(song, place{"cues"})
	for i := 0; i < n && err == nil; i++ {
		cue := place{"cues", i}
		keys, err := f.keys(song, cue)
		if err != nil {
			return nil, false, err
		}
		at, err := f.node(song, cue.under("at"))
		if err != nil {
			return nil, false, err
		}
		if at == nil || slices.Contains(keys, "in") || slices.Contains(keys, "lands") {
			continue
		}
		if beat, fault := position.FindForCue(&t.song, at.Value); fault != nil || beat != t.song.Sections[section].Start {
			continue
		}
		lines := songtext.Read(f.sources[song]).Lines
		return cue, at.Line <= len(lines) && songtext.Untouched(strings.TrimSpace(lines[at.Line-1]), ""), nil
	}
	return nil, false, err
}

// takeOver gives a section what a drafted cue has, and takes the cue's line out.
func takeOver(f *files, song string, cue, section place) error {
	node, err := f.node(song, cue)
	if err != nil {
		return err
	}
	light := valueOf(node)
	f.put(song, draft.ClearLine(f.sources[song], node.Line-1))
	for i, key := range light.keys {
		if key == "at" {
			continue
		}
		if err := f.set(song, section.under(key), light.values[i]); err != nil {
			return err
		}
	}
	return nil
}
