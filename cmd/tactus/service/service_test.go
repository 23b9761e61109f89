package service

import (
	"encoding/xml"
	"flag"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"howett.net/plist"
)

var update = flag.Bool("update", false, "write golden files")

// hall is a command with every character that a supervisor's file may read in its own way.
func hall() *Command {
	return &Command{
		Description: "tactus plays 100 % of the <hall>",
		Program:     "/usr/bin/env",
		Args: []string{
			"run", "/srv/Harbour Hall", "--resume", `--midi=Studio "A" & B`, "--midi=50% $HOME ${HOME}", `--osc-to=back\slash\`, "--set='quoted'", "--x=;", "é→",
		},
		Folder:   "/tmp/a b%c",
		Writable: []string{"/srv/state & journal"},
	}
}

func golden(t *testing.T, name, text string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), text)
}

func TestUnitGolden(t *testing.T) {
	text, err := Unit(hall(), "lights")
	require.NoError(t, err)
	golden(t, "hall.service", text)
}

// splitWords splits a command line of a unit as systemd.syntax(7) and systemd.service(5)
// say. It is written from the manual pages, apart from the code that quotes.
func splitWords(t *testing.T, line string) (words []string) {
	t.Helper()
	word, inside, quote := "", false, byte(0)
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case c == '\\':
			require.Less(t, i+1, len(line), "a backslash at the end joins the next line")
			i++
			require.Contains(t, `\"'`, string(line[i]), "an escape that this reader does not know")
			word += line[i : i+1]
			inside = true
		case quote != 0 && c == quote:
			quote = 0
		case quote == 0 && (c == '"' || c == '\''):
			quote, inside = c, true
		case quote == 0 && c == ' ':
			if inside {
				words = append(words, word)
			}
			word, inside = "", false
		case c == '%':
			require.Less(t, i+1, len(line))
			require.Equal(t, byte('%'), line[i+1], "a specifier")
			word += "%"
			i++
		case c == '$':
			require.Less(t, i+1, len(line))
			require.Equal(t, byte('$'), line[i+1], "a variable")
			word += "$"
			i++
		default:
			word += line[i : i+1]
			inside = true
		}
	}
	require.Zero(t, quote, "a quote that does not end")
	if inside {
		words = append(words, word)
	}
	return words
}

func TestUnitKeepsEveryWord(t *testing.T) {
	text, err := Unit(hall(), "lights")
	require.NoError(t, err)
	_, line, _ := strings.Cut(text, "\nExecStart=")
	line, _, _ = strings.Cut(line, "\n")
	assert.Equal(t, append([]string{hall().Program}, hall().Args...), splitWords(t, line))
}

// systemd's own checker has nothing to say about the unit, and does about a broken one.
func TestUnitIsValid(t *testing.T) {
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("no systemd-analyze here")
	}
	verify := func(text string) (string, error) {
		path := filepath.Join(t.TempDir(), "tactus.service")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		out, err := exec.Command(analyze, "verify", "--man=no", path).CombinedOutput()
		return string(out), err
	}
	text, err := Unit(hall(), "root")
	require.NoError(t, err)
	out, err := verify(text)
	if err != nil && strings.Contains(out, "Failed to initialize manager") {
		t.Skip("systemd-analyze does not run here: " + out)
	}
	require.NoError(t, err, out)
	assert.NotContains(t, out, "tactus.service", "a warning")
	out, _ = verify(strings.Replace(text, "Restart=always", "Restart=often", 1))
	assert.Contains(t, out, "often", "a fault is found")
}

func TestPropertyListGolden(t *testing.T) {
	text, err := PropertyList(hall(), "/srv/log & more")
	require.NoError(t, err)
	golden(t, "hall.plist", text)
}

