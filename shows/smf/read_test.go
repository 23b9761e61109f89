package smf

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/midi"
)

// chunk is a track of events, each a delta of one octet and the event in hex.
func smfFile(division int, events ...string) []byte {
	var body []byte
	for _, e := range events {
		b, err := hex.DecodeString(strings.ReplaceAll(e, " ", ""))
		if err != nil {
			panic(err)
		}
		body = append(body, b...)
	}
	body = append(body, 0, 0xFF, 0x2F, 0)
	b := append([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01"), byte(division>>8), byte(division))
	b = append(b, "MTrk"...)
	b = binary.BigEndian.AppendUint32(b, uint32(len(body)))
	return append(b, body...)
}

// at is an event after a delta in ticks.
func at(delta int, event string) string {
	v := []byte{byte(delta & 0x7F)}
	for delta >>= 7; delta > 0; delta >>= 7 {
		v = append([]byte{byte(delta&0x7F | 0x80)}, v...)
	}
	return hex.EncodeToString(v) + event
}

func marker(delta int, text string) string {
	return at(delta, fmt.Sprintf("ff06%02x%s", len(text), hex.EncodeToString([]byte(text))))
}

func read(t testing.TB, src []byte) *Import {
	t.Helper()
	m, err := Read(src, "file")
	require.NoError(t, err)
	return m
}

// The worked file: 480 ticks, 4/4 at 120; Intro; at 2.000 s Verse and 450,000 µs;
// 6/8 at 3.350 s, which is inside the verse's first bar: three quarters of it.
// Source: testdata/reference/packets/smf-format1-480.hex and its figures.
func TestReadWorkedFile(t *testing.T) {
	text, err := os.ReadFile("../../testdata/reference/packets/smf-format1-480.hex")
	require.NoError(t, err)
	var digits string
	for _, line := range strings.Split(string(text), "\n") {
		if !strings.HasPrefix(line, "#") {
			digits += strings.ReplaceAll(line, " ", "")
		}
	}
	src, err := hex.DecodeString(strings.TrimSpace(digits))
	require.NoError(t, err)
	m := read(t, src)
	s := &m.Song
	assert.Equal(t, "Check", s.Name)
	assert.Equal(t, clock.BPM(120), s.Tempo)
	if assert.Len(t, s.Sections, 2) {
		assert.Equal(t, "intro", s.Sections[0].Name)
		assert.Equal(t, "verse", s.Sections[1].Name)
	}
	assert.Equal(t, 2*clock.Second, s.TimeAt(s.Sections[1].Start), "time of the verse in ns")
	// 6/8 begins where the file ends. 450,000 µs are 133.3333 a minute; a song file
	// says 133.333, which comes to 3.4 µs more over three quarters.
	assert.Equal(t, engine.Meter{Upper: 3, Lower: 4}, s.MeterAt(4*clock.Quarter), "meters %v, %v quarters long", s.Meters, s.Length().Quarters())
	assert.Equal(t, 7*clock.Quarter, s.Length(), "meters %v, %v quarters long", s.Meters, s.Length().Quarters())
	got := s.TimeAt(7 * clock.Quarter)
	assert.GreaterOrEqual(t, got, clock.Time(3_350_000_000))
	assert.LessOrEqual(t, got, clock.Time(3_350_005_000))
}

func TestUnderstand(t *testing.T) {
	for text, want := range map[string]struct {
		kind Kind
		name string
	}{
		"Verse 1":            {Verse, "verse 1"},
		"VERSE2":             {Verse, "verse 2"},
		"Vers 2":             {Verse, "vers 2"},
		"Strophe":            {Verse, "strophe"},
		"Couplet 3":          {Verse, "couplet 3"},
		"Estrofa II":         {Verse, "estrofa ii"},
		"V1":                 {Verse, "verse 1"},
		"v.2":                {Verse, "verse 2"},
		"CHORUS (x2)":        {Chorus, "chorus"},
		"Chorus 2 x2":        {Chorus, "chorus 2"},
		"Refrain":            {Chorus, "refrain"},
		"Refrão":             {Chorus, "refrão"},
		"Coro":               {Chorus, "coro"},
		"Estribillo 2":       {Chorus, "estribillo 2"},
		"C2":                 {Chorus, "chorus 2"},
		"Last Chorus!":       {Chorus, "last chorus"},
		"Pre-Chorus":         {PreChorus, "pre-chorus"},
		"Prechorus 2":        {PreChorus, "prechorus 2"},
		"PC":                 {PreChorus, "pre-chorus"},
		"Pré-refrain":        {PreChorus, "pré-refrain"},
		"Post Chorus":        {PostChorus, "post chorus"},
		"Bridge":             {Bridge, "bridge"},
		"Pont":               {Bridge, "pont"},
		"Puente":             {Bridge, "puente"},
		"Brücke":             {Bridge, "brücke"},
		"BR":                 {Bridge, "bridge"},
		"Intro":              {Intro, "intro"},
		"Einleitung":         {Intro, "einleitung"},
		"Interlude":          {Interlude, "interlude"},
		"Zwischenspiel":      {Interlude, "zwischenspiel"},
		"Guitar Solo":        {Solo, "guitar solo"},
		"Instrumental":       {Solo, "instrumental"},
		"Breakdown":          {Breakdown, "breakdown"},
		"Tag":                {Tag, "tag"},
		"Outro":              {Outro, "outro"},
		"Ending":             {Outro, "ending"},
		"Coda":               {Outro, "coda"},
		"Schluss":            {Outro, "schluss"},
		"End":                {End, "end"},
		"The band vamps out": {Unknown, "The band vamps out"},
		"♪ [cue: gong] ♪":    {Unknown, "cue gong"},
		"--":                 {Unknown, ""},
		"Uncouplet":          {Unknown, "Uncouplet"},
	} {
		kind, name := understand(text, false)
		assert.Equal(t, want.kind, kind, "%q", text)
		assert.Equal(t, want.name, name, "%q", text)
	}
	kind, name := understand("B", true)
	assert.Equal(t, Unknown, kind, "a part B")
	assert.Equal(t, "B", name, "a part B")
}

// What people's files have, and what becomes of it. 96 ticks; 4/4 by default.
func TestReadTakesWhatItCan(t *testing.T) {
	for name, c := range map[string]struct {
		src  []byte
		want string // sections with their bars
		left []string
	}{
		"no markers": {smfFile(96, at(8*96, "903c00")), "song 2", []string{"no markers: the whole song is one section"}},
		"count-in": {
			smfFile(96, marker(384, "V1"), marker(384, "C1"), at(768, "903c00")), "count-in 1, verse 1 1, chorus 1 2",
			[]string{"1 bar before the first marker: a section of their own"},
		},
		"an end": {smfFile(96, marker(0, "Verse"), marker(768, "END"), at(999, "903c00")), "verse 2", nil},
		"off the bar": {
			smfFile(96, marker(0, "Verse"), marker(390, "Chorus"), at(378, "903c00")), "verse 1, chorus 1",
			[]string{`bar 2 beat 1: marker "Chorus" is off the bar; taken to the nearest`},
		},
		"a bar, two markers": {
			smfFile(96, marker(0, "lights!"), marker(0, "Verse"), at(384, "903c00")), "verse 1",
			[]string{`bar 1 beat 1: marker "lights!"; one section begins in a bar`},
		},
		"the same name twice": {
			smfFile(96, marker(0, "Verse 1"), marker(384, "Chorus"), marker(384, "Verse 1"), marker(384, "Verse"), at(384, "903c00")),
			"verse 1 1, chorus 1, verse 2 1, verse 3 1", nil,
		},
		"a meter that songs cannot have": {
			smfFile(96, at(0, "ff580405051808"), marker(0, "Verse"), at(384, "903c00")), "verse 1",
			[]string{"bar 1 beat 1: meter: 5/32: the lower number is 1, 2, 4, 8 or 16; as before"},
		},
		"a tempo between beats": {
			smfFile(96, marker(0, "Verse"), at(100, "ff510307a121"), at(500, "903c00")), "verse 2",
			[]string{"1 tempo change between beats, taken to the nearest; of those on one beat the last counts"},
		},
		"too slow": {
			smfFile(96, at(0, "ff5103ffffff"), marker(0, "Verse"), at(384, "903c00")), "verse 1",
			[]string{"bar 1 beat 1: 3.576 quarter notes a minute; 10.0 BPM is the nearest"},
		},
		"cue points":      {smfFile(96, strings.Replace(marker(0, "Verse"), "ff06", "ff07", 1), at(384, "903c00")), "verse 1", nil},
		"Latin-1":         {smfFile(96, marker(0, "Refr\xE3o"), at(384, "903c00")), "refrão 1", nil},
		"a NUL and a tab": {smfFile(96, marker(0, "Str.\t2\x00\x17"), marker(384, "REF\x01 1"), at(384, "903c00")), "verse 2 1, chorus 1 1", nil},
		"an empty marker": {
			smfFile(96, marker(0, ""), marker(384, "\x00\x00"), marker(384, "\x00"), marker(0, "Ref."), at(384, "903c00")), "part 1 1, part 2 1, chorus 1",
			[]string{
				`bar 1 beat 1: a marker without a name; its section is called "part"`, `bar 2 beat 1: a marker without a name; its section is called "part"`,
				`bar 3 beat 1: a marker without a name; its section is called "part"`, `bar 3 beat 1: marker ""; one section begins in a bar`,
			},
		},
		"silence at the end": {
			smfFile(96, marker(0, "Verse"), at(48, "903c40"), marker(336, "Chorus"), at(420, "803c00"), at(5000, "b00700")), "verse 1, chorus 2",
			[]string{`13 bars without notes at the end: left out; where the song is longer, put a marker "End" at its end`},
		},
		"silence that a person marked": {
			smfFile(96, marker(0, "Verse"), at(48, "903c40"), at(96, "803c00"), marker(1392, "End"), at(5000, "b00700")), "verse 4", nil,
		},
		"a section after the last note": {
			smfFile(96, marker(0, "Verse"), at(48, "903c40"), at(96, "803c00"), marker(624, "Outro"), at(50000, "b00700")), "verse 2, outro 2",
			[]string{`129 bars without notes at the end: left out; where the song is longer, put a marker "End" at its end`},
		},
		"notes that only enter sections": {
			smfFile(96, marker(0, "Verse"), at(0, "902440"), at(96, "802400"), marker(672, "Outro"), at(0, "902540"), at(96, "802500"), at(1440, "b00700")), "verse 2, outro 4", nil,
		},
	} {
		m := read(t, c.src)
		var got []string
		for i := range m.Song.Sections {
			got = append(got, fmt.Sprintf("%s %d", m.Song.Sections[i].Name, m.Song.SectionBars(int32(i))))
		}
		assert.Equal(t, c.want, strings.Join(got, ", "), name)
		assert.Equal(t, strings.Join(c.left, "\n"), strings.Join(m.Left, "\n"), name)
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		src  []byte
		want error
	}{
		"nothing":   {nil, midi.ErrFile},
		"SMPTE":     {smfFile(0xE728, at(10, "903c00")), midi.ErrSMPTE},
		"truncated": {smfFile(96, at(100, "903c00"))[:20], midi.ErrShort},
		"no length": {smfFile(96), ErrEmpty},
		"long":      {smfFile(96, marker(0, "Verse"), at(1000*384, "903c00")), ErrLong},
	} {
		_, err := Read(c.src, "")
		assert.ErrorIs(t, err, c.want, name)
	}
}

// Import after export gives the same song, whatever it is.
func TestExportImport(t *testing.T) {
	base := harbour(t)
	rapid.Check(t, func(t *rapid.T) {
		song := randomSong(t)
		p := *base
		p.Songs = []engine.Song{song}
		p.SetList = []int32{0}
		src, _, err := WriteSong(&p, 0)
		require.NoError(t, err)
		m, err := Read(src, "")
		require.NoError(t, err)
		require.Empty(t, m.Left, "left")
		require.Equal(t, describe(&song), describe(&m.Song))
		// And once more, from what was read.
		p.Songs = []engine.Song{m.Song}
		for i := range p.Songs[0].Sections {
			p.Songs[0].Sections[i].Note = song.Sections[i].Note
		}
		p.Songs[0].Program = song.Program
		again, _, err := WriteSong(&p, 0)
		require.NoError(t, err, "written again it has other bytes")
		require.Equal(t, string(again), string(src), "written again it has other bytes")
	})
}

// describe has all that a file holds of a song; tempos as microseconds.
func describe(s *engine.Song) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s %d", s.Name, s.Meter, microsPerQuarter(s.Tempo))
	for i, c := range s.Sections {
		fmt.Fprintf(&b, "\n%s %d+%d %d", c.Name, c.Start, c.Length, s.SectionBars(int32(i)))
	}
	for _, c := range s.Meters {
		fmt.Fprintf(&b, "\n%d %s", c.At, c.Meter)
	}
	for _, c := range s.Tempos {
		fmt.Fprintf(&b, "\n%d %d", c.At, microsPerQuarter(c.Tempo))
	}
	return b.String()
}

// randomSong has names as the loader gives them, and changes that are some.
func randomSong(t *rapid.T) engine.Song {
	meter := rapid.Custom(func(t *rapid.T) engine.Meter {
		return engine.Meter{Upper: rapid.Uint8Range(1, 13).Draw(t, "upper"), Lower: rapid.SampledFrom([]uint8{2, 4, 8, 16}).Draw(t, "lower")}
	})
	tempo := func(m engine.Meter) clock.Tempo {
		low, high := max(10, m.PerBeat(clock.MinTempo).BPM()), min(500, m.PerBeat(clock.MaxTempo).BPM())
		n := rapid.IntRange(int(100*low)+1, int(100*high)-1).Draw(t, "hundredths") // of beats a minute
		return m.Quarters(clock.BPM(float64(n) / 100))
	}
	s := engine.Song{Name: rapid.SampledFrom([]string{"Long Shore", "Höhe über Null", "7"}).Draw(t, "name"), Program: rapid.Int16Range(-1, 127).Draw(t, "program")}
	s.Meter = meter.Draw(t, "meter")
	s.Tempo = tempo(s.Meter)
	names := []string{"intro", "verse 1", "Verse A", "chorus 1", "C2", "verse 2", "chorus 2", "refrão", "x2", "the end", "end"}
	at := clock.Beat(0)
	for i, name := range names[:rapid.IntRange(1, len(names)).Draw(t, "sections")] {
		c := engine.Section{Name: name, Start: at, Note: uint8(36 + i)}
		for range rapid.IntRange(1, 5).Draw(t, "bars") {
			if m := meter.Draw(t, "meter"); at > 0 && rapid.IntRange(0, 3).Draw(t, "changes") == 0 && m != s.MeterAt(at) {
				s.Meters = append(s.Meters, engine.MeterChange{At: at, Meter: m})
			}
			m := s.MeterAt(at)
			if b := at + clock.Beat(rapid.IntRange(0, m.Beats()-1).Draw(t, "beat"))*m.Beat(); b > 0 && rapid.Bool().Draw(t, "tempos") {
				if x := tempo(m); microsPerQuarter(x) != microsPerQuarter(s.TempoAt(b)) {
					s.Tempos = append(s.Tempos, engine.TempoChange{At: b, Tempo: x})
				}
			}
			at += m.Bar()
		}
		c.Length = at - c.Start
		s.Sections = append(s.Sections, c)
	}
	return s
}

// Nothing in a file panics, and what is read is a song: sections without gaps,
// of whole bars, in limits, with changes in order.
func FuzzRead(f *testing.F) {
	f.Add(smfFile(96, marker(0, "Verse"), at(384, "ff580403021808"), marker(0, "C2 (x2)"), at(288, "903c00")))
	f.Add(smfFile(96, at(100, "ff580403021808"), marker(50, "\xFF"), at(1, "ff510307a120"), at(999, "903c00")))
	f.Add(smfFile(0xE728, at(10, "903c00")))
	f.Add(smfFile(1, marker(3, "END"), at(127, "903c00")))
	f.Add(smfFile(32767, marker(1, "A"), marker(1, "B"), at(0, "f07fffffff")))
	f.Add(smfFile(96, marker(0, "Str.\t2\x00\x17"), marker(384, ""), marker(384, "REF\x01 1"), at(384, "903c00"), at(50000, "b00700")))
	f.Add(smfFile(96, marker(0, "Verse"), at(48, "903c40"), at(96, "803c00"), marker(5000, "Outro"), at(50000, "b00700")))
	f.Add(smfFile(96, at(300, "993c40"), at(96, "893c00"), at(5000, "903c40"), at(3000, "904040"), at(4000, "904000")))
	f.Add(plainSong(f, 0).src)
	f.Add(plainSong(f, 1).src)
	f.Fuzz(func(t *testing.T, src []byte) {
		m, err := Read(src, "fuzz")
		if err != nil {
			return
		}
		s := &m.Song
		at, names := clock.Beat(0), map[string]bool{}
		for i, c := range s.Sections {
			bars := s.SectionBars(int32(i))
			require.Equal(t, at, c.Start, "section %d: %+v", i, c)
			require.GreaterOrEqual(t, bars, int64(1), "section %d: %+v", i, c)
			require.LessOrEqual(t, bars, int64(maxBars), "section %d: %+v", i, c)
			require.Equal(t, c.Start+c.Length, s.BarStart(c.Start, bars), "section %d: %+v", i, c)
			require.False(t, names[c.Name], "section %d: %+v", i, c)
			require.NotEmpty(t, c.Name, "section %d: %+v", i, c)
			names[c.Name] = true
			at += c.Length
		}
		require.NotEmpty(t, s.Sections)
		require.LessOrEqual(t, len(s.Sections), maxSections)
		require.Len(t, m.Marks, len(s.Sections))
		last := clock.Beat(0)
		for _, c := range s.Meters {
			require.Greater(t, c.At, last)
			require.Less(t, c.At, at)
			last = c.At
		}
		last = 0
		for _, c := range s.Tempos {
			require.Greater(t, c.At, last, c)
			require.Less(t, c.At, at, c)
			require.GreaterOrEqual(t, c.Tempo, clock.MinTempo, c)
			require.LessOrEqual(t, c.Tempo, clock.MaxTempo, c)
			last = c.At
		}
		if lines := m.Proposed(); len(lines) > 0 {
			require.True(t, m.Unmarked)
			require.Len(t, lines, 1+len(s.Sections))
		}
		m.AppendTo(nil)
	})
}
