package plot

import (
	"os"
	"testing"

	"tactus/shows"
	"tactus/shows/plan"
)

func TestLook(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	m, err := plan.Measure(t.Context(), show, plan.Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := Of(m)
	for name, s := range map[string]*Sheet{"stage": Stage(show, Papers()[0]), "night": n.Overview(Papers()[0])} {
		b, _ := s.PNG(150)
		os.WriteFile("/tmp/plot/"+name+".png", b, 0o644)
		os.WriteFile("/tmp/plot/"+name+".svg", s.SVG(), 0o644)
	}
	for i := range n.Songs {
		s := n.Score(i, Papers()[0])
		b, _ := s.PNG(150)
		os.WriteFile("/tmp/plot/"+itoa(i)+".png", b, 0o644)
		os.WriteFile("/tmp/plot/"+itoa(i)+".svg", s.SVG(), 0o644)
	}
}
