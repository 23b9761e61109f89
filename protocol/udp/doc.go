// Package udp sends and receives UDP packets on IPv4, by a network interface of
// choice and many in one system call.
//
//	Choose ─► Interface ─► Listen ─┬─► NewConn ─► Write ─► the network
//	                               └─► Receive ─► each packet and its source
//	Capture ─► Write ─► a function, in place of the network
//
// A [LinkWatch] tells when an interface cannot send, such as without a cable, and when
// it is worth opening a failed socket again.
//
// An [Interface] is read each time it is needed: its addresses may come late,
// change, or go. [Write] tries every packet; one that fails holds up no other.
//
// Sources: the systems' manuals of their socket options, cited beside them;
// RFC 919 and RFC 922 for directed broadcast addresses.
package udp
