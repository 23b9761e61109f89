package language

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Every keyword of a shape that an editor shows has to be there.
func TestSchemaExplainsEveryKey(t *testing.T) {
	for _, kind := range Kinds() {
		var walk func(s *shape, path string)
		walk = func(s *shape, path string) {
			for _, f := range s.fields {
				assert.NotEmpty(t, f.description, "%s: %s.%s has no description", kind, path, f.key)
				walk(f.shape, path+"."+f.key)
			}
			if s.form == word && s.options == nil && len(s.examples) == 0 {
				assert.NotEmpty(t, s.called, "%s: %s has neither a name nor an example", kind, path)
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
				if assert.NotNil(t, s.pattern, "example %q does not fit %s", e, s.called) {
					assert.True(t, s.pattern.MatchString(e), "example %q does not fit %s", e, s.called)
				}
			case int:
				assert.GreaterOrEqual(t, int64(e), s.low, "example %d does not fit %s", e, s.called)
				assert.LessOrEqual(t, int64(e), s.high, "example %d does not fit %s", e, s.called)
			case float64:
				assert.GreaterOrEqual(t, e, s.lowest, "example %v does not fit %s", e, s.called)
				assert.LessOrEqual(t, e, s.top, "example %v does not fit %s", e, s.called)
			case []string:
				for _, e := range e {
					assert.True(t, s.of.pattern.MatchString(e), "example %q does not fit %s", e, s.of.called)
				}
			default:
				assert.Fail(t, fmt.Sprintf("example %v of a kind this test does not know", e))
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
