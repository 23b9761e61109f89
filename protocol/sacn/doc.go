// Package sacn sends and receives DMX512 data over a network as streaming ACN.
//
//	[]dmx.Universe                                   datagrams
//	      │ Sender.Send, once a frame                    │ Receiver.Run
//	      ▼                                              ▼
//	   stream: due? sequence + 1, patch slots         Parse, or a counted error
//	      │                                              │ Packet
//	      ▼                                              ▼
//	   one batch of DataPackets, a SyncPacket,        Monitor: who sends what,
//	   a page of universes every 10 s ──► UDP         how fast, what was dropped
//
// The codecs are [DataPacket], [SyncPacket] and [DiscoveryPacket]: AppendTo
// writes, Parse checks every rule by which the standard discards a packet.
// [Sender] never stops for an error: it tries every destination, reports the
// first failure, and opens its socket again when the interface comes back.
// [Monitor] is pure: time is handed in.
//
// Streaming ACN carries no safety function: it must not drive anything that
// can hurt when a packet is lost or forged (E1.31-2018 clauses 1.3 and 1.4).
//
// Not modelled: merging of several sources (6.2.3), IPv6 sockets, RDM.
//
// Sources: ANSI E1.31-2018, cited by clause; ANSI E1.11 for the refresh
// ceiling; RFC 4122 for the CID. Worked packets: testdata/reference/packets.
package sacn