// An independent reader of property lists, and one of XML, read what was meant; so does
// Apple's own where it is.
func TestPropertyListIsValid(t *testing.T) {
	text, err := PropertyList(hall(), "/srv/log & more")
	require.NoError(t, err)
	var read struct {
		Label, WorkingDirectory, StandardErrorPath string
		ProgramArguments                           []string
		KeepAlive, RunAtLoad                       bool
		ThrottleInterval                           int
	}
	_, err = plist.Unmarshal([]byte(text), &read)
	require.NoError(t, err)
	assert.Equal(t, append([]string{hall().Program}, hall().Args...), read.ProgramArguments)
	assert.Equal(t, hall().Folder, read.WorkingDirectory)
	assert.Equal(t, "/srv/log & more", read.StandardErrorPath)
	assert.True(t, read.KeepAlive)
	assert.True(t, read.RunAtLoad)
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		_, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
	}
	if plutil, err := exec.LookPath("plutil"); err == nil && runtime.GOOS == "darwin" {
		path := filepath.Join(t.TempDir(), "tactus.plist")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		out, err := exec.Command(plutil, "-lint", path).CombinedOutput()
		assert.NoError(t, err, "%s", out)
	}
}

func TestControlCharactersAreRefused(t *testing.T) {
	for _, edit := range []func(*Command){
		func(c *Command) { c.Args[1] = "a\nExecStartPre=/bin/sh" },
		func(c *Command) { c.Description = "a\x00" },
		func(c *Command) { c.Folder = "/a\r" },
		func(c *Command) { c.Program = "/a\x1b" },
		func(c *Command) { c.Writable = []string{"/a\t"} },
	} {
		c := hall()
		edit(c)
		_, err := Unit(c, "lights")
		assert.ErrorIs(t, err, ErrControl)
		_, err = PropertyList(c, "/log")
		assert.ErrorIs(t, err, ErrControl)
	}
	_, err := Unit(hall(), "a\nb")
	assert.ErrorIs(t, err, ErrControl)
	c := hall()
	c.Folder = `/ends\`
	_, err = Unit(c, "lights")
	assert.ErrorIs(t, err, errBackslash)
}

// listen has systemd's end of the socket.
func listen(t *testing.T, name string) *net.UnixConn {
	t.Helper()
	c, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: name, Net: "unixgram"})
	require.NoError(t, err)
	t.Cleanup(func() { c.Close() })
	require.NoError(t, c.SetReadDeadline(time.Now().Add(time.Minute)))
	t.Setenv("NOTIFY_SOCKET", name)
	return c
}

func next(t *testing.T, c *net.UnixConn) string {
	t.Helper()
	b := make([]byte, 4096)
	n, err := c.Read(b)
	require.NoError(t, err)
	return string(b[:n])
}

func TestNotifier(t *testing.T) {
	names := []string{filepath.Join(t.TempDir(), "notify")}
	if runtime.GOOS == "linux" {
		names = append(names, "@tactus-"+filepath.Base(t.TempDir())) // an abstract address
	}
	for _, name := range names {
		c := listen(t, name)
		t.Setenv("WATCHDOG_USEC", "2000000")
		n, err := NewNotifier()
		require.NoError(t, err)
		require.NotNil(t, n, name)
		assert.Equal(t, "STATUS=loads the show", next(t, c))
		assert.Equal(t, time.Second/2, n.Every())
		n.Ready()
		assert.Equal(t, "READY=1", next(t, c))
		n.Alive("a\nREADY=0")
		assert.Equal(t, "WATCHDOG=1\nSTATUS=a READY=0", next(t, c), "one line")
		n.Stopping()
		assert.Equal(t, "STOPPING=1\nSTATUS=says goodbye", next(t, c))
		c.Close()
		n.Alive("nobody listens any more") // is no trouble
	}
	t.Setenv("NOTIFY_SOCKET", "")
	n, err := NewNotifier()
	require.NoError(t, err)
	require.Nil(t, n)
	n.Ready()
	n.Alive("")
	n.Stopping()
}

func TestNotifierWithoutWatchdog(t *testing.T) {
	listen(t, filepath.Join(t.TempDir(), "notify"))
	n, err := NewNotifier()
	require.NoError(t, err)
	assert.Equal(t, time.Second, n.Every())
	t.Setenv("WATCHDOG_USEC", "soon")
	n, err = NewNotifier()
	assert.Error(t, err)
	assert.NotNil(t, n)
}
