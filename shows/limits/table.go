package limits

import "sync"

// The limits, in the order of the table.
const (
	BrightnessWeight Key = iota
	MotionWeight
	LitWeight
	FullMotion
	SlowFade
	LitFrom
	FollowsFrom
	MostlyFollowsFrom
	SectionsToCompare
	EnergiesApart
	StrongerBy
	FlatEnergies
	FlatStrength
	PeakMargin
	AlikeDistance
	QuietEnergy
	QuietMotion
	StrongEnergy
	DarkLevel
	DarkGap
	DarkLook
	OffPalette
	PaletteDistance
	WhiteChroma
	FacesLevel
	HouseLevel
	QuietEffects
	MiddleEffects
	StrongEffects
	AgainstBeat
	AudienceLevel
	AudienceQuiet
	AudienceTime
	FacesChange
	FacesChroma
	UnevenStrength
	SongsAlike
	NumLimits
)

const practice = "common practice, no source"

// Table returns all limits by key. Callers do not change it.
func Table() *[NumLimits]Limit { return table() }

var table = sync.OnceValue(func() *[NumLimits]Limit {
	return &[NumLimits]Limit{
		BrightnessWeight: {"brightness weight", "", 6.5, 0.1, 10, "The part of strength that is brightness (L*). The three weights count relative to their sum.", "people judge a stage first by its brightness; " + practice},
		MotionWeight:     {"motion weight", "", 2.5, 0, 10, "The part of strength that is motion.", practice},
		LitWeight:        {"lit weight", "", 1, 0, 10, "The part of strength that is the share of heads that are lit.", practice},
		FullMotion:       {"full motion", "a second", 0.15, 0.01, 2, "The motion from which motion counts in full for strength. A blackout is about 1.", "what the busiest sections of usual songs have; " + practice},
		SlowFade:         {"slow fade", "s", 1, 0, 60, "The length from which a fade is not counted as motion.", "nobody feels it as movement; " + practice},
		LitFrom:          {"lit from", "%", 1, 0.01, 50, "The light of a head, of its own full, from which it counts as lit.", "below it a lamp glows and lights nothing; " + practice},

		FollowsFrom:       {"follows from", "", 0.8, -1, 1, "The rank correlation of energy and strength from which light is said to follow the song.", practice},
		MostlyFollowsFrom: {"mostly follows from", "", 0.6, -1, 1, "does-not-follow: the least rank correlation of energy and strength.", practice},
		SectionsToCompare: {"sections to compare", "sections", 4, 2, 100, "does-not-follow: the least sections of a song for a correlation.", "fewer agree or not by chance; " + practice},
		EnergiesApart:     {"energies apart", "", 2, 1, 10, "inversion: the difference in energy from which sections are compared.", "a step of one is within taste; " + practice},
		StrongerBy:        {"stronger by", "", 0.4, 0, 10, "inversion: by how much strength the quieter section has to be stronger.", "about the change of strength that is just felt; " + practice},
		FlatEnergies:      {"flat energies", "", 4, 1, 10, "flat: the span of energies from which the sections of a song have to differ in light.", practice},
		FlatStrength:      {"flat strength", "", 1, 0, 10, "flat: the least span of strength then.", practice},
		PeakMargin:        {"peak margin", "L*", 1, 0, 100, "dim-peak: by how much a section of less energy may not be brighter than the peak.", "about what is just seen; " + practice},
		AlikeDistance:     {"alike distance", "in Oklab", 0.02, 0, 1, "alike: the most distance of each head's mean light between neighbouring sections that look alike.", "about what is just seen side by side (0.02: CSS Color Module Level 4, gamut mapping)"},
		QuietEnergy:       {"quiet energy", "", 3, 0, 10, "The highest energy of a quiet section.", practice},
		QuietMotion:       {"quiet motion", "a second", 0.12, 0, 2, "too-busy: the most motion in a quiet section.", practice},
		StrongEnergy:      {"strong energy", "", 6, 0, 10, "The lowest energy of a strong section.", practice},
		DarkLevel:         {"dark level", "L*", 6, 0, 100, "dark-gap, front-light-out: the L* below which light counts as dark.", "under 1 % of the light; " + practice},
		DarkGap:           {"dark gap", "beats", 0.5, 0, 64, "dark-gap: the length from which dark that no cue asks for is a gap.", "shorter is a blink; " + practice},
		DarkLook:          {"dark look", "bars", 1, 0, 64, "dark-gap: how long a dark look may last.", "a breath is a beat to a bar; " + practice},
		OffPalette:        {"off palette", "%", 20, 0, 100, "off-palette: the most light in colours that are neither in the palette nor between two of its colours.", practice},
		PaletteDistance:   {"palette distance", "in Oklab", 0.08, 0, 1, "off-palette: the distance up to which a colour counts as the palette's.", "about four times what is just seen side by side"},
		WhiteChroma:       {"white chroma", "in Oklab", 0.04, 0, 0.4, "off-palette: the chroma below which light counts as white.", "most people see white below it; " + practice},
		FacesLevel:        {"faces level", "L*", 40, 0, 100, "faces-dark: the least L* of the front light while someone speaks.", "11 % of the front light; " + practice},
		HouseLevel:        {"house level", "%", 30, 0, 100, "house-lit: the most house light in a strong section.", practice},

		QuietEffects:  {"quiet effects", "effects", 2, 0, 64, "crowded: the most effects at once on the stage in a quiet section.", "the eye follows one movement and feels another; " + practice},
		MiddleEffects: {"middle effects", "effects", 3, 0, 64, "crowded: the most effects at once between quiet and strong sections.", practice},
		StrongEffects: {"strong effects", "effects", 5, 0, 64, "crowded: the most effects at once in a strong section.", "of more, none is seen; " + practice},
		AgainstBeat:   {"against beat", "bars", 2, 0, 64, "against-beat: how long an effect may go against the beat or the bar.", "a bar of it is a fill, more is another meter; " + practice},
		AudienceLevel: {"audience level", "L*", 60, 0, 100, "eyes-lit: the L* of a fixture that faces the audience, above which it may not stay in any section.", "28 % of its light; " + practice + "; local rules and what your audience bears come first"},
		AudienceQuiet: {"audience quiet level", "L*", 25, 0, 100, "eyes-lit: the same in a quiet section.", "4 % of its light: eyes have adapted to the dark; " + practice},
		AudienceTime:  {"audience time", "s", 2, 0, 60, "eyes-lit: how long it may stay above these levels.", "an accent is over by then; " + practice},
		FacesChange:   {"faces change", "L*", 15, 0, 100, "faces-flicker: the most change of the front light within a second that is no change of section.", "faces should be lit steadily; " + practice},
		FacesChroma:   {"faces chroma", "in Oklab", 0.18, 0, 0.7, "faces-coloured: the most chroma (divided by L) of the front light while someone sings or speaks.", "light of 2700 K has 0.16 beside a white of 5600 K; skin looks wrong in deeper colours; " + practice},

		UnevenStrength: {"uneven strength", "", 1.5, 0, 10, "uneven-set: by how much strength a song may differ from the other songs of the set at the same energies.", "about two steps of energy; " + practice},
		SongsAlike:     {"songs alike", "", 0.1, 0, 1, "same-songs: the least distance of traits, 0 to 1, between songs that follow one another.", "a tenth of all that can differ; " + practice},
	}
})
