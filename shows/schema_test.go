package shows_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	goyaml "github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/language"
)

var update = flag.Bool("update", false, "rewrite the expected files")

// golden compares with a file, or rewrites it with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.WriteFile(name, got, 0o644))
		return
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, want, got, "%s differs; review it and run the test with -update.", name)
}

func TestSchemasOfDemo(t *testing.T) {
	for _, kind := range language.Kinds() {
		golden(t, filepath.Join("harbour-hall", "schema", string(kind)+".schema.json"), language.Schema(kind))
	}
}

// schemas compiles every schema with an independent validator, which also
// checks it against the meta-schema of draft 2020-12.
func schemas(t testing.TB) map[language.Kind]*jsonschema.Schema {
	t.Helper()
	compiled := map[language.Kind]*jsonschema.Schema{}
	for _, kind := range language.Kinds() {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(language.Schema(kind)))
		require.NoError(t, err)
		c := jsonschema.NewCompiler()
		url := "mem:///" + string(kind)
		require.NoError(t, c.AddResource(url, doc))
		compiled[kind], err = c.Compile(url)
		require.NoError(t, err, "schema of %s", kind)
	}
	return compiled
}

// instance is what an editor hands to a schema. It comes from another YAML
// reader than the loader's.
func instance(src []byte) (any, error) {
	var v any
	d := goyaml.NewDecoder(bytes.NewReader(src), goyaml.AllowDuplicateMapKey())
	if err := d.Decode(&v); err != nil {
		return nil, err
	}
	text, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return jsonschema.UnmarshalJSON(bytes.NewReader(text))
}

// schemaAccepts returns the validator's complaint, or nil.
func schemaAccepts(t testing.TB, s *jsonschema.Schema, src []byte) error {
	t.Helper()
	v, err := instance(src)
	if err != nil {
		return err
	}
	return s.Validate(v)
}
