package shows

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

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
	for _, kind := range Kinds() {
		golden(t, filepath.Join("harbour-hall", "schema", string(kind)+".schema.json"), Schema(kind))
	}
}

// schemas compiles every schema with an independent validator, which also
// checks it against the meta-schema of draft 2020-12.
func schemas(t testing.TB) map[Kind]*jsonschema.Schema {
	t.Helper()
	compiled := map[Kind]*jsonschema.Schema{}
	for _, kind := range Kinds() {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema(kind)))
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

// Every keyword of a shape that an editor shows has to be there.
func TestSchemaExplainsEveryKey(t *testing.T) {
	for _, kind := range Kinds() {
		var walk func(s *shape, path string)
		walk = func(s *shape, path string) {
			for _, f := range s.fields {
				if f.about == "" {
					t.Errorf("%s: %s.%s has no description", kind, path, f.key)
				}
				walk(f.shape, path+"."+f.key)
			}
			if s.form == word && s.options == nil && len(s.examples) == 0 && s.called == "" {
				t.Errorf("%s: %s has neither a name nor an example", kind, path)
			}
			if s.of != nil {
				walk(s.of, path+"[]")
			}
			for _, f := range s.forms {
				walk(f, path)
			}
		}
		walk(shapeOf(kind), "")
	}
}

// The examples that editors offer have to be right.
func TestExamplesFit(t *testing.T) {
	var walk func(s *shape)
	walk = func(s *shape) {
		for _, e := range s.examples {
			switch e := e.(type) {
			case string:
				if s.pattern == nil || !s.pattern.MatchString(e) {
					t.Errorf("example %q does not fit %s", e, s.called)
				}
			case int:
				if int64(e) < s.low || int64(e) > s.high {
					t.Errorf("example %d does not fit %s", e, s.called)
				}
			case []string:
				for _, e := range e {
					if !s.of.pattern.MatchString(e) {
						t.Errorf("example %q does not fit %s", e, s.of.called)
					}
				}
			default:
				t.Errorf("example %v of a kind this test does not know", e)
			}
		}
		for _, f := range s.fields {
			walk(f.shape)
		}
		if s.keys != nil {
			walk(s.keys)
		}
		if s.of != nil {
			walk(s.of)
		}
		for _, f := range s.forms {
			walk(f)
		}
	}
	for _, kind := range Kinds() {
		walk(shapeOf(kind))
	}
}
