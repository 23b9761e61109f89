package shows

import "testing"

func BenchmarkLoadDemo(b *testing.B) {
	for b.Loop() {
		if _, problems := Load(Demo(), Options{}); problems.Err() != nil {
			b.Fatal(problems)
		}
	}
}
