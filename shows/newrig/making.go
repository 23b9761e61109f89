package newrig

import (
	"errors"
	"fmt"
	"io/fs"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/language"
)

// Making is a show folder that was made of a description.
type Making struct {
	Files   map[string][]byte // by path in the folder
	Remarks []Remark          // what was assumed
	Show    *shows.Show       // the files, loaded
}

// FS is the folder as a file system.
func (m *Making) FS() fs.FS { return folder(m.Files) }

// Check returns the remarks about a description without making a show of it: what cannot
// be used, and what would be assumed.
func Check(d *Description) []Remark { return newRig(d).remarks }

// FirstSong is the path of the song that the folder begins with.
const FirstSong = "songs/first-song.yaml"

// Make makes a show folder of a description: show.yaml, rig.yaml, looks.yaml, a first
// song with its drafted cues, a set, the schemas, and the profiles of the description.
// Rows that cannot be used give an error of type Faults, which lists all of them.
func Make(d *Description) (*Making, error) {
	m, err := undrafted(d)
	if err != nil {
		return nil, err
	}
	song, err := draft.New(folder(m.Files), FirstSong)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errMade, err)
	}
	m.Files[FirstSong] = song.Source
	show, problems := shows.Load(folder(m.Files), shows.Options{})
	if err := problems.Err(); err != nil {
		return nil, fmt.Errorf("%w: %w", errMade, err)
	}
	m.Show = show
	return m, nil
}

// errMade means that a rule of this package is wrong: what it makes has to load.
var errMade = errors.New("the show that was made of this description has a fault")

// undrafted makes the files of a show folder with a first song that has no cues.
func undrafted(d *Description) (*Making, error) {
	r := newRig(d)
	if faults := FaultsOf(r.remarks); len(faults) > 0 {
		return nil, faults
	}
	p := newPlot(r)
	m := &Making{Remarks: r.remarks, Files: map[string][]byte{
		"show.yaml":             showFile(r.venue),
		"rig.yaml":              p.rigFile(),
		"looks.yaml":            p.looksFile(),
		FirstSong:               songFile(),
		"sets/first-night.yaml": setFile(),
	}}
	for _, own := range d.Profiles {
		m.Files["profiles/"+own.Name+".yaml"] = []byte(own.Text)
	}
	for _, kind := range []language.Kind{language.ShowFile, language.RigFile, language.LooksFile, language.SongFile, language.SetFile, language.ProfileFile} {
		m.Files[fmt.Sprintf("schema/%s.schema.json", kind)] = language.Schema(kind)
	}
	return m, nil
}

func showFile(venue string) []byte {
	return []byte(fmt.Sprintf(`# yaml-language-server: $schema=schema/show.schema.json
#
# %s. This folder is a whole show:
#
#   show.yaml    this file: what MIDI means, what happens on exit
#   rig.yaml     the lights and where they hang; changes when the hall changes
#   looks.yaml   states of light and moving effects; shared by all songs
#   songs/       one file a song
#   sets/        one file a night
#   profiles/    fixture types that are not built in, if there are any

show: %s

daw:
  # Each song starts at bar 1 of its own DAW project. With one long project for
  # the whole night, write: runs on
  song position: restarts
  # MIDI channels. A note on "fire" enters a section of the song at once; the
  # same note on an "arm" channel waits for the next beat, bar or section end.
  # 'tactus notes SHOW' lists every note.
  channels: {fire: 1, arm at beat: 2, arm at bar: 3, arm at section end: 4, control: 16}

# When the program ends: fade the stage out, then say goodbye.
on exit: {do: fade, over: 3 s}

# When the band stops, effects keep moving.
while stopped: effects carry on

# After a hold the light moves on in this time.
after a hold: 2 s

# What may lead the tempo, in this order.
clock: [midi, tap, internal]
`, venue, quote(venue)))
}

func songFile() []byte {
	return []byte(`# yaml-language-server: $schema=../schema/song.schema.json
#
# A song to try the rig with. Put your own in its place: name, tempo, meter, and the
# sections with their bars. Energy says how strong a section should feel, 0 to 10.
# 'tactus draft' writes the cues below from that and from the ladder in looks.yaml;
# lines that you change stay yours.

song: First Song
tempo: 104 bpm
meter: 4/4
# Its own colours, if it is to have some; else it has the palette of looks.yaml.
# palette: {main: "#2a4fa8", second: "#6a4fb0", accent: "#ff9a3c", warm: "#ffcf9a"}

sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 8, energy: 3}
  - chorus: {bars: 8, energy: 6}
  - verse: {bars: 8, energy: 4}
  - chorus: {bars: 8, energy: 7}
  - breakdown: {bars: 4, energy: 2}
  - chorus: {bars: 8, energy: 9}
  - outro: {bars: 4, energy: 1}
`)
}

func setFile() []byte {
	return []byte(`# yaml-language-server: $schema=../schema/set.schema.json
#
# One night. Songs go by their name or by their file name. A program change
# selects a song by its place here, unless the song names a program of its own.

set: First Night
songs: [first-song]
walk-in: walk-in
walk-out: walk-out
talk: talk
`)
}
