package midi

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"

	"tactus/clock"
)

// FilePort plays a Standard MIDI File in real time, as a sequencer would send
// it.
type FilePort struct {
	File *File // for display

	name     string
	number   uint8
	loop     bool
	schedule Schedule
}

// OpenFile reads and checks the file at path, in Options.FS when set.
func OpenFile(path string, o Options) (*FilePort, error) {
	src, err := readFile(path, o.FS)
	if err != nil {
		return nil, fmt.Errorf("midi: %w", err)
	}
	return NewFilePort("file:"+path, src, o)
}

// NewFilePort returns a port that plays the octets of a Standard MIDI File.
func NewFilePort(name string, src []byte, o Options) (*FilePort, error) {
	f, err := ParseFile(src)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return &FilePort{File: f, name: name, number: o.Number, loop: o.Loop, schedule: f.Schedule(o.Preroll)}, nil
}

// readFile reads at most one octet more than ParseFile accepts, so that ParseFile
// detects a file that is too long or endless.
func readFile(path string, fsys fs.FS) (_ []byte, err error) {
	var f io.ReadCloser
	if fsys != nil {
		f, err = fsys.Open(path)
	} else {
		f, err = os.Open(path)
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxFileOctets+1))
}

// Name returns the port's name: "file:" and the path for a port made by OpenFile.
func (p *FilePort) Name() string { return p.name }

// Run plays the file and returns nil at its end, after Stop. A loop sends
// Stop, song position 0 and Start again, until ctx ends.
func (p *FilePort) Run(ctx context.Context, in *Inbox) error {
	l := newInputPort(in, p.name, p.number)
	l.opened()
	send := func(moment []Entry) error {
		at := in.base.Now()
		for _, e := range moment {
			in.Put(Message{At: at, Port: p.number, Len: e.Len, Bytes: e.Bytes})
		}
		return nil
	}
	began, i := in.base.Now(), 0
	for {
		if err := p.schedule.play(ctx, in.base, i, began, send); err != nil {
			// Stopped in the middle: no notes off or Stop will follow.
			in.Put(Message{At: in.base.Now(), Port: p.number})
			return err
		}
		if !p.loop || p.File.Ticks == 0 {
			return nil
		}
		in.Put(Message{At: in.base.Now(), Port: p.number, Len: 3, Bytes: [3]byte{songPosition}})
		began, i = p.nextRound(began), p.schedule.StartIndex
	}
}

// nextRound returns the start time of the next round, so that its Start falls on the
// Stop of this one. It is calculated from the schedule, so rounds do not drift.
func (p *FilePort) nextRound(began clock.Time) clock.Time {
	e := p.schedule.Entries
	return began.Add(e[len(e)-1].At - e[p.schedule.StartIndex].At)
}
