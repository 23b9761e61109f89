package align

// demoFixture names a fixture of the demo, and demoDimmer its slot of intensity.
const (
	demoFixture = "wash 1"
	demoDimmer  = 1
)
