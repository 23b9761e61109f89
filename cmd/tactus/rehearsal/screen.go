package rehearsal

import (
	"context"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"tactus/cmd/tactus/draw"
	"tactus/cmd/tactus/live"
	"tactus/engine"
)

// How often the screen is drawn, and how often plain text looks for news.
const (
	drawEvery  = 40 * time.Millisecond
	plainEvery = 20 * time.Millisecond
)

// DrawScreen draws the show and the notice over the whole terminal until ctx ends.
func DrawScreen(ctx context.Context, s *live.Session, terminal *os.File, notice *live.Notice) {
	colour := draw.WantsColour(os.Getenv)
	io.WriteString(terminal, draw.Enter)
	defer io.WriteString(terminal, draw.Leave)
	var d *draw.Drawing
	var program *engine.Program
	var buf []byte
	wide, high := 0, 0
	eachSnapshot(ctx, s, drawEvery, func(snap *engine.Snapshot) {
		w, h, err := term.GetSize(int(terminal.Fd()))
		if err != nil {
			w, h = 80, 24
		}
		if d == nil || w != wide || h != high || snap.Program != program {
			wide, high, program = w, h, snap.Program
			d = draw.New(program, w, h, colour)
		}
		buf = notice.AppendTo(d.Frame(buf[:0], snap), w, h)
		terminal.Write(buf)
	})
}

// DrawPlain prints lines of text about the show until ctx ends.
func DrawPlain(ctx context.Context, s *live.Session, out io.Writer) {
	var d *draw.Drawing
	var program *engine.Program
	var buf []byte
	eachSnapshot(ctx, s, plainEvery, func(snap *engine.Snapshot) {
		if d == nil || snap.Program != program {
			program = snap.Program
			d = draw.New(program, 0, 0, false)
		}
		if buf = d.Plain(buf[:0], snap); len(buf) > 0 {
			out.Write(buf)
		}
	})
}

// eachSnapshot calls show with the state of the show, again and again until ctx ends.
func eachSnapshot(ctx context.Context, s *live.Session, every time.Duration, show func(*engine.Snapshot)) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	var snap engine.Snapshot
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			s.Snapshot(&snap)
			show(&snap)
		}
	}
}
