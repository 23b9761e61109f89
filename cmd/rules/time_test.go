package rules

import (
	"go/ast"
	"slices"
)

// timerFiles may hold a timer. Everything else that is periodic counts frames
// or asks the loop. None of those below the engine's own delays a frame.
func timerFiles() map[string]string {
	return map[string]string{
		"engine/loop.go":                   "wakes for each frame: the show's one timer",
		"protocol/udp/linkwatch.go":        "reads the state of network interfaces, far from the loop",
		"protocol/midi/child.go":           "a driver's process says that it lives",
		"protocol/midi/childsink.go":       "a driver's process that hangs is killed",
		"protocol/midi/process.go":         "a driver's process that hangs is killed",
		"protocol/midi/port.go":            "waits before it opens a lost port again",
		"protocol/midi/schedule.go":        "plays a MIDI file in real time, as a DAW would send it",
		"panel/stream.go":                  "looks at the loop's copy for those who look on; no light waits for it",
		"cmd/tactus/trial/trial.go":        "tells how far the test is, from copies",
		"cmd/tactus/main.go":               "the first Ctrl-C may come twice; only a later one means at once",
		"cmd/tactus/showfiles/reloader.go": "looks at the show's files, far from the loop",
		"cmd/tactus/rehearsal/player.go":   "a rehearsal's DAW: it ticks as a cable would",
		"cmd/tactus/rehearsal/screen.go":   "draws the screen at its own pace, from copies",
		"cmd/tactus/standby/pair.go":       "sees that the other computer is lost, far from the loop",
		"cmd/tactus/standby/connect.go":    "waits before it connects again",
		"cmd/tactus/live/health.go":        "the health line",
		"cmd/tactus/live/levelinputs.go":   "looks for lost sources, far from the loop",
		"cmd/tactus/live/supervised.go":    "tells the supervisor that frames are made, from copies",
		"cmd/tactus/realtime/sleeper.go":   "the loop's own waiting, where the system offers nothing better",
		"cmd/tactus/watch/arrival.go":      "prints what arrives; there is no loop to ask",
	}
}

// clockReads lets clock/now.go alone read the time; tests of real sockets may.
func clockReads(t *tree) (out []fault) {
	for _, f := range t.product() {
		if f.path != "clock/now.go" {
			out = append(out, t.uses(f, "Now", "Since", "Until")...)
		}
		if f.localName("time") == "." {
			out = append(out, t.fault(f.ast.Name, "import time by its name, so that its uses can be seen"))
		}
	}
	return out
}

// timers keeps timers to the files listed above.
func timers(t *tree) (out []fault) {
	for _, f := range t.product() {
		if _, ok := timerFiles()[f.path]; !ok {
			out = append(out, t.uses(f, "NewTimer", "NewTicker", "After", "AfterFunc", "Tick")...)
		}
	}
	return out
}

// sleeps forbids sleeping: tests use literal times or a channel with a deadline.
// In a synctest bubble a sleep is how fake time passes, so it is let through in
// functions that speak of synctest.
func sleeps(t *tree) (out []fault) {
	for _, f := range t.files {
		bubble := f.localName("testing/synctest")
		for _, d := range f.ast.Decls {
			if !f.test || bubble == "" || !mentions(d, bubble) {
				out = append(out, t.usesIn(f, d, "Sleep")...)
			}
		}
	}
	return out
}

// mentions tells whether an imported package is used in a declaration.
func mentions(d ast.Decl, local string) (found bool) {
	ast.Inspect(d, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok && isName(s.X, local) {
			found = true
		}
		return true
	})
	return found
}

// uses reports each mention of the named functions of package time.
func (t *tree) uses(f *file, funcs ...string) []fault { return t.usesIn(f, f.ast, funcs...) }

func (t *tree) usesIn(f *file, node ast.Node, funcs ...string) (out []fault) {
	local := f.localName("time")
	if local == "" {
		return nil
	}
	ast.Inspect(node, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if ok && isName(s.X, local) && slices.Contains(funcs, s.Sel.Name) {
			out = append(out, t.fault(s, "time.%s may not be used here", s.Sel.Name))
		}
		return true
	})
	return out
}
