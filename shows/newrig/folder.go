package newrig

import (
	"io/fs"
	"testing/fstest"
)

// folder is a show folder in memory, by path.
func folder(files map[string][]byte) fs.FS {
	m := fstest.MapFS{}
	for name, src := range files {
		m[name] = &fstest.MapFile{Data: src, Mode: 0o644}
	}
	return m
}
