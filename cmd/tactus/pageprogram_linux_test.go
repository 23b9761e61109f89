package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A song that a program change armed is shown under Next, and the button and the key that
// disarm release it.
func TestPageDisarmsAProgramsSong(t *testing.T) {
	needBrowser(t)
	dir := t.TempDir()
	hall, fifo := filepath.Join(dir, "hall"), filepath.Join(dir, "daw")
	command(t, "tactus", "new", hall)
	path := filepath.Join(hall, "songs", "lanterns.yaml")
	src, err := os.ReadFile(path)
	require.NoError(t, err)
	const last = "- outro: {bars: 3,"
	require.Contains(t, string(src), last)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(src), last, "- outro: {bars: 300,", 1)), 0o644))
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	b := openTab(t, servePage(t, "run", hall, "--midi", fifo, "--clock", "internal", "--protocol", "virtual"), 1024, 768)
	daw, err := os.OpenFile(fifo, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer daw.Close()
	midi := func(bytes ...byte) {
		t.Helper()
		_, err := daw.Write(bytes)
		require.NoError(t, err)
	}

	// In the first bar a program change chooses its song at once.
	b.until(`/^(intro, bar [2-4]|verse|pre-chorus|chorus|bridge)/.test(document.getElementById("place").textContent)`)
	midi(0x90, 42, 100) // the last section
	b.until(`document.getElementById("section").textContent === "outro"`)
	assert.Equal(t, "Saturday on the Slipway", b.says("next-name"))
	const armed = `document.getElementById("state").textContent === "◆ Home by the Breakwater armed by a program change; Disarm releases it"`
	for _, press := range []string{
		`document.getElementById("section-disarm").click()`,
		`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "x", bubbles: true}))`,
	} {
		midi(0xCF, 2)
		b.until(armed)
		b.until(`document.getElementById("next-name").textContent === "Home by the Breakwater"`)
		assert.Equal(t, "◆ By a program change", b.says("next-song"))
		b.savePicture("program", screens()[1])
		b.js(press, nil)
		b.until(`document.getElementById("state").textContent === "The light follows the song"`)
		b.until(`document.getElementById("next-name").textContent === "Saturday on the Slipway"`)
		b.until(`document.getElementById("section-disarm").disabled`)
		assert.Equal(t, "Lanterns on the Pier", b.says("song"))
	}

	// Before the last section the plan stays under Next, and the song is named below it.
	midi(0x90, 39, 100)
	b.until(`document.getElementById("section").textContent === "chorus 1"`)
	midi(0xCF, 2)
	b.until(armed)
	b.until(`document.getElementById("next-song").textContent === "◆ Then, by a program change: Home by the Breakwater"`)
	assert.Equal(t, "bridge", b.says("next-name"))
}
