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
	first, held := identify(dir, log)
	second, other := identify(dir, log)
	assert.NotEqual(t, second, first, "a second run, the first; told")
	if assert.Nil(t, other, "a second run, the first; told") {
		assert.Contains(t, told.String(), errTaken.Error(), "a second run, the first; told")
	}
	held.release()
	third, again := identify(dir, log)
	assert.Equal(t, first, third, "after the first run has ended, the next")
	assert.NotNil(t, again, "after the first run has ended, the next")
	again.release()
}
