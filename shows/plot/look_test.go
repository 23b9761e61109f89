package plot

import (
	"os"
	"testing"

	"tactus/shows"
)

func TestLook(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	n := Measure(show, nil)
	n.Songs[0].Notes = []Note{{20e9, Fault, true, "chorus 1, bar 3", "3.4 flashes a second on wash 3"}, {40e9, Warning, false, "verse 2, bar 1", "verse 2, energy 3, is brighter than chorus 1, energy 7"}, {41e9, Remark, false, "verse 2, bar 2", "dark for 2 s"}}
	for i := range n.Songs[0].Sections { n.Songs[0].Sections[i].Measured = float64((i*3)%8) }
	for i := range n.Songs {
		s := n.Score(i, Papers()[0])
		b, _ := s.PNG(150)
		os.WriteFile("/tmp/plot/"+itoa(i)+".png", b, 0o644)
		os.WriteFile("/tmp/plot/"+itoa(i)+".svg", s.SVG(), 0o644)
	}
}
