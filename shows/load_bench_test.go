package shows

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

func BenchmarkLoadDemo(b *testing.B) {
	for b.Loop() {
		if _, problems := Load(Demo(), Options{}); problems.Err() != nil {
			require.Fail(b, fmt.Sprint(problems))
		}
	}
}
