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

// Right is what a client may do.
type Right uint8

// The rights. Each includes those before it.
const (
	Nothing Right = iota
	Watch         // see the page and its data
	Control       // also send requests
)

// String returns the name of the right.
func (r Right) String() string { return [...]string{"nothing", "watch", "control"}[min(r, Control)] }

// Access holds the hashes of the passphrases. The zero Access asks for no
// passphrase: use it only for addresses that only this computer reaches.
type Access struct {
	Control, Watch []byte // made by [Hash]; nil: no passphrase
}

// Limits of logging in.
const (
	maxLoginTries = 5 // in a row, from one address
	loginTryEvery = 5 * clock.Second
	maxCallers    = 1024
	maxTokens     = 256 // of each right
	tokenLifetime = 12 * 60 * 60 * clock.Second
	// Least and greatest length of a passphrase, in octets. bcrypt takes no more
	// than 72.
	MinPassphrase = 8
	MaxPassphrase = 72
)

// ErrPassphrase is in the error of a passphrase that is too short or too long.
var ErrPassphrase = errors.New("passphrase")

// Hash returns the bcrypt hash (Provos and Mazières, 1999) of a passphrase, for
// storage. It is slow on purpose.
func Hash(passphrase string) ([]byte, error) {
	if n := len(passphrase); n < MinPassphrase || n > MaxPassphrase {
		return nil, fmt.Errorf("%w: have %d octets, need %d to %d", ErrPassphrase, n, MinPassphrase, MaxPassphrase)
	}
	return bcrypt.GenerateFromPassword([]byte(passphrase), bcrypt.DefaultCost+1)
}

// Needed reports whether a client needs a passphrase.
func (a *Access) Needed() bool { return a.Control != nil || a.Watch != nil }

// sessions holds the tokens of logged-in clients and limits the login attempts.
type sessions struct {
	mu      sync.Mutex
	tokens  map[string]pass
	callers map[string]*rate.Limiter
	busy    sync.Mutex // one passphrase is checked at a time, because a check uses a core for a while
}

type pass struct {
	right Right
	until clock.Time
}

const cookieName = "tactus"

type rightKey struct{}

// rightOf returns the right that enter stored in the request.
func rightOf(r *http.Request) Right {
	right, _ := r.Context().Value(rightKey{}).(Right)
	return right
}

// withRight stores the right of a request in its context.
func (p *Panel) withRight(r *http.Request) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), rightKey{}, p.rightNow(r)))
}

// rightNow returns the present right of the client that sent r.
func (p *Panel) rightNow(r *http.Request) Right {
	if !p.c.Access.Needed() {
		return Control
	}
	return p.sessions.rightOf(token(r), p.c.Base.Now())
}

// token returns the token of a request, from the Authorization header or the page's
// cookie.
func token(r *http.Request) string {
	if t, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
		return t
	}
	if c, err := r.Cookie(cookieName); err == nil {
		return c.Value
	}
	return ""
}

func (d *sessions) rightOf(token string, now clock.Time) Right {
	d.mu.Lock()
	defer d.mu.Unlock()
	if pass, ok := d.tokens[token]; ok && now < pass.until {
		return pass.right
	}
	return Nothing
}

// newToken makes a token. When there are too many tokens of that right, it deletes the
// one of them that expires first: logins of those who watch end no controller's.
func (d *sessions) newToken(right Right, now clock.Time) string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails (crypto/rand)
	token := base64.RawURLEncoding.EncodeToString(b)
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.tokens == nil {
		d.tokens = map[string]pass{}
	}
	oldest, count := "", 0
	for t, pass := range d.tokens {
		if pass.right != right {
			continue
		}
		count++
		if oldest == "" || pass.until < d.tokens[oldest].until {
			oldest = t
		}
	}
	if count >= maxTokens {
		delete(d.tokens, oldest)
	}
	d.tokens[token] = pass{right, now + tokenLifetime}
	return token
}

// mayTryPassphrase reports whether an address may try a passphrase now.
func (p *Panel) mayTryPassphrase(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		host = address
	}
	d := &p.sessions
	d.mu.Lock()
	defer d.mu.Unlock()
	l := d.callers[host]
	if l == nil {
		if d.callers == nil || len(d.callers) >= maxCallers {
			d.callers = map[string]*rate.Limiter{} // so many at once are an attack
		}
		l = rate.NewLimiter(rate.Limit(float64(clock.Second)/float64(loginTryEvery)), maxLoginTries)
		d.callers[host] = l
	}
	return l.AllowN(p.c.Base.Wall(p.c.Base.Now()), 1)
}

// Login is the body of a login request.
type Login struct {
	Passphrase string `json:"passphrase"`
}

// Admission is the answer to a login: a right, and a token for the header
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
	if !p.mayTryPassphrase(r.RemoteAddr) || !p.sessions.busy.TryLock() {
		w.Header().Set("Retry-After", fmt.Sprint(int(loginTryEvery/clock.Second)))
		refuse(w, http.StatusTooManyRequests, errors.New("too many tries; wait a little"))
		return
	}
	right := p.c.Access.check(l.Passphrase)
	p.sessions.busy.Unlock()
	if right == Nothing {
		refuse(w, http.StatusUnauthorized, errors.New("that is not the passphrase"))
		return
	}
	token := p.sessions.newToken(right, p.c.Base.Now())
	http.SetCookie(w, &http.Cookie{
		Name: cookieName, Value: token, Path: "/", MaxAge: int(tokenLifetime / clock.Second),
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
	p.sessions.mu.Lock()
	delete(p.sessions.tokens, token(r))
	p.sessions.mu.Unlock()
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.WriteHeader(http.StatusNoContent)
}

// access answers with the right of the caller.
func (p *Panel) access(w http.ResponseWriter, r *http.Request) {
	send(w, http.StatusOK, Admission{Right: rightOf(r).String()})
}
