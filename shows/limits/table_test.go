package limits_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/limits"
)

// Every limit says all there is to say of it, under a name of its own, and its default
// is one that show.yaml may give.
func TestTableIsComplete(t *testing.T) {
	seen := map[string]bool{}
	for k := range limits.NumLimits {
		l := &limits.Table()[k]
		assert.Regexp(t, `^[a-z]+( [a-z]+)*$`, l.Name)
		assert.False(t, seen[l.Name], l.Name)
		seen[l.Name] = true
		assert.NotEmpty(t, l.Meaning, l.Name)
		assert.NotEmpty(t, l.Reason, l.Name)
		assert.Less(t, l.Least, l.Most, l.Name)
		assert.GreaterOrEqual(t, l.Default, l.Least, l.Name)
		assert.LessOrEqual(t, l.Default, l.Most, l.Name)
	}
}

// A set has the defaults, but for what is adjusted; a nil set has the defaults.
func TestSetHasDefaultsButForWhatIsAdjusted(t *testing.T) {
	var none *limits.Set
	assert.InDelta(t, 0.12, none.Value(limits.QuietMotion), 0)
	assert.InDelta(t, 0.2, none.Share(limits.OffPalette), 0)
	assert.Equal(t, "20 %", none.Text(limits.OffPalette))
	for k, want := range map[limits.Key]string{limits.DarkLook: "1 bar", limits.SlowFade: "1 s", limits.DarkGap: "0.5 beats", limits.FlatStrength: "1"} {
		assert.Equal(t, want, none.Text(k))
	}
	rapid.Check(t, func(t *rapid.T) {
		var s limits.Set
		own := map[limits.Key]float64{}
		for range rapid.IntRange(0, 5).Draw(t, "adjusted") {
			k := limits.Key(rapid.IntRange(0, int(limits.NumLimits)-1).Draw(t, "key"))
			own[k] = rapid.Float64Range(limits.Table()[k].Least, limits.Table()[k].Most).Draw(t, "value")
			s.Adjust(k, own[k])
		}
		var adjusted []limits.Key
		for k := range limits.NumLimits {
			want, has := own[k]
			if !has {
				want = limits.Table()[k].Default
			}
			require.InDelta(t, want, s.Value(k), 0)
			require.Equal(t, want != limits.Table()[k].Default, s.Adjusted(k))
			if s.Adjusted(k) {
				adjusted = append(adjusted, k)
				require.Contains(t, s.Text(k), "adjusted in show.yaml")
			}
		}
		require.Equal(t, adjusted, s.AllAdjusted())
	})
}
