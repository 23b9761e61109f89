package panel_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
)

func TestMetrics(t *testing.T) {
	s := newStage(t)
	s.snap.Health = engine.Health{Frames: 44, Missed: 2, Late: clock.Millisecond}
	s.snap.Status.Inputs = [engine.MaxLevelInputs]engine.InputState{{Heard: true, Present: true}, {Heard: true}, {}}
	status, body, _ := s.request(t, "GET", "/metrics", "", "")
	require.Equal(t, 200, status, body)
	for _, want := range []string{
		"# TYPE tactus_frames_total counter", "tactus_frames_total 44\n", "tactus_frames_missed_total 2\n",
		"# TYPE tactus_wake_late_seconds gauge", "tactus_wake_late_seconds 0.001\n", "tactus_tempo_quarters_per_minute 120\n",
		"tactus_inputs_gone 1\n",
	} {
		assert.Contains(t, body, want)
	}
}
