package smf

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
)

// Markers as people write them, and the section each becomes. Common practice, no
// source.
func TestMarkersAreUnderstood(t *testing.T) {
	for text, want := range map[string]struct {
		kind Kind
		name string
	}{
		"Verse 2":                 {Verse, "verse 2"},
		"VERSE2":                  {Verse, "verse 2"},
		"Chorus (x2)":             {Chorus, "chorus"},
		"Chorus x 2":              {Chorus, "chorus"},
		"2x Chorus":               {Chorus, "chorus"},
		"Chorus ×3":               {Chorus, "chorus"},
		"[Bridge]":                {Bridge, "bridge"},
		"Pre-Chorus":              {PreChorus, "pre-chorus"},
		"Post Chorus":             {PostChorus, "post chorus"},
		"Vorrefrain":              {PreChorus, "vorrefrain"},
		"Middle 8":                {Bridge, "middle 8"},
		"Guitar Solo":             {Solo, "guitar solo"},
		"Down Chorus":             {Breakdown, "down chorus"},
		"Refrão":                  {Chorus, "refrão"},
		"count-in":                {CountIn, "count-in"},
		"V1":                      {Verse, "verse 1"},
		"v. 3":                    {Verse, "verse 3"},
		"Str. 2":                  {Verse, "verse 2"},
		"str.":                    {Verse, "verse"},
		"STR 1":                   {Verse, "verse 1"},
		"Strophe 2":               {Verse, "strophe 2"},
		"REF 1":                   {Chorus, "chorus 1"},
		"Ref.":                    {Chorus, "chorus"},
		"Refr.":                   {Chorus, "chorus"},
		"Refr. 2":                 {Chorus, "chorus 2"},
		"Refrain 3":               {Chorus, "refrain 3"},
		"Ch.":                     {Chorus, "chorus"},
		"Estr. 1":                 {Verse, "verse 1"},
		"Estribillo":              {Chorus, "estribillo"},
		"Couplet":                 {Verse, "couplet"},
		"Vers":                    {Verse, "vers"},
		"Pont":                    {Bridge, "pont"},
		"Puente 2":                {Bridge, "puente 2"},
		"Br.":                     {Bridge, "bridge"},
		"Instr.":                  {Solo, "instrumental"},
		"Zwischenspiel 1":         {Interlude, "zwischenspiel 1"},
		"Zwischenteil":            {Interlude, "zwischenteil"},
		"Zw. 2":                   {Interlude, "interlude 2"},
		"Vorspiel":                {Intro, "vorspiel"},
		"Nachspiel":               {Outro, "nachspiel"},
		"V1·":                     {Verse, "verse 1"}, // a control character
		"Cho·rus":                 {Chorus, "chorus"},
		"·":                       {Unknown, ""},
		"ref.d 1":                 {Unknown, "ref.d 1"},
		"ch 2":                    {Chorus, "chorus 2"},
		"PC":                      {PreChorus, "pre-chorus"},
		"Inst":                    {Solo, "instrumental"},
		"out":                     {Outro, "outro"},
		"C":                       {Chorus, "chorus"},
		"B2":                      {Bridge, "bridge 2"},
		"v100":                    {Unknown, "v100"},
		"the end":                 {End, "the end"},
		"End":                     {End, "end"},
		"end of the verse":        {Verse, "end of the verse"},
		"weekend":                 {Unknown, "weekend"},
		"Harbour  Lights":         {Unknown, "Harbour Lights"},
		"'Round & Round! *":       {Unknown, "Round Round"},
		"":                        {Unknown, ""},
		"***":                     {Unknown, ""},
		strings.Repeat("a ", 50):  {Unknown, strings.TrimSpace(strings.Repeat("a ", 32))},
		strings.Repeat("b", 65):   {Unknown, ""},
		strings.Repeat("b", 64):   {Unknown, strings.Repeat("b", 64)},
		"build up to the drop":    {Build, "build up to the drop"},
		"Outro 1 instrumental 12": {Solo, "outro 1 instrumental 12"},
	} {
		kind, name := understand(text, false)
		assert.Equal(t, want.kind, kind, "%q", text)
		assert.Equal(t, want.name, name, "%q", text)
	}
	for _, text := range []string{"A", "B", "C", "V2"} { // parts by letter
		kind, name := understand(text, true)
		assert.Equal(t, Unknown, kind, text)
		assert.Equal(t, text, name)
	}
	kind, name := understand("PC2", true)
	assert.Equal(t, PreChorus, kind, "two letters are no part by letter")
	assert.Equal(t, "pre-chorus 2", name)
}

// Verses and choruses grow, the last chorus is the peak, and no kind is out of range.
func TestGuessedEnergies(t *testing.T) {
	for _, c := range []struct {
		kind Kind
		nth  int
		last bool
		want int8
	}{
		{Verse, 1, false, 4},
		{Verse, 2, true, 5},
		{Chorus, 1, false, 7},
		{Chorus, 1, true, 7},
		{Chorus, 2, false, 8},
		{Chorus, 3, true, 9},
		{Intro, 1, true, 3},
		{Bridge, 2, true, 5},
		{Breakdown, 1, true, 2},
		{Drop, 1, true, 9},
		{CountIn, 1, true, 1},
		{PreChorus, 3, true, 6},
		{PostChorus, 2, true, 7},
		{Interlude, 1, true, 3},
		{Solo, 1, true, 7},
		{Build, 1, true, 6},
		{Tag, 1, true, 6},
		{Outro, 1, true, 3},
		{Unknown, 2, true, 5},
		{End, 1, true, 0},
	} {
		assert.Equal(t, c.want, c.kind.energy(c.nth, c.last), "%d, number %d, last %v", c.kind, c.nth, c.last)
	}
}

// Numbers count as in order from 1, without gaps, where there are several.
func TestNumbersInOrder(t *testing.T) {
	for names, want := range map[string]bool{
		"verse 1, verse 2": true, "verse 2, verse 3": false, "verse 1, verse 3": false, "verse 1": false, "verse 1, chorus 1, verse 2": true,
	} {
		r := reader{Import: &Import{}}
		for _, name := range strings.Split(names, ", ") {
			r.Song.Sections = append(r.Song.Sections, engine.Section{Name: name})
		}
		assert.Equal(t, want, r.inOrder("verse"), names)
	}
}
