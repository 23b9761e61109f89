package midi

import "os"

// openRawSink opens path for writing. A write waits for the device; meanwhile
// Output's queue fills and drops messages.
func openRawSink(path string, create bool) (sink, error) {
	if path == "-" {
		return standardOut{}, nil
	}
	flags := os.O_WRONLY | os.O_APPEND
	if create {
		flags |= os.O_CREATE
	}
	f, err := os.OpenFile(path, flags, 0o644)
	if err != nil {
		return nil, withHint(path, err)
	}
	return f, nil
}

// standardOut is standard output, which Close leaves open.
type standardOut struct{}

func (standardOut) Write(b []byte) (int, error) { return os.Stdout.Write(b) }
func (standardOut) Close() error                { return nil }
