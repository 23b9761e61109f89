//go:build unix && !linux

package midi

import "errors"

func ptyName(int) (string, error) { return "", errors.New("not known on this system") }
