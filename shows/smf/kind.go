package smf

import (
	"regexp"
	"strings"
)

// Kind is the kind of a section, such as verse or chorus, read from its marker.
type Kind uint8

// The kinds of section that markers can name.
const (
	Unknown Kind = iota
	CountIn
	Intro
	Verse
	PreChorus
	Chorus
	PostChorus
	Bridge
	Interlude
	Solo
	Breakdown
	Build
	Drop
	Tag
	Outro
	End // the end of the song, not a section
)

// Name returns the name that a section of the kind gets: "pre-chorus"; "part" for Unknown.
func (k Kind) Name() string {
	return [...]string{"part", "count-in", "intro", "verse", "pre-chorus", "chorus", "post-chorus", "bridge", "interlude", "solo", "breakdown", "build", "drop", "tag", "outro", "end"}[k]
}

// kindWords has the words in markers that name each kind: in lower case, with a space
// for any character that is not a letter or digit. The longest match counts. Common
// practice, no source; languages other than English and German from memory.
var kindWords = [...]struct {
	kind  Kind
	words string // separated by commas
}{
	{CountIn, "count in,countin,count off,precount,click,einzähler,vorzähler,conteo"},
	{Intro, "intro,introduction,einleitung,vorspiel,introdução,introducao,introducción,introduccion,introduzione,forspill,forspil,förspel,voorspel,alkusoitto"},
	{Verse, "verse,vers,verset,strophe,couplet,couplets,estrofa,verso,strofa,stanza,strofe,zwrotka,säkeistö"},
	{PreChorus, "pre chorus,prechorus,pré refrain,pre refrain,prérefrain,prerefrain,pré refrão,pre refrão,pré refrao,pre refrao,pre coro,precoro," +
		"pre estribillo,preestribillo,pre ritornello,vorrefrain,pre refrein,bro til refreng,channel,climb,lift"},
	{PostChorus, "post chorus,postchorus,nachrefrain,post refrain"},
	{Chorus, "chorus,refrain,refrão,refrao,coro,estribillo,ritornello,refrein,refräng,refreng,omkvæd,kehrreim,hook,refren,kertosäe"},
	{Bridge, "bridge,pont,puente,ponte,brücke,bruecke,brygga,bro,brug,middle 8,middle eight,c teil,c part,c stykke,c osa,mostek"},
	{Interlude, "interlude,zwischenspiel,zwischenteil,interlúdio,interludio,intermezzo,turnaround,turn around,mellanspel,mellomspill,mellemspil,tussenspel,välisoitto,vamp,link,riff"},
	{Solo, "solo,instrumental,instr,guitar solo,instrumental solo"},
	{Breakdown, "breakdown,break down,down chorus,break"},
	{Build, "build,buildup,build up,aufbau,montée"},
	{Drop, "drop"},
	{Tag, "tag"},
	{Outro, "outro,ending,coda,schluss,finale,final,nachspiel,postlude,saída,saida,salida,conclusion,naspel,etterspill,efterspil,efterspel,loppusoitto"},
	{End, "end,ende,fine,fin,fim,slut,einde,the end,end of song"},
}

// kindShorts has abbreviations of kinds, one to five letters, and the name that a
// section gets for each. A full stop and a number may follow in the marker: "V1",
// "Str. 2", "REF 1". Common practice, no source.
var kindShorts = map[string]struct {
	kind Kind
	name string
}{
	"v": {Verse, "verse"}, "vs": {Verse, "verse"}, "vrs": {Verse, "verse"},
	"str": {Verse, "verse"}, "stro": {Verse, "verse"}, "strof": {Verse, "verse"}, // Strophe, strofa, strofe
	"est": {Verse, "verse"}, "estr": {Verse, "verse"}, // estrofa
	"cpl": {Verse, "verse"}, "coup": {Verse, "verse"}, // couplet
	"c": {Chorus, "chorus"}, "ch": {Chorus, "chorus"}, "cho": {Chorus, "chorus"}, "chr": {Chorus, "chorus"},
	"rf": {Chorus, "chorus"}, "ref": {Chorus, "chorus"}, "refr": {Chorus, "chorus"}, // Refrain, refrão
	"estri": {Chorus, "chorus"}, // estribillo
	"pc":    {PreChorus, "pre-chorus"}, "pre": {PreChorus, "pre-chorus"}, "prech": {PreChorus, "pre-chorus"},
	"b": {Bridge, "bridge"}, "br": {Bridge, "bridge"}, "brg": {Bridge, "bridge"}, "pte": {Bridge, "bridge"}, // puente
	"in": {Intro, "intro"}, "einl": {Intro, "intro"}, "vsp": {Intro, "intro"}, "vorsp": {Intro, "intro"}, // Einleitung, Vorspiel
	"int": {Interlude, "interlude"}, "intl": {Interlude, "interlude"}, "zw": {Interlude, "interlude"}, "zwsp": {Interlude, "interlude"}, "zsp": {Interlude, "interlude"}, // Zwischenspiel
	"inst": {Solo, "instrumental"}, "instr": {Solo, "instrumental"},
	"bd": {Breakdown, "breakdown"}, "out": {Outro, "outro"}, "ot": {Outro, "outro"}, "nsp": {Outro, "outro"}, "nach": {Outro, "outro"}, // Nachspiel
}

