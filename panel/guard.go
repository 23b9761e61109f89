package panel

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
)

// policy lets the page load what this binary serves and nothing else (W3C
// Content Security Policy Level 3).
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ServeHTTP answers a request that passes the checks of host, origin and right.
func (p *Panel) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	head := w.Header()
	head.Set("Content-Security-Policy", policy)
	head.Set("X-Content-Type-Options", "nosniff")
	head.Set("Referrer-Policy", "no-referrer")
	head.Set("Cross-Origin-Opener-Policy", "same-origin")
	head.Set("Cross-Origin-Resource-Policy", "same-origin")
	if err := p.hostFault(r.Host); err != nil {
		refuse(w, http.StatusMisdirectedRequest, err)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead || !isPageFile(r.URL.Path) {
		if err := siteFault(r); err != nil {
			refuse(w, http.StatusForbidden, err)
			return
		}
	}
	p.mux.ServeHTTP(w, p.withRight(r))
}

// hostFault returns an error for a host name that does not belong to this computer.
// Another site can point its own name at this computer (DNS rebinding), but it
// cannot make a browser send an address or localhost as the host. Config.Names, which a
// neighbour can claim, are accepted beside them.
func (p *Panel) hostFault(host string) error {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.TrimSuffix(strings.ToLower(strings.Trim(name, "[]")), ".")
	if _, err := netip.ParseAddr(name); err == nil || name == "localhost" || slices.Contains(p.c.Names, name) {
		return nil
	}
	return fmt.Errorf("%.60q is not a name of this computer; open the page by its address", host)
}

// isPageFile reports whether a path is one of the page's own files. A page of another
// site may link to them; all else costs work, and may be asked only by the page itself
// and by clients that are no browsers.
func isPageFile(path string) bool {
	return !strings.HasPrefix(path, "/api/") && path != "/healthz" && path != "/metrics"
}

var errSite = errors.New("the request came from a page of another site")

// siteFault returns an error for a request from a page of another site. Browsers say
// which site a request comes from; other clients need not (Fetch Standard, "Origin"
// header; Fetch Metadata Request Headers).
func siteFault(r *http.Request) error {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
	default:
		return errSite
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return nil
	}
	if u, err := url.Parse(origin); err != nil || !strings.EqualFold(u.Host, r.Host) {
		return errSite
	}
	return nil
}

// requireRight calls next only for clients that have the right.
func requireRight(right Right, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		switch have := rightOf(r); {
		case have >= right:
			next(w, r)
		case have == Nothing:
			refuse(w, http.StatusUnauthorized, errors.New("log in first, with the passphrase"))
		default:
			refuse(w, http.StatusForbidden, errors.New("you may watch, but not control"))
		}
	}
}
