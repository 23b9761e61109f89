package pairing

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"math/big"
	"time"
)

// ErrStranger means that the other side of a connection does not have the key.
var ErrStranger = errors.New("the other computer has another pairing key")

// Side is one end of a connection. Each has its own identity, so that nobody can
// send back to a computer what it sent itself.
type Side string

// The sides.
const (
	Listens Side = "listens"
	Dials   Side = "dials"
)

func (s Side) other() Side {
	if s == Listens {
		return Dials
	}
	return Listens
}

// identity returns the private key of a side.
func (k Key) identity(s Side) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(k.derive("tactus pairing: the side that "+string(s), ed25519.SeedSize))
}

// TLS returns the configuration for one side of a connection: TLS 1.3 only, with
// certificates on both sides. Only a holder of the same key, on the other side, is
// accepted; the handshake fails with ErrStranger otherwise.
func (k Key) TLS(s Side) (*tls.Config, error) {
	own, want := k.identity(s), k.identity(s.other()).Public().(ed25519.PublicKey)
	cert, err := certificate(own)
	if err != nil {
		return nil, err
	}
	return &tls.Config{
		MinVersion:             tls.VersionTLS13,
		Certificates:           []tls.Certificate{cert},
		ClientAuth:             tls.RequireAnyClientCert,
		NextProtos:             []string{"tactus-standby"},
		SessionTicketsDisabled: true, // each connection proves the key anew
		InsecureSkipVerify:     true, // no authority signs the certificates: VerifyConnection compares the public key
		VerifyConnection: func(c tls.ConnectionState) error {
			if len(c.PeerCertificates) != 1 {
				return ErrStranger
			}
			if key, ok := c.PeerCertificates[0].PublicKey.(ed25519.PublicKey); !ok || !bytes.Equal(key, want) {
				return ErrStranger
			}
			return nil
		},
	}, nil
}

// certificate wraps a key in the form that TLS wants. Nothing in it counts but the
// key, so it is valid at any time: the clocks of the computers may be wrong.
func certificate(own ed25519.PrivateKey) (tls.Certificate, error) {
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1),
		NotBefore:    time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC),
		NotAfter:     time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC), // RFC 5280, 4.1.2.5: never ends
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, own.Public(), own)
	if err != nil {
		return tls.Certificate{}, err
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: own}, nil
}
