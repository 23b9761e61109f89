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
	File *File // what it plays; for display

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

// NewFilePort plays the octets of a Standard MIDI File under a name.
func NewFilePort(name string, src []byte, o Options) (*FilePort, error) {
	f, err := ParseFile(src)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return &FilePort{File: f, name: name, number: o.Number, loop: o.Loop, schedule: f.Schedule(o.Preroll)}, nil
}

// readFile reads one octet more than ParseFile accepts, so that ParseFile sees
// that a file is too long, or never ends.
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

// Name returns what people call the port: file: and the path, when opened by one.
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
			// Cut off in the middle: nobody will send the rest.
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

// nextRound returns the beginning that puts Start of the next round on the
// Stop of this one. It counts from the schedule, so rounds do not drift.
func (p *FilePort) nextRound(began clock.Time) clock.Time {
	e := p.schedule.Entries
	return began.Add(e[len(e)-1].At - e[p.schedule.StartIndex].At)
}
