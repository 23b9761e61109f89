package pairing

import (
	"crypto/tls"
	"io"
	"net"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// handshake connects two sides and returns what each says of it, after one byte in
// each direction.
func handshake(t *testing.T, listens, dials *tls.Config) (atListener, atDialer error) {
	t.Helper()
	a, b := net.Pipe()
	server, client := tls.Server(a, listens), tls.Client(b, dials)
	done := make(chan error, 1)
	go func() {
		defer a.Close()
		err := server.Handshake()
		if err == nil {
			_, err = server.Write([]byte{1})
		}
		done <- err
	}()
	atDialer = client.Handshake()
	if atDialer == nil { // the listener judges the dialer's certificate after this (RFC 8446, 4.4)
		_, atDialer = io.ReadFull(client, make([]byte, 1))
	}
	b.Close()
	return <-done, atDialer
}

func config(t *testing.T, k Key, s Side) *tls.Config {
	t.Helper()
	c, err := k.TLS(s)
	require.NoError(t, err)
	return c
}

func TestOnlyTheSameKeyConnects(t *testing.T) {
	key, other := NewKey(), NewKey()
	atListener, atDialer := handshake(t, config(t, key, Listens), config(t, key, Dials))
	assert.NoError(t, atListener)
	assert.NoError(t, atDialer)

	_, atDialer = handshake(t, config(t, other, Listens), config(t, key, Dials))
	assert.ErrorIs(t, atDialer, ErrStranger, "a listener with another key")

	forgiving := config(t, other, Dials)
	forgiving.VerifyConnection = nil
	atListener, atDialer = handshake(t, config(t, key, Listens), forgiving)
	assert.ErrorIs(t, atListener, ErrStranger, "a dialer with another key")
	assert.Error(t, atDialer)
}

// Whoever sends a computer's own messages back to it does not pass.
func TestASideIsNotItsOwnPartner(t *testing.T) {
	key := NewKey()
	mirror := config(t, key, Listens)
	mirror.VerifyConnection = nil
	atListener, _ := handshake(t, config(t, key, Listens), mirror)
	assert.ErrorIs(t, atListener, ErrStranger)
}

func TestNoCertificateOrOldProtocol(t *testing.T) {
	key := NewKey()
	bare := config(t, key, Dials)
	bare.Certificates = nil
	atListener, _ := handshake(t, config(t, key, Listens), bare)
	assert.Error(t, atListener, "a dialer without a certificate")

	old := config(t, key, Dials)
	old.MinVersion, old.MaxVersion = tls.VersionTLS12, tls.VersionTLS12
	atListener, _ = handshake(t, config(t, key, Listens), old)
	assert.Error(t, atListener, "TLS 1.2")
}
