package panel

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"

	"golang.org/x/crypto/bcrypt"
	"golang.org/x/time/rate"

	"tactus/clock"
)

// Right is what somebody may do.
type Right uint8

// The rights, each with those before it.
const (
	Nothing Right = iota
	Watch         // look
	Control       // ask for things
)

// String names the right.
func (r Right) String() string { return [...]string{"nothing", "watch", "control"}[min(r, Control)] }

// Access says who may do what. The zero Access asks nobody for anything: it is
// for addresses that only this computer reaches.
type Access struct {
	Control, Watch []byte // as [Hash] makes them; nil: there is none
}

// Limits of who comes in.
const (
	maxTries   = 5 // at once, from one address
	tryEvery   = 5 * clock.Second
	maxCallers = 1024
	maxTokens  = 256
	stayFor    = 12 * 60 * 60 * clock.Second
	// Longest and shortest passphrase. bcrypt takes no more than 72 octets.
	MinPassphrase = 8
	MaxPassphrase = 72
)

// ErrPassphrase is why a passphrase is not taken.
var ErrPassphrase = errors.New("passphrase")

// Hash makes what is kept of a passphrase: its bcrypt hash (Provos and Mazières,
// 1999), slow on purpose.
func Hash(passphrase string) ([]byte, error) {
	if n := len(passphrase); n < MinPassphrase || n > MaxPassphrase {
		return nil, fmt.Errorf("%w: have %d octets, need %d to %d", ErrPassphrase, n, MinPassphrase, MaxPassphrase)
	}
	return bcrypt.GenerateFromPassword([]byte(passphrase), bcrypt.DefaultCost+1)
}

// Needed reports whether anybody is asked for a passphrase.
func (a *Access) Needed() bool { return a.Control != nil || a.Watch != nil }

// door knows who has come in.
type door struct {
	mu      sync.Mutex
	tokens  map[string]pass
	callers map[string]*rate.Limiter
	busy    sync.Mutex // one passphrase is checked at a time: it costs a core for a while
}

type pass struct {
	right Right
	until clock.Time
}

const cookieName = "tactus"

type rightKey struct{}

// rightOf returns what a request may do.
func rightOf(r *http.Request) Right {
	right, _ := r.Context().Value(rightKey{}).(Right)
	return right
}

// enter notes what a request may do.
func (p *Panel) enter(r *http.Request) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), rightKey{}, p.rightNow(r)))
}

// rightNow finds out what who asks may do at this moment.
func (p *Panel) rightNow(r *http.Request) Right {
	if !p.c.Access.Needed() {
		return Control
	}
	return p.door.right(token(r), p.c.Base.Now())
}

// token is a cookie of the page, or what a command-line client was given.
func token(r *http.Request) string {
	if t, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
		return t
	}
	if c, err := r.Cookie(cookieName); err == nil {
		return c.Value
	}
	return ""
}

func (d *door) right(token string, now clock.Time) Right {
	d.mu.Lock()
	defer d.mu.Unlock()
	if pass, ok := d.tokens[token]; ok && now < pass.until {
		return pass.right
	}
	return Nothing
}

// admit makes a token. When there are too many the one that ends first goes.
func (d *door) admit(right Right, now clock.Time) string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it never fails (crypto/rand)
	token := base64.RawURLEncoding.EncodeToString(b)
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.tokens == nil {
		d.tokens = map[string]pass{}
	}
	if len(d.tokens) >= maxTokens {
		oldest := ""
		for t, pass := range d.tokens {
			if oldest == "" || pass.until < d.tokens[oldest].until {
				oldest = t
			}
		}
		delete(d.tokens, oldest)
	}
	d.tokens[token] = pass{right, now + stayFor}
	return token
}

// may reports whether an address may try a passphrase now.
func (p *Panel) may(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		host = address
	}
	d := &p.door
	d.mu.Lock()
	defer d.mu.Unlock()
	l := d.callers[host]
	if l == nil {
		if d.callers == nil || len(d.callers) >= maxCallers {
			d.callers = map[string]*rate.Limiter{} // so many at once are one attacker
		}
		l = rate.NewLimiter(rate.Limit(float64(clock.Second)/float64(tryEvery)), maxTries)
		d.callers[host] = l
	}
	return l.AllowN(p.c.Base.Wall(p.c.Base.Now()), 1)
}

// Login is a passphrase that is tried.
type Login struct {
	Passphrase string `json:"passphrase"`
}

// Admission is what comes of it: a right, and a token for the header
// "Authorization: Bearer" of clients without cookies.
type Admission struct {
	Right string `json:"right"`
	Token string `json:"token,omitempty"`
}

func (p *Panel) login(w http.ResponseWriter, r *http.Request) {
	if !p.c.Access.Needed() {
		send(w, http.StatusOK, Admission{Right: Control.String()})
		return
	}
	var l Login
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody)).Decode(&l); err != nil {
		refuse(w, http.StatusBadRequest, fmt.Errorf(`the body is not like {"passphrase": "..."}: %w`, err))
		return
	}
	if !p.may(r.RemoteAddr) || !p.door.busy.TryLock() {
		w.Header().Set("Retry-After", fmt.Sprint(int(tryEvery/clock.Second)))
		refuse(w, http.StatusTooManyRequests, errors.New("too many tries; wait a little"))
		return
	}
	right := p.c.Access.check(l.Passphrase)
	p.door.busy.Unlock()
	if right == Nothing {
		refuse(w, http.StatusUnauthorized, errors.New("that is not the passphrase"))
		return
	}
	token := p.door.admit(right, p.c.Base.Now())
	http.SetCookie(w, &http.Cookie{
		Name: cookieName, Value: token, Path: "/", MaxAge: int(stayFor / clock.Second),
		HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	send(w, http.StatusOK, Admission{right.String(), token})
}

func (a *Access) check(passphrase string) Right {
	fits := func(hash []byte) bool {
		return hash != nil && bcrypt.CompareHashAndPassword(hash, []byte(passphrase)) == nil
	}
	switch {
	case fits(a.Control):
		return Control
	case fits(a.Watch):
		return Watch
	}
	return Nothing
}

func (p *Panel) logout(w http.ResponseWriter, r *http.Request) {
	p.door.mu.Lock()
	delete(p.door.tokens, token(r))
	p.door.mu.Unlock()
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.WriteHeader(http.StatusNoContent)
}

// access tells what the caller may do.
func (p *Panel) access(w http.ResponseWriter, r *http.Request) {
	send(w, http.StatusOK, Admission{Right: rightOf(r).String()})
}
