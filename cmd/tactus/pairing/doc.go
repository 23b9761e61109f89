// Package pairing keeps the secret key that two computers share so that one can
// stand by for the other, and secures connections with it.
//
//	key ──HKDF-SHA256──┬─► Ed25519 identity of the side that listens
//	  (160 bits)       └─► Ed25519 identity of the side that dials
//
// Both sides compute both identities. Each side shows its own certificate in TLS 1.3
// and accepts exactly one public key from the other: so nobody without the key can
// connect, read or change what is sent, and the key itself never crosses the network.
//
// Sources: RFC 5869 (HKDF), RFC 8032 (Ed25519), RFC 8446 (TLS 1.3), RFC 4648, 6
// (Base32).
package pairing
