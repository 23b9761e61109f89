package shows_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows"
)

func BenchmarkLoadDemo(b *testing.B) {
	for b.Loop() {
		if _, problems := shows.Load(shows.Demo(), shows.Options{}); problems.Err() != nil {
			require.Fail(b, fmt.Sprint(problems))
		}
	}
}
