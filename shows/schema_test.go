package shows

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"tactus/shows/language"

	goyaml "github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

var update = flag.Bool("update", false, "rewrite the expected files")

// golden compares with a file, or rewrites it with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; review it and run the test with -update.\ngot:\n%s", name, got)
	}
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
		if err != nil {
			t.Fatal(err)
		}
		c := jsonschema.NewCompiler()
		url := "mem:///" + string(kind)
		if err := c.AddResource(url, doc); err != nil {
			t.Fatal(err)
		}
		if compiled[kind], err = c.Compile(url); err != nil {
			t.Fatalf("schema of %s: %v", kind, err)
		}
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
