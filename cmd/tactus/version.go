package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// programName says which program this is, for the head of a journal.
func programName() string {
	version := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				version += " " + s.Value
			}
		}
	}
	return fmt.Sprintf("tactus %s %s/%s", version, runtime.GOOS, runtime.GOARCH)
}
