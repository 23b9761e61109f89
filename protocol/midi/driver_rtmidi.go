//go:build cgo && (darwin || windows || rtmidi)

package midi

import (
	"errors"
	"fmt"

	"gitlab.com/gomidi/midi/v2/drivers"
	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv"
)

const haveDriver = true

// rtmidi is the system's driver in C++. Only the child process opens it.
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
		// The library's error text is not used: it points into freed memory. The
		// driver prints its own text on standard error.
		return nil, errNoService
	}
	r.ins = ins
	names := make([]string, len(ins))
	for i, in := range ins {
		names[i] = in.String()
	}
	return names, nil
}

// openInput turns on timing and active sensing, which the library ignores by
// default. It leaves out SysEx, which the library cannot receive beyond its buffer.
// The port is never closed: closing it while messages arrive can end the process.
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

// openOutput opens an output. It stays open until the process ends.
func (r *rtmidi) openOutput(index int) (func([]byte) error, error) {
	out := r.outs[index]
	if err := out.Open(); err != nil {
		return nil, errNotOpened
	}
	return out.Send, nil
}
