package panel

import (
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/showtest"
)

// The file describes every address, and none that is not there.
func TestEveryRouteIsDescribed(t *testing.T) {
	doc, err := openapi3.NewLoader().LoadFromFile("openapi.yaml")
	require.NoError(t, err)
	have := map[string]bool{}
	for _, r := range New(Config{Show: showtest.Demo(t)}).routes() {
		path := strings.ReplaceAll(r.path, "...", "")
		item := doc.Paths.Value(path)
		if assert.NotNil(t, item, "%s is not described", path) {
			assert.NotNil(t, item.GetOperation(r.method), "%s is not described", path)
		}
		have[r.method+" "+path] = true
	}
	for path, item := range doc.Paths.Map() {
		for method := range item.Operations() {
			assert.True(t, have[method+" "+path], "%s %s is described and not there", method, path)
		}
	}
}
