package panel_test

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"tactus/engine/commands"
)

// served returns the document of the page as a browser gets it, parsed by an
// independent library.
func served(t *testing.T) *html.Node {
	t.Helper()
	s := newStage(t)
	r, err := http.Get(s.url + "/")
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, "text/html; charset=utf-8", r.Header.Get("Content-Type"))
	doc, err := html.Parse(r.Body)
	require.NoError(t, err)
	return doc
}

// attributes returns those of an element by name.
func attributes(n *html.Node) map[string]string {
	list := map[string]string{}
	for _, a := range n.Attr {
		list[a.Key] = a.Val
	}
	return list
}

// The page has every button of the command table once, with the table's words, and
// no button for anything else.
func TestPageHasTheButtonsOfTheTable(t *testing.T) {
	buttons, ids := map[string]*html.Node{}, map[string]bool{}
	for n := range served(t).Descendants() {
		a := attributes(n)
		if id, ok := a["id"]; ok {
			assert.False(t, ids[id], "two elements have the id %q", id)
			ids[id] = true
		}
		for _, key := range []string{"data-ask", "data-sure"} {
			if path, ok := a[key]; ok {
				assert.NotContains(t, buttons, path)
				buttons[path] = n
			}
		}
	}
	for _, r := range commands.Table() {
		n, ok := buttons[r.Path]
		if !assert.Equal(t, r.Button.Group != "", ok, "%q has a button", r.Name) || !ok {
			continue
		}
		a := attributes(n)
		assert.Equal(t, r.Button.Label, n.FirstChild.Data, r.Name)
		_, twice := a["data-sure"]
		assert.Equal(t, r.Button.NeedsSecondTap, twice, "%q takes a second tap", r.Name)
		if undo, ok := commands.Lookup(r.Button.Undo); ok {
			assert.Equal(t, undo.Path, a["data-undo"], r.Name)
			assert.Equal(t, undo.Button.Label, a["data-undo-words"], r.Name)
			assert.Equal(t, "false", a["aria-pressed"], r.Name)
		}
		delete(buttons, r.Path)
	}
	assert.Empty(t, buttons, "buttons that the table does not have")
}

// The single keys of the page are those that the table of commands has, from which
// they are printed.
func TestSingleKeys(t *testing.T) {
	src, err := os.ReadFile("page/main.js")
	require.NoError(t, err)
	pressed := map[string]string{} // by key: the button's id
	for _, m := range regexp.MustCompile(`\["(.)", "[^"]*", press\("([^"]+)"\)\]`).FindAllSubmatch(src, -1) {
		pressed[string(m[1])] = string(m[2])
	}
	want := map[string]string{" ": "go", "d": "dim", "z": "compose-undo", "y": "compose-redo"} // the player, and the page's own
	for _, r := range commands.Table() {
		if r.Button.Key != "" {
			want[r.Button.Key] = strings.ReplaceAll(r.Path, "/", "-")
		}
	}
	assert.Equal(t, want, pressed)
}

// What the page's scripts ask for by name exists, and so do the buttons that its
// single keys press.
func TestScriptsAskForWhatThereIs(t *testing.T) {
	var paths []string
	for _, a := range commands.Addresses() {
		paths = append(paths, a.Path)
	}
	ids := map[string]bool{}
	for n := range served(t).Descendants() {
		ids[attributes(n)["id"]] = true
	}
	asked := 0
	scripts, err := filepath.Glob("page/*.js")
	require.NoError(t, err)
	for _, name := range scripts {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`this\.ask\("([^"]+)"`).FindAllSubmatch(src, -1) {
			if filepath.Base(name) == "controls.js" { // the walk has words of its own
				assert.True(t, slices.Contains(paths, string(m[1])), "%s asks for %q, which no command has", name, m[1])
				asked++
			}
		}
		for _, m := range regexp.MustCompile(`\bfind\("([^"]+)"\)`).FindAllSubmatch(src, -1) {
			assert.True(t, ids[string(m[1])], "%s looks for an element with the id %q, which the page lacks", name, m[1])
		}
	}
	assert.GreaterOrEqual(t, asked, 3)
}
