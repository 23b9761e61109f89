package plan

import (
	"context"
	"testing"
)

func BenchmarkMeasure(b *testing.B) {
	show := demo(b)
	frames := 0
	for b.Loop() {
		n, err := Measure(context.Background(), show, Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, s := range n.Songs {
			frames += s.Frames
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(frames), "ns/frame")
}
