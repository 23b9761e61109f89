//go:build !cgo || !(darwin || windows || rtmidi)

package midi

const haveDriver = false

func openDriver() (driver, error) { return nil, ErrNoDriver }