var (
	shortMarker = regexp.MustCompile(`^(\p{L}{1,5})\.? ?([1-9][0-9]?)?\.?$`)
	timesMarker = regexp.MustCompile(`(?i)[\[(]? ?\b[x×] ?[0-9]{1,2} ?[\])]?|[\[(]? ?\b[0-9]{1,2} ?[x×]\b ?[\])]?|×[0-9]{1,2}`)
	notWord     = regexp.MustCompile(`[^\p{L}\p{N}]+`)
	notName     = regexp.MustCompile(`[^\p{L}\p{N}'’&./ -]+`)
	lastNumber  = regexp.MustCompile(`^(.*\p{L}.*?) ?([1-9][0-9]?)$`)
)

// understand returns the kind of a marker, and a section name made from it: letters,
// digits, '’&./- and single spaces, at most 64 letters; "" if nothing is left. If
// letters is true, the song's sections are named A, B, C, and a single letter is not
// the abbreviation of a kind.
func understand(text string, letters bool) (Kind, string) {
	text = strings.ReplaceAll(text, "·", "") // stands for a control character
	plain := strings.Join(strings.Fields(timesMarker.ReplaceAllString(text, "")), " ")
	if m := shortMarker.FindStringSubmatch(strings.ToLower(plain)); m != nil {
		if s, ok := kindShorts[m[1]]; ok && (len(m[1]) > 1 || !letters) {
			return s.kind, strings.TrimSpace(s.name + " " + m[2])
		}
	}
	kind := kindOf(plain)
	name := nameOf(plain)
	if kind != Unknown {
		name = strings.ToLower(name)
		if m := lastNumber.FindStringSubmatch(name); m != nil {
			name = m[1] + " " + m[2]
		}
	}
	return kind, name
}

// KindOf returns the kind that a section's name or a marker tells of, or Unknown.
func KindOf(name string) Kind {
	kind, _ := understand(name, false)
	return kind
}

// kindOf returns the kind with the longest word found in a text. If two are equally
// long, the first in kindWords counts.
func kindOf(text string) Kind {
	spaced := " " + strings.TrimSpace(notWord.ReplaceAllString(strings.ToLower(text), " ")) + " "
	spaced = splitNumber.ReplaceAllString(spaced, "$1 $2")
	kind, long := Unknown, 0
	for _, k := range kindWords {
		for _, w := range strings.Split(k.words, ",") {
			found := strings.Contains(spaced, " "+w+" ")
			if k.kind == End {
				found = spaced == " "+w+" "
			}
			if found && len(w) > long {
				kind, long = k.kind, len(w)
			}
		}
	}
	return kind
}

// splitNumber finds a digit directly after a letter, as in "verse2".
var splitNumber = regexp.MustCompile(`(\p{L})([0-9])`)

// nameOf makes a section's name from a text: it leaves out characters that names may
// not have, and words beyond 64 letters.
func nameOf(text string) string {
	var words []string
	long := 0
	for _, w := range strings.Fields(notName.ReplaceAllString(text, " ")) {
		w = strings.TrimLeft(w, "'’&./-")
		n := len([]rune(w)) + 1
		if w == "" || long+n > 65 {
			continue
		}
		words = append(words, w)
		long += n
	}
	return strings.Join(words, " ")
}

// Energies guesses the energy of each section of a song, 0..10, from the sections' names
// in order, as for markers of a MIDI file.
func Energies(names []string) []int8 {
	kinds := make([]Kind, len(names))
	for i, name := range names {
		kinds[i] = KindOf(name)
	}
	return energiesOf(kinds)
}

// energiesOf guesses the energies of sections from their kinds in order.
func energiesOf(kinds []Kind) []int8 {
	count, nth, list := map[Kind]int{}, map[Kind]int{}, make([]int8, len(kinds))
	for _, k := range kinds {
		count[k]++
	}
	for i, k := range kinds {
		nth[k]++
		list[i] = k.energy(nth[k], nth[k] == count[k])
	}
	return list
}

// energy guesses the energy of a section, 0..10. Repeated verses and choruses get
// more, and the last chorus the most. nth counts sections of the kind from 1. Common
// practice, no source.
func (k Kind) energy(nth int, last bool) int8 {
	base := [...]int8{5, 1, 3, 4, 6, 7, 7, 5, 3, 7, 2, 6, 9, 6, 3, 0}[k]
	switch {
	case k == Chorus && last && nth > 1:
		return 9
	case (k == Chorus || k == Verse) && nth > 1:
		return base + 1
	}
	return base
}
