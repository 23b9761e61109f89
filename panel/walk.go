package panel

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
)

// Walker lights one fixture after another, to find faults in the patch.
type Walker interface {
	// Walk executes a word of WalkWords and returns the result and the present place
	// of the walk. It may wait for the loop.
	Walk(word, rest string) string
}

// Walked is the answer of Walk.
type Walked struct {
	Says string `json:"says"`
}

// WalkWords returns the words that a walk accepts, the same as in "tactus walk".
func WalkWords() []string {
	return []string{"next", "back", "group", "all", "colour", "dark", "find", "wrong"}
}

// walk passes a word to the walker.
func (p *Panel) walk(w http.ResponseWriter, r *http.Request) {
	if p.c.Walker == nil {
		refuse(w, http.StatusConflict, errors.New("no rig walk is running here; 'tactus walk' starts one"))
		return
	}
	args, err := argsOf(w, r)
	if err != nil {
		refuse(w, http.StatusBadRequest, err)
		return
	}
	word, rest := r.PathValue("word"), ""
	switch {
	case !slices.Contains(WalkWords(), word):
		refuse(w, http.StatusNotFound, fmt.Errorf("unknown walk request %.60q", word))
		return
	case len(args) > 1 || len(args) == 1 && args[0].Tag != 's':
		refuse(w, http.StatusUnprocessableEntity, errors.New("want one text, or nothing"))
		return
	case len(args) == 1:
		rest = args[0].Text
	}
	send(w, http.StatusOK, Walked{p.c.Walker.Walk(word, rest)})
}
