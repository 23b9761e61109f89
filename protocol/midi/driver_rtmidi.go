//go:build cgo && (darwin || windows || rtmidi)

package midi

import (
	"errors"
	"fmt"

	"gitlab.com/gomidi/midi/v2/drivers"
	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv"
)

const haveDriver = true

// rtmidi is the system's driver. It is C++: only the child process opens it.
type rtmidi struct {
	driver *rtmididrv.Driver
	ins    []drivers.In
	outs   []drivers.Out
}

var (
	errNoService = errors.New("the system's MIDI service cannot be reached")
	errNotOpened = errors.New("the port cannot be opened; it may be in use by another program")
)

func openDriver() (driver, error) {
	d, err := rtmididrv.New()
	if err != nil {
		return nil, fmt.Errorf("midi: driver: %w", err)
	}
	return &rtmidi{driver: d}, nil
}

func (r *rtmidi) inputNames() ([]string, error) {
	ins, err := r.driver.Ins()
	if err != nil {
		// Not the library's text: it points into memory that was freed. The
		// driver's own words are on standard error.
		return nil, errNoService
	}
	r.ins = ins
	names := make([]string, len(ins))
	for i, in := range ins {
		names[i] = in.String()
	}
	return names, nil
}

// openInput asks for timing and active sensing, which the library leaves out by
// itself, and not for SysEx, which it cannot hold beyond its buffer. The port
// is never closed: a close while messages arrive ends the process anyway.
func (r *rtmidi) openInput(index int, message func([]byte)) error {
	in := r.ins[index]
	if err := in.Open(); err != nil {
		return errNotOpened
	}
	_, err := in.Listen(func(b []byte, _ int32) {
		defer func() { _ = recover() }() // a panic would unwind into C
		message(b)
	}, drivers.ListenConfig{TimeCode: true, ActiveSense: true})
	if err != nil {
		return fmt.Errorf("midi: driver: %w", err)
	}
	return nil
}

func (r *rtmidi) outputNames() ([]string, error) {
	outs, err := r.driver.Outs()
	if err != nil {
		return nil, errNoService
	}
	r.outs = outs
	names := make([]string, len(outs))
	for i, out := range outs {
		names[i] = out.String()
	}
	return names, nil
}

// openOutput opens an output. It is never closed: the process ends with it.
func (r *rtmidi) openOutput(index int) (func([]byte) error, error) {
	out := r.outs[index]
	if err := out.Open(); err != nil {
		return nil, errNotOpened
	}
	return out.Send, nil
}
