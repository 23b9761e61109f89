package senders

import (
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
)

// One CID an installation, and never two runs with it.
func TestOneRunHasTheIdentity(t *testing.T) {
	dir := t.TempDir()
	var told strings.Builder
	log := zerolog.New(&told)
	first, held := loadIdentity(dir, log)
	second, other := loadIdentity(dir, log)
	assert.NotEqual(t, second, first, "a second run, the first; told")
	if assert.Nil(t, other, "a second run, the first; told") {
		assert.Contains(t, told.String(), errInUse.Error(), "a second run, the first; told")
	}
	assert.NoError(t, held.Close())
	third, again := loadIdentity(dir, log)
	assert.Equal(t, first, third, "after the first run has ended, the next")
	assert.NotNil(t, again, "after the first run has ended, the next")
	assert.NoError(t, again.Close())
}
