// Package pcapng writes captures of UDP packets that network analysers read.
//
//	Section Header Block         who wrote it
//	Interface Description Block  raw IP, times in nanoseconds
//	Enhanced Packet Block        a packet and its moment
//	Enhanced Packet Block        …
//
// Sources: draft-ietf-opsawg-pcapng (blocks, options), draft-ietf-opsawg-
// pcaplinktype (101, LINKTYPE_RAW), RFC 791 (IPv4), RFC 768 (UDP), RFC 1071
// (checksum).
package pcapng
