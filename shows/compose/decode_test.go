package compose_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
)

func TestDecodeSaysWhatIsWrong(t *testing.T) {
	for json, want := range map[string]string{
		``:                                      "want a JSON array of edits",
		`[]`:                                    "0 edits, want 1 to 1000",
		`[1]`:                                   "edit 1: want an object",
		`{"energy": 4}`:                         `the key "do" is missing`,
		`{"do": 4}`:                             `the key "do" is missing or not a text`,
		`{"do": "set enrgy"}`:                   `unknown edit "set enrgy" (did you mean "set energy"?); edits are`,
		`{"do": "set energy"}`:                  `set energy: the key "song" is missing`,
		energyOf("1", `"strong"`):               `"energy": have "strong", want a whole number`,
		energyOf("1", `1.5`):                    `"energy": have 1.5, want a whole number`,
		energyOf("1", `null`):                   `"energy" is null`,
		energyOf("1", `4, "energy": 5`):         `the key "energy" comes twice`,
		energyOf("1", `4, "loudness": 5`):       `unknown key "loudness"; keys are`,
		energyOf("1", `4, "<b>": 5`):            `unknown key "<b>"`,
		"[" + energyOf("1", "4") + `, {}]`:      `edit 2: the key "do"`,
		"[" + strings.Repeat("1,", 1000) + "1]": "1001 edits, want 1 to 1000",
		strings.Repeat(" ", compose.MaxEditBytes) + "{}": "1048578 bytes, at most 1048576",
	} {
		edits, err := compose.Decode([]byte(json))
		assert.Nil(t, edits, json)
		require.ErrorIs(t, err, compose.ErrDecode, json)
		assert.ErrorContains(t, err, want)
	}
	edits, err := compose.Decode([]byte(energyOf("1", "4")))
	require.NoError(t, err)
	assert.Equal(t, []compose.Edit{&compose.SetEnergy{Song: lanterns, Section: 1, Energy: 4}}, edits)
}

// Whatever comes in is decoded or refused with a reason.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(energyOf("1", "4")))
	f.Add([]byte("[" + energyOf("1", "4") + "]"))
	f.Add([]byte(`{"do":"set energy","song":"","section":-1,"energy":1e9}`))
	f.Fuzz(func(t *testing.T, src []byte) {
		edits, err := compose.Decode(src)
		if err == nil && len(edits) == 0 || err != nil && err.Error() == "" {
			require.Fail(t, "neither edits nor a reason")
		}
		for _, e := range edits {
			require.NotEmpty(t, e.Words())
		}
	})
}
