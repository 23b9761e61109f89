package panel

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"tactus/engine/commands"
	"tactus/protocol/osc"
)

// Asked is the body of a request: its arguments, texts and numbers, in order.
type Asked struct {
	With []any `json:"with"`
}

// maxBody is the greatest length of a request's body in bytes, more than any request
// needs.
const maxBody = 4 << 10

// ask passes a command to the loop and answers at once. The effect shows in the
// following moments.
func (p *Panel) ask(w http.ResponseWriter, r *http.Request) {
	path := r.PathValue("request")
	args, err := argsOf(w, r)
	if err != nil {
		refuse(w, http.StatusBadRequest, err)
		return
	}
	list := commands.Addresses()
	for i := range list {
		if list[i].Path != path {
			continue
		}
		program, _ := p.current()
		in, err := list[i].Parse(program, args)
		switch {
		case errors.Is(err, commands.ErrReleased):
			w.WriteHeader(http.StatusNoContent)
		case err != nil:
			refuse(w, http.StatusUnprocessableEntity, err)
		case p.follows():
			refuse(w, http.StatusConflict, errFollows)
		default:
			in.Event.At = p.c.Base.Now()
			if !p.c.Ask(in) {
				refuse(w, http.StatusServiceUnavailable, errors.New("the show is too busy; try again"))
				return
			}
			w.WriteHeader(http.StatusNoContent)
		}
		return
	}
	refuse(w, http.StatusNotFound, fmt.Errorf("unknown request %.60q; %sshow lists what can be asked for under requests", path, api))
}

// argsOf reads the arguments in the body; an empty body has none.
func argsOf(w http.ResponseWriter, r *http.Request) ([]osc.Arg, error) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	if err != nil {
		return nil, err
	}
	if len(body) == 0 {
		return nil, nil
	}
	var asked Asked
	if err := json.Unmarshal(body, &asked); err != nil {
		return nil, fmt.Errorf(`the body is not like {"with": ["chorus 2", "bar"]}: %w`, err)
	}
	args := make([]osc.Arg, len(asked.With))
	for i, v := range asked.With {
		switch v := v.(type) {
		case string:
			args[i] = osc.Text(v)
		case float64:
			args[i] = osc.Double(v)
		default:
			return nil, fmt.Errorf("with[%d] is neither a text nor a number", i)
		}
	}
	return args, nil
}

// send answers in JSON.
func send(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v) // the client may have disconnected
}

// Refusal is the answer to a request that failed.
type Refusal struct {
	Error string `json:"error"`
}

func refuse(w http.ResponseWriter, status int, err error) { send(w, status, Refusal{err.Error()}) }
